"""One row per name, one dot with its interval: rates of places, people or steps side by side, doubt and all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from cubital.answers.palette import ACCENT, INK, MUTED
from cubital.answers.picture_parts import Row, frame, share_axis

_ROW_PIXELS = 26
MOST_TIMES = 5.0


@dataclass(frozen=True, kw_only=True)
class IntervalRow:
    """One row: ``value`` between ``low`` and ``high`` as shares (0 to 1), all none where nothing may or can be said.

    ``words`` stand at the right end (the counts); ``stands_out`` is drawn as a filled triangle instead of a dot.
    """

    name: str
    value: float | None
    low: float | None
    high: float | None
    words: str
    stands_out: bool = False


def build_interval_picture(
    rows: Sequence[IntervalRow], *, title: str, line: float | None = None, line_words: str = ""
) -> dict[str, Any]:
    """The rows from top to bottom as given; ``line`` is drawn down through all of them, with its words at the foot.

    An empty dict where no row has a value. Names stand twice only if they are given twice: that is a ``ValueError``.
    """
    drawn = _drawn(rows)
    if not drawn:
        return {}
    top = min(1.0, 1.08 * max(*drawn, line or 0.0, 0.01))
    return _rows_picture(rows, title=title, line=line, line_words=line_words, top=top, axis=share_axis(top))


def build_ratio_picture(rows: Sequence[IntervalRow], *, title: str, line_words: str) -> dict[str, Any]:
    """The same for ratios (seen over expected): the line stands at 1, the axis counts how many times as many.

    An interval that reaches beyond ``MOST_TIMES`` is cut there: such a row is about nothing but doubt.
    """
    drawn = _drawn(rows)
    if not drawn:
        return {}
    top = min(MOST_TIMES, 1.08 * max(*drawn, 1.0))
    cut = [replace(row, high=None if row.high is None else min(row.high, top)) for row in rows]
    axis = {**share_axis(1.0), "labelExpr": "datum.label + '×'", "tickCount": 5}
    del axis["values"]
    return _rows_picture(cut, title=title, line=1.0, line_words=line_words, top=top, axis=axis)


def _drawn(rows: Sequence[IntervalRow]) -> list[float]:
    if len({row.name for row in rows}) != len(rows):
        raise ValueError("two rows carry the same name")
    return [high for row in rows for high in (row.high, row.value) if high is not None]


def _rows_picture(
    rows: Sequence[IntervalRow], *, title: str, line: float | None, line_words: str, top: float, axis: Row
) -> dict[str, Any]:
    data = [
        {
            "name": row.name, "value": row.value, "low": row.low, "high": row.high, "words": row.words,
            "kind": "out" if row.stands_out else "usual",
        }
        for row in rows
    ]  # fmt: skip
    return {
        **frame(title, height=_ROW_PIXELS * len(rows), rows=data),
        "encoding": {
            "y": {
                "field": "name", "type": "nominal", "sort": [row.name for row in rows],
                "axis": {"title": None, "ticks": False, "domain": False, "labelLimit": 260, "labelPadding": 8},
            }
        },
        "layer": [*_line_layers(line, line_words), *_row_layers(top, axis)],
    }  # fmt: skip


def _x(field: str, top: float, axis: Row) -> Row:
    return {
        "field": field,
        "type": "quantitative",
        "scale": {"domain": [0, top], "nice": False},
        "axis": axis,
    }


def _row_layers(top: float, axis: Row) -> list[Row]:
    bar = {"type": "rule", "color": MUTED, "strokeWidth": 3, "opacity": 0.6}
    dot = {"type": "point", "filled": True, "size": 70, "color": INK, "opacity": 1, "shape": "circle"}
    out = {**dot, "size": 120, "color": ACCENT, "shape": "triangle-up"}
    words = {"type": "text", "align": "left", "baseline": "middle", "dx": 10, "color": INK, "fontSize": 12}
    return [
        {"mark": bar, "encoding": {"x": _x("low", top, axis), "x2": {"field": "high"}}},
        {"transform": [{"filter": "datum.kind === 'usual'"}], "mark": dot, "encoding": {"x": _x("value", top, axis)}},
        {"transform": [{"filter": "datum.kind === 'out'"}], "mark": out, "encoding": {"x": _x("value", top, axis)}},
        {"mark": words, "encoding": {"x": {"value": "width"}, "text": {"field": "words", "type": "nominal"}}},
    ]


def _line_layers(line: float | None, words: str) -> list[Row]:
    if line is None:
        return []
    down = {"type": "rule", "color": INK, "strokeDash": [2, 4], "strokeWidth": 1}
    text = {"type": "text", "align": "center", "baseline": "bottom", "dy": -4, "color": INK, "fontSize": 12}
    one: Row = {"values": [{}]}
    return [
        {"data": one, "mark": down, "encoding": {"x": {"datum": line}, "y": {"value": 0}, "y2": {"value": "height"}}},
        {"data": one, "mark": text, "encoding": {"x": {"datum": line}, "y": {"value": 0}, "text": {"value": words}}},
    ]
