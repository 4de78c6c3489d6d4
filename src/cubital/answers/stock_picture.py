"""What is left, day by day: the mean path as used now, the tiers beside it, and the day on which it likely runs out."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from cubital.answers.palette import ACCENT, INK, MUTED
from cubital.answers.picture_parts import Row, frame
from cubital.answers.stock_reading import RunOut, StockReading
from cubital.domain.words import _, day_words

_HEIGHT = 240
_TICKS = 6
_DASHES = ([6, 3], [2, 3], [8, 3, 2, 3])


def build_stock_picture(reading: StockReading, *, title: str) -> dict[str, Any]:
    """The picture of ``reading``, up to a week after the latest day that is likely; empty where nothing is used."""
    if reading.as_now is None or reading.demand is None or reading.demand.mean == 0:
        return {}
    days = _length(reading)
    series = [(_("as now"), reading.as_now, [1, 0])]
    series += [(one.tier.name, one.least, _DASHES[place % len(_DASHES)]) for place, one in enumerate(reading.tiers)]
    rows = [row for name, run, _dash in series for row in _rows(name, run, reading, days)]
    foot = _("The mean of what is left. The upright line: likely empty, as used now.")
    picture = frame(title, height=_HEIGHT, rows=rows)
    picture["description"] = f"{title} {foot}"
    picture["title"] = {**picture["title"], "subtitle": foot, "subtitleColor": MUTED, "subtitleFontSize": 12}
    top = max(row["left"] for row in rows) * 1.1 or 1.0
    return {
        **picture,
        "encoding": {"x": _x_axis(reading.today, days)},
        "layer": [*_lines(series, top, days), *_empty_day(reading, top)],
    }


def _length(reading: StockReading) -> int:
    runs = [reading.as_now, *(one.least for one in reading.tiers)]
    ends = [run.late or run.middle for run in runs if run is not None]
    latest = max((day for day in ends if day is not None), default=None)
    if latest is None or any(day is None for day in ends):
        return reading.policy.ahead_days
    return min(reading.policy.ahead_days, (latest - reading.today).days + 7)


def _rows(name: str, run: RunOut, reading: StockReading, days: int) -> list[Row]:
    left = [float(reading.left), *run.path.mean_left[:days].tolist()]
    return [{"day": day, "left": round(amount, 2), "name": name} for day, amount in enumerate(left)]


def _x_axis(today: date, days: int) -> Row:
    step = max(1, -(-days // _TICKS))
    values = list(range(0, days + 1, step))
    labels = {day: (today + timedelta(days=day)).isoformat() for day in values}
    chosen = "".join(f"datum.value == {day} ? '{words[5:]}' : " for day, words in labels.items())
    return {
        "field": "day", "type": "quantitative", "title": None,
        "scale": {"domain": [0, days], "nice": False},
        "axis": {"values": values, "grid": False, "ticks": False, "domain": True, "labelPadding": 6,
                 "labelExpr": f"{chosen}''"},
    }  # fmt: skip


def _lines(series: list[tuple[str, RunOut, list[int]]], top: float, days: int) -> list[Row]:
    left = {
        "field": "left", "type": "quantitative", "title": None, "scale": {"domain": [0, top], "nice": False},
        "axis": {"grid": False, "domain": False, "ticks": False, "labelPadding": 6, "tickCount": 5},
    }  # fmt: skip
    found: list[Row] = []
    for place, (name, _run, dash) in enumerate(series):
        colour = INK if place == 0 else MUTED
        only = {"filter": f"datum.name === {name!r}"}
        line = {"type": "line", "color": colour, "strokeWidth": 1.6, "strokeDash": dash}
        words = {"type": "text", "align": "left", "dx": 6, "dy": -8 - 14 * place, "color": colour, "fontSize": 12}
        at = {"filter": f"datum.day == {min(days, max(1, days // 8))}"}
        found += [
            {"transform": [only], "mark": line, "encoding": {"y": left}},
            {"transform": [only, at], "mark": words,
             "encoding": {"y": left, "text": {"field": "name", "type": "nominal"}}},
        ]  # fmt: skip
    return found


def _empty_day(reading: StockReading, top: float) -> list[Row]:
    run = reading.as_now
    if run is None or run.middle is None:
        return []
    at = (run.middle - reading.today).days
    rule = {"mark": {"type": "rule", "color": ACCENT, "strokeWidth": 1.2, "strokeDash": [4, 3]},
            "data": {"values": [{"day": at}]}}  # fmt: skip
    words = _("likely empty {day}").format(day=day_words(run.middle))
    text = {
        "data": {"values": [{"day": at, "left": top, "words": words}]},
        "mark": {"type": "text", "align": "right", "dx": -6, "dy": 8, "color": ACCENT, "fontSize": 12},
        "encoding": {"y": {"field": "left", "type": "quantitative"}, "text": {"field": "words", "type": "nominal"}},
    }
    return [rule, text]
