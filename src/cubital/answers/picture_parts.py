"""Parts of every picture: the schema, the look, rules across, words at the end of a line, a readable axis of shares."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from cubital.answers.palette import FONT, INK, PAPER

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"
TITLE_LETTERS = 92
LINE_PIXELS = 15  # pixels that one line of words needs

Row = dict[str, Any]


def frame(title: str, *, height: int, rows: Sequence[Mapping[str, Any]]) -> Row:
    """What every picture begins with: its sentence as title, as wide as the page, ``rows`` as its data."""
    return {
        "$schema": SCHEMA,
        "description": title,
        "title": {"text": textwrap.wrap(title, TITLE_LETTERS), "anchor": "start", "frame": "group", "offset": 14},
        "width": "container",
        "height": height,
        "data": {"values": [dict(row) for row in rows]},
        "config": picture_config(),
    }


def expression(labels: Mapping[str, Sequence[str]]) -> str:
    """The labels as an object in the chart's expression language."""
    pairs = (f"'{month}': [{', '.join(repr(part) for part in parts)}]" for month, parts in labels.items())
    return "{" + ", ".join(pairs) + "}"


def digits_of(step: float) -> int:
    """How many decimals a percentage needs on an axis with that step."""
    return 0 if step >= 0.01 else 1 if step >= 0.005 else 2


def tick_step(top: float) -> float:
    """The step of an axis of shares from 0 to ``top``: at most six ticks."""
    return next(step for step in (0.0025, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5) if top / step <= 6 or step == 0.5)


def rule_across(value: float, *, colour: str, dash: list[int]) -> Row:
    """A line from side to side at the height of ``value``."""
    mark = {"type": "rule", "color": colour, "strokeWidth": 1, "strokeDash": dash}
    return {"mark": mark, "encoding": {"x": {"value": 0}, "x2": {"value": "width"}, "y": {"datum": value}}}


def end_labels(named: Sequence[tuple[float, str, str]], *, span: float) -> list[Row]:
    """Labels in order of height; the middle one stays, its neighbours move away until none touches another.

    How far depends on the height that the page or the paper gives the picture, so the chart works it out itself.
    """
    ordered = sorted(named)
    fixed = len(ordered) // 2 if len(ordered) > 2 else 0
    layers = []
    for index, (value, text, colour) in enumerate(ordered):
        direction = (index < fixed) - (index > fixed)
        gap = abs(value - ordered[fixed][0]) / span
        shift: Row | int = {"expr": f"{direction} * max(0, {LINE_PIXELS} - {gap:.5f} * height)"} if direction else 0
        layers.append(end_label(value, text, shift=shift, colour=colour))
    return layers


def end_label(value: float, text: str, *, shift: Row | int, colour: str) -> Row:
    """Words at the right end of a line at the height of ``value``."""
    mark = {
        "type": "text",
        "align": "left",
        "baseline": "middle",
        "dx": 8,
        "dy": shift,
        "color": colour,
        "fontSize": 12,
    }
    where = {"x": {"value": "width"}, "y": {"datum": value}, "text": {"value": text}}
    return {"data": {"values": [{}]}, "mark": mark, "encoding": where}


def share_axis(top: float) -> Row:
    """An axis of shares from 0 to ``top`` as percentages, for ``x`` or ``y``."""
    step = tick_step(top)
    return {
        "title": None,
        "values": [round(i * step, 6) for i in range(int(top / step) + 1)],
        "grid": False,
        "labelExpr": f"format(100 * datum.value, '.{digits_of(step)}f') + ' %'",
        "domain": False,
        "ticks": False,
        "labelPadding": 6,
    }


def picture_config() -> Row:
    """Letters, ink and paper of every picture."""
    return {
        "font": FONT,
        "background": PAPER,
        "view": {"stroke": None},
        "axis": {"labelColor": INK, "labelFontSize": 12},
        "title": {"color": INK, "fontSize": 15, "fontWeight": "normal", "lineHeight": 20},
        "text": {"font": FONT},
    }
