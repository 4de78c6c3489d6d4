"""The proportion chart of one place as a Vega-Lite specification: plain data, drawn on the page and on paper alike.

What it shows, from the back to the front: the band that chance alone produces, the baseline, the target named on its
line, one point per month, and at the foot a bar per month for the sets behind it. A month outside the band by more
than chance is a large triangle that points the way it strayed, with the word beside it; the months of a run or a trend
that is a signal are squares; the month asked about wears a ring and its counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cubital.answers.counted_words import things_words
from cubital.answers.palette import ACCENT, BAND, INK, MUTED
from cubital.answers.picture_parts import Row, end_label, end_labels, expression, frame, rule_across, share_axis
from cubital.answers.signal_reading import Baseline, SignalReading
from cubital.domain.words import _, grouped_words, month_names, month_words, share_words

_ALL_LABELLED = 26  # beyond this many months only quarters are labelled
_STRIP = 0.22  # height of the strip of sets under zero, as a share of the rates' height
_BAR = 0.15

_SHAPES = {"above": "triangle-up", "below": "triangle-down", "run": "square"}


def build_month_picture(reading: SignalReading, *, title: str) -> dict[str, Any]:
    """The picture of ``reading`` with ``title`` above it; an empty dict where no month has sets."""
    if not any(count.sets for count in reading.counts):
        return {}
    rows = _rows(reading)
    top = _top(reading)
    return {
        **frame(title, height=300, rows=rows),
        "encoding": {"x": month_axis([count.month for count in reading.counts])},
        "layer": [
            *(_band_layers() if reading.state is Baseline.SOUND else []),
            *_line_layers(reading),
            *_strip_layers(reading, top=top),
            *_point_layers(reading, top=top),
        ],
    }


def _rows(reading: SignalReading) -> list[Row]:
    top, most = _top(reading), max(count.sets for count in reading.counts)
    sound = reading.state is Baseline.SOUND
    rows: list[Row] = []
    for index, (count, rate) in enumerate(zip(reading.counts, reading.rates, strict=True)):
        marked = sound and reading.marked[index]
        row: Row = {
            "month": count.month,
            "name": month_words(count.month, with_year=True),
            "counts": _("{count} of {sets}").format(
                count=grouped_words(count.contaminated), sets=grouped_words(count.sets)
            ),
            "rate": rate,
            "share": share_words(rate) if rate is not None else _("no sets"),
            "bar_foot": -_STRIP * top,
            "bar_head": -_STRIP * top + _BAR * top * count.sets / most,
            "kind": _kind(rate, reading) if marked else "run" if sound and reading.in_run[index] else "month",
            "word": _point_words(reading, index=index, marked=marked),
        }
        if sound:
            row |= {"lower": reading.lower[index], "upper": reading.upper[index]}
        rows.append(row)
    return rows


def _kind(rate: float | None, reading: SignalReading) -> str:
    return "above" if (rate or 0) > reading.rate else "below"


def _point_words(reading: SignalReading, *, index: int, marked: bool) -> str:
    """``signal`` at a month that is one, the counts at the month asked about, both where both apply."""
    if index < len(reading.counts) - 1:
        return _("signal") if marked else ""
    asked = reading.asked
    values = {"count": grouped_words(asked.contaminated), "sets": grouped_words(asked.sets)}
    return (_("signal: {count} of {sets}") if _asked_signals(reading) else _("{count} of {sets}")).format(**values)


def _asked_signals(reading: SignalReading) -> bool:
    return reading.state is Baseline.SOUND and bool(reading.broken)


def _top(reading: SignalReading) -> float:
    """The highest thing to be drawn, with air above it."""
    drawn = [rate for rate in reading.rates if rate is not None]
    if reading.state is Baseline.SOUND:
        drawn += [limit for limit in reading.upper if limit is not None]
    if reading.policy.target is not None:
        drawn.append(reading.policy.target)
    return min(1.0, 1.12 * max(*drawn, 0.01))


def month_axis(months: Sequence[str]) -> Row:
    """The axis of months (``YYYY-MM``), one letter each, the year under the first of it."""
    names = month_names()
    every = 1 if len(months) <= _ALL_LABELLED else 3
    labels: dict[str, list[str]] = {}
    for index, month in enumerate(months):
        year, number = month.split("-")
        first = index == 0 or number == "01"
        shown = first or (int(number) - 1) % every == 0
        labels[month] = [names[int(number) - 1][:1] if shown else "", year if first else ""]
    return {
        "field": "month",
        "type": "ordinal",
        "sort": list(months),
        "scale": {"paddingInner": 0, "paddingOuter": 0.1},
        "axis": {
            "title": None, "labelAngle": 0, "ticks": False, "domain": False, "labelOverlap": False,
            "labelPadding": 4, "labelExpr": f"({expression(labels)})[datum.value]",
        },
    }  # fmt: skip


def _y(field: str, top: float | None = None) -> Row:
    channel: Row = {"field": field, "type": "quantitative", "title": None}
    if top is not None:
        channel |= {
            "scale": {"domain": [-_STRIP * top, top], "nice": False, "zero": False},
            "axis": share_axis(top),
        }
    return channel


def _band_layers() -> list[Row]:
    # One bar per month, a hair wider than its place: an area would leave out a month that stands between two gaps.
    band = {"type": "bar", "width": {"band": 1.03}, "color": BAND, "opacity": 1}
    edge = {"type": "line", "interpolate": "step", "color": MUTED, "strokeWidth": 0.8}
    return [
        {"mark": band, "encoding": {"y": _y("lower"), "y2": {"field": "upper"}}},
        {"mark": edge, "encoding": {"y": _y("upper")}},
        {"mark": edge, "encoding": {"y": _y("lower")}},
    ]


def _line_layers(reading: SignalReading) -> list[Row]:
    """The baseline and the target as rules, and words at the right end of every line instead of a legend."""
    rules: list[Row] = []
    named: list[tuple[float, str, str]] = []
    if reading.state is Baseline.SOUND:
        rules.append(rule_across(reading.rate, colour=INK, dash=[]))
        named.append((reading.rate, _("baseline {share}").format(share=share_words(reading.rate)), INK))
        if reading.upper[-1] is not None:
            words = _("chance reaches {share}").format(share=share_words(reading.upper[-1]))
            named.append((reading.upper[-1], words, MUTED))
    if reading.policy.target is not None:
        target = reading.policy.target
        rules.append(rule_across(target, colour=MUTED, dash=[2, 4]))
        named.append((target, _("target {share}").format(share=share_words(target)), MUTED))
    return [*rules, *end_labels(named, span=(1 + _STRIP) * _top(reading))]


def _strip_layers(reading: SignalReading, *, top: float) -> list[Row]:
    sizes = [count.sets for count in reading.counts]
    low, high = grouped_words(min(sizes)), grouped_words(max(sizes))
    things = things_words(reading.unit)
    text = (
        _("{count} {things} a month").format(count=low, things=things)
        if low == high
        else _("{low} to {high} {things} a month").format(low=low, high=high, things=things)
    )
    bar = {"type": "bar", "color": MUTED, "opacity": 0.55, "width": {"band": 0.62}}
    return [
        {"mark": bar, "encoding": {"y": _y("bar_foot"), "y2": {"field": "bar_head"}, "tooltip": _tooltip()}},
        end_label((-_STRIP + _BAR / 2) * top, text, shift=0, colour=MUTED),
    ]


def _tooltip() -> list[Row]:
    return [
        {"field": "name", "type": "nominal", "title": _("Month")},
        {"field": "counts", "type": "nominal", "title": _("Contaminated")},
        {"field": "share", "type": "nominal", "title": _("Rate")},
    ]


def _point_layers(reading: SignalReading, *, top: float) -> list[Row]:
    y = {"y": _y("rate", top)}
    line = {"type": "line", "color": INK, "strokeWidth": 1.2, "invalid": "break-paths-show-path-domains"}
    point = {"type": "point", "filled": True, "size": 34, "color": INK, "opacity": 1, "shape": "circle"}
    ring = {"type": "point", "filled": False, "size": 190, "color": ACCENT, "strokeWidth": 2, "opacity": 1}
    asked = {"filter": f"datum.month === '{reading.asked.month}'"}
    earlier = {"filter": f"datum.word !== '' && datum.month !== '{reading.asked.month}'"}
    word = {"field": "word", "type": "nominal"}
    return [
        {"mark": line, "encoding": y},
        {"mark": point, "encoding": {**y, "tooltip": _tooltip()}},
        *(_shaped(kind, shape, y) for kind, shape in _SHAPES.items()),
        {"transform": [asked], "mark": ring, "encoding": y},
        {"transform": [earlier], "mark": _words(ACCENT), "encoding": {**y, "text": word}},
        {
            "transform": [asked],
            "mark": {**_words(ACCENT if _asked_signals(reading) else INK), "align": "right", **_beside(reading)},
            "encoding": {**y, "text": word},
        },
    ]


def _beside(reading: SignalReading) -> Row:
    """Where the last month's words stand, clear of the line that arrives from the left."""
    before = next((rate for rate in reversed(reading.rates[:-1]) if rate is not None), None)
    falling = before is not None and before > (reading.rates[-1] or 0)
    return {"dx": -14, "dy": 9} if falling else {"dx": 7, "dy": -16}


def _shaped(kind: str, shape: str, y: Row) -> Row:
    size = 80 if kind == "run" else 150
    mark = {"type": "point", "filled": True, "size": size, "color": ACCENT, "opacity": 1, "shape": shape}
    chosen = {"filter": f"datum.kind === '{kind}'"}
    return {"transform": [chosen], "mark": mark, "encoding": {**y, "tooltip": _tooltip()}}


def _words(colour: str) -> Row:
    return {"type": "text", "color": colour, "fontWeight": "bold", "fontSize": 13, "dy": -16}
