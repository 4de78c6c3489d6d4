"""Several histories in one picture: each at the common mix, all together as counted, and the mark of the break."""

from __future__ import annotations

from typing import Any

from cubital.answers.merged_reading import MergedReading
from cubital.answers.palette import ACCENT, INK, MUTED
from cubital.answers.picture_parts import Row, end_labels, frame, share_axis
from cubital.domain.words import _, month_words

_DASHES: tuple[list[int], ...] = ([], [6, 3], [2, 3], [8, 3, 2, 3])
_LABELLED = 3  # every third month carries its name
_RAW = "\u2211"  # no hospital is called so


def build_merged_picture(reading: MergedReading, *, title: str) -> dict[str, Any]:
    """The lines of ``reading``, which holds two histories at least; each line is named at its end."""
    lines = _lines(reading)
    months = [month for month, _pair in reading.raw]
    top = min(1.0, 1.15 * max(max(share for _month, share in line) for line in lines.values() if line))
    top = max(top, 0.01)
    rows = [
        {"month": month, "share": share, "line": name} for name, line in lines.items() for month, share in line
    ]  # fmt: skip
    return {
        **frame(title, height=300, rows=rows),
        "encoding": {"x": _x_axis(months)},
        "layer": [*_break_layers(reading.at, months), *_line_layers(lines, top), *_end_names(lines, top)],
    }


def _lines(reading: MergedReading) -> dict[str, tuple[tuple[str, float], ...]]:
    raw = tuple((month, x / n) for month, (x, n) in reading.raw if n)
    return {**{one.name: reading.months[one.name] for one in reading.histories}, _RAW: raw}


def _x_axis(months: list[str]) -> Row:
    labels = {
        month: month_words(month)[:3] + (f" {month[:4]}" if month.endswith("-01") or not place else "")
        for place, month in enumerate(months)
        if place % _LABELLED == 0
    }
    words = "{" + ", ".join(f"'{month}': '{label}'" for month, label in labels.items()) + "}"
    return {
        "field": "month", "type": "ordinal", "sort": months, "scale": {"paddingInner": 0, "paddingOuter": 0.1},
        "axis": {"title": None, "labelAngle": 0, "ticks": False, "domain": False, "labelOverlap": True,
                 "labelExpr": f"({words})[datum.value] || ''"},
    }  # fmt: skip


def _line_layers(lines: dict[str, Any], top: float) -> list[Row]:
    layers = []
    for place, name in enumerate(lines):
        raw = name == _RAW
        mark = {
            "type": "line", "color": MUTED if raw else INK, "strokeWidth": 1.5 if raw else 2.2,
            "strokeDash": [1, 3] if raw else _DASHES[place % len(_DASHES)], "interpolate": "linear",
        }  # fmt: skip
        layers.append({
            "transform": [{"filter": {"field": "line", "equal": name}}],
            "mark": mark,
            "encoding": {"y": {"field": "share", "type": "quantitative", "axis": share_axis(top),
                               "scale": {"domain": [0, top], "nice": False}}},
        })  # fmt: skip
    return layers


def _end_names(lines: dict[str, Any], top: float) -> list[Row]:
    named = [
        (line[-1][1], _("all, as counted") if name == _RAW else name, MUTED if name == _RAW else INK)
        for name, line in lines.items()
        if line
    ]
    return end_labels(named, span=top)


def _break_layers(at: str, months: list[str]) -> list[Row]:
    """A line before the first month after the break, with its word on top."""
    first = next((month for month in months if month >= at), months[-1])
    one: Row = {"values": [{"month": first}]}
    rule = {"type": "rule", "color": ACCENT, "strokeWidth": 2}
    word = {"type": "text", "align": "left", "baseline": "top", "dx": 6, "color": INK, "fontSize": 12}
    where = {"field": "month", "type": "ordinal", "sort": months}
    text = _("break: {month}").format(month=month_words(at, with_year=True))
    return [
        {"data": one, "mark": rule, "encoding": {"x": where, "y": {"value": 0}, "y2": {"value": "height"}}},
        {"data": one, "mark": word, "encoding": {"x": where, "y": {"value": 0}, "text": {"value": text}}},
    ]
