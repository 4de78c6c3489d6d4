"""Any monthly chart as a picture: the band that chance alone fills, the line, the months that signal."""

from __future__ import annotations

from typing import Any

from cubital.answers.charts.kinds import ChartReading
from cubital.answers.palette import ACCENT, BAND, INK, MUTED
from cubital.answers.picture_parts import Row, end_labels, frame, rule_across, share_axis
from cubital.answers.pictures import month_axis
from cubital.domain.words import _, month_words, share_words

_NO_AXIS: Row = {"title": None, "labels": False, "ticks": False, "domain": False, "grid": False}


def build_chart_picture(reading: ChartReading, *, title: str) -> dict[str, Any]:
    """The picture of ``reading``; an empty dict where no month has a value."""
    if not any(value is not None for value in reading.values):
        return {}
    rows = [_row(reading, index) for index in range(len(reading.counts))]
    return {
        **frame(title, height=260, rows=rows),
        "encoding": {"x": month_axis([count.month for count in reading.counts])},
        "layer": [*_band(reading), *_rules(reading), *_lines(reading)],
    }


def _row(reading: ChartReading, index: int) -> Row:
    count, signals = reading.counts[index], index in reading.signals
    row: Row = {
        "month": count.month, "name": month_words(count.month, with_year=True), "value": reading.values[index],
        "kind": "signal" if signals else "month", "word": _word(reading, index),
    }  # fmt: skip
    if reading.upper[index] is not None:
        row |= {"lower": reading.lower[index], "upper": reading.upper[index]}
    if reading.below:
        row["below"] = reading.below[index]
    return row


def _word(reading: ChartReading, index: int) -> str:
    """``signal`` where a row of them begins, ``since here`` where the change likely began."""
    if index in reading.signals and index - 1 not in reading.signals:
        return _("signal")
    return _("likely since here") if index == reading.began else ""


def _span(reading: ChartReading) -> tuple[float, float]:
    drawn = [v for series in (reading.values, reading.upper) for v in series if v is not None]
    top = 1.15 * max(*drawn, 0.01)
    if not reading.below:
        return 0.0, min(1.0, top)
    under = [v for series in (reading.below, reading.lower) for v in series if v is not None]
    return 1.15 * min([*under, 0.0]), top


def _y(field: str, reading: ChartReading) -> Row:
    low, high = _span(reading)
    axis = share_axis(high) if not reading.below else _NO_AXIS
    return {
        "field": field, "type": "quantitative", "title": None, "axis": axis,
        "scale": {"domain": [low, high], "nice": False, "zero": False},
    }  # fmt: skip


def _band(reading: ChartReading) -> list[Row]:
    if not any(limit is not None for limit in reading.upper):
        return []
    mark = {"type": "bar", "width": {"band": 1.03}, "color": BAND, "opacity": 1}
    return [{"mark": mark, "encoding": {"y": _y("lower", reading), "y2": {"field": "upper"}}}]


def _rules(reading: ChartReading) -> list[Row]:
    last = next((limit for limit in reversed(reading.upper) if limit is not None), None)
    if last is None:
        return []
    low, high = _span(reading)
    if reading.below:
        lowest = next(limit for limit in reversed(reading.lower) if limit is not None)
        named = [(last, _("worse beyond here"), MUTED), (lowest, _("better beyond here"), MUTED)]
        return [rule_across(0.0, colour=INK, dash=[]), *end_labels(named, span=high - low)]
    named = [
        (reading.center, _("baseline {share}").format(share=share_words(reading.center)), INK),
        (last, _("chance reaches {share}").format(share=share_words(last)), MUTED),
    ]
    return [rule_across(reading.center, colour=INK, dash=[]), *end_labels(named, span=high - low)]


def _lines(reading: ChartReading) -> list[Row]:
    line = {"type": "line", "color": INK, "strokeWidth": 1.2, "invalid": "break-paths-show-path-domains"}
    point = {"type": "point", "filled": True, "size": 34, "color": INK, "opacity": 1, "shape": "circle"}
    mark = {"type": "point", "filled": True, "size": 120, "color": ACCENT, "opacity": 1, "shape": "triangle-up"}
    text = {"type": "text", "color": ACCENT, "fontWeight": "bold", "fontSize": 13, "dy": -16}
    signal = {"filter": "datum.kind === 'signal'"}
    drawn = [
        {"mark": layer, "encoding": {"y": _y(field, reading)}}
        for field in (["value", "below"] if reading.below else ["value"])
        for layer in (line, point)
    ]
    return [
        *drawn,
        {"transform": [signal], "mark": mark, "encoding": {"y": _y("value", reading)}},
        {
            "transform": [{"filter": "datum.word !== ''"}],
            "mark": text,
            "encoding": {"y": _y("value", reading), "text": {"field": "word", "type": "nominal"}},
        },
    ]
