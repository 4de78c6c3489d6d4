"""The models side by side: a dot for each, the band of the counted ones, and a line through every struck one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from cubital.answers.missed_reading import ModelReading
from cubital.answers.missed_words import model_name, round_outward
from cubital.answers.palette import BAND, INK, MUTED
from cubital.answers.picture_parts import Row, frame
from cubital.domain.words import _, grouped_words

_ROW_PIXELS = 34


def build_missed_picture(
    models: Sequence[ModelReading], *, span: tuple[float, float], title: str, room: float = 0.0
) -> dict[str, Any]:
    """One row per model in their order, the band over ``span`` rounded outward; ``room`` is shown besides if near.

    A struck model beyond the edge stands at the edge, with its number in words.
    """
    low, high = round_outward(*span)
    top = 1.25 * max(high, min(room, 2 * high))
    rows = [_row(model, top) for model in models]
    return {
        **frame(title, height=_ROW_PIXELS * len(rows), rows=rows),
        "encoding": {
            "y": {
                "field": "name", "type": "nominal", "sort": [row["name"] for row in rows],
                "axis": {"title": None, "ticks": False, "domain": False, "labelLimit": 260, "labelPadding": 8},
            }
        },
        "layer": [_band(low, high, top), *_layers(top)],
    }  # fmt: skip


def _row(model: ModelReading, top: float) -> Row:
    number = grouped_words(round(model.missed)) if math.isfinite(model.missed) else _("without end")
    return {
        "name": model_name(model.key), "value": min(model.missed, top), "kind": "struck" if model.struck else "counted",
        "low": None if model.low is None else min(model.low, top),
        "high": None if model.high is None else min(model.high, top),
        "words": _("{number}, struck").format(number=number) if model.struck else number,
    }  # fmt: skip


def _x(field: str, top: float) -> Row:
    return {
        "field": field, "type": "quantitative", "scale": {"domain": [0, top], "nice": False},
        "axis": {"title": _("infections missed a year, by one model"), "grid": False, "domain": False, "ticks": False,
                 "tickCount": 6, "titleFontWeight": "normal", "titleColor": INK},
    }  # fmt: skip


def _band(low: float, high: float, top: float) -> Row:
    return {
        "data": {"values": [{"from": low, "to": high}]},
        "mark": {"type": "rect", "color": BAND},
        "encoding": {"x": _x("from", top), "x2": {"field": "to"}, "y": {"value": 0}, "y2": {"value": "height"}},
    }


def _layers(top: float) -> list[Row]:
    spread = {"type": "rule", "color": MUTED, "strokeWidth": 3, "opacity": 0.6}
    dot = {"type": "point", "filled": True, "size": 80, "color": INK, "opacity": 1, "shape": "circle"}
    cross = {**dot, "color": MUTED, "shape": "cross"}
    through = {"type": "rule", "color": MUTED, "strokeWidth": 1.5}
    words = {"type": "text", "align": "left", "baseline": "middle", "dx": 10, "fontSize": 12}
    struck: list[Row] = [{"filter": "datum.kind === 'struck'"}]
    counted: list[Row] = [{"filter": "datum.kind === 'counted'"}]
    at_end = {"x": {"value": "width"}, "text": {"field": "words", "type": "nominal"}}
    return [
        {
            "transform": counted, "mark": spread,
            "encoding": {"x": _x("low", top), "x2": {"field": "high"}},
        },
        {"transform": counted, "mark": dot, "encoding": {"x": _x("value", top)}},
        {"transform": struck, "mark": cross, "encoding": {"x": _x("value", top)}},
        {"transform": struck, "mark": through, "encoding": {"x": {"value": 0}, "x2": {"value": "width"}}},
        {"transform": counted, "mark": {**words, "color": INK}, "encoding": at_end},
        {"transform": struck, "mark": {**words, "color": MUTED}, "encoding": at_end},
    ]  # fmt: skip
