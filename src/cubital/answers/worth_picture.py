"""What moves the result most: one bar per input, from its low to its high end, the widest on top."""

from __future__ import annotations

import textwrap
from typing import Any

from cubital.answers.palette import ACCENT, INK, MUTED, PAPER
from cubital.answers.picture_parts import Row, frame
from cubital.answers.worth_inputs import input_label
from cubital.answers.worth_reading import OptionReading, WorthReading
from cubital.answers.worth_words import amount_words
from cubital.domain.words import _

_ROW_PIXELS = 38
MOST_BARS = 8
_LABEL_LETTERS, _BREAK = 24, "|"


def build_swing_picture(reading: WorthReading, one: OptionReading, *, title: str) -> dict[str, Any]:
    """The bars with the likely result and the line of no loss and no gain; empty where nothing is unsure."""
    swings = one.swings[:MOST_BARS]
    if not swings:
        return {}
    labels = swing_labels(reading)
    rows = [
        {
            "name": _in_lines(labels[s.key]), "low": min(s.at_low, s.at_high), "high": max(s.at_low, s.at_high),
            "left": amount_words(min(s.at_low, s.at_high)), "right": amount_words(max(s.at_low, s.at_high)),
        }
        for s in swings
    ]  # fmt: skip
    ends = [float(r[key]) for r in rows for key in ("low", "high")]  # type: ignore[arg-type]
    low, high = min(*ends, 0.0), max(*ends, 0.0)
    room = 0.3 * (high - low)
    x = _x(low - room, high + room)
    return {
        **frame(title, height=_ROW_PIXELS * len(rows), rows=rows),
        "encoding": {
            "y": {
                "field": "name", "type": "nominal", "sort": [r["name"] for r in rows],
                "axis": {
                    "title": None, "ticks": False, "domain": False, "labelLimit": 220, "labelPadding": 8,
                    "labelExpr": f"split(datum.label, '{_BREAK}')",
                },
            }
        },
        "layer": [*_lines(one.net, x), *_bars(x)],
    }  # fmt: skip


def _in_lines(label: str) -> str:
    """The label with breaks where it is too long for one line beside its bar."""
    return _BREAK.join(textwrap.wrap(label.replace(_BREAK, "/"), _LABEL_LETTERS)) or label


def swing_labels(reading: WorthReading) -> dict[str, str]:
    """Each input's label by its name; the option's name with it where several options have one of their own."""
    keys = [one.key for one in reading.inputs]
    return {
        one.name: f"{input_label(one.key)} ({one.option})" if keys.count(one.key) > 1 else input_label(one.key)
        for one in reading.inputs
    }


def _x(low: float, high: float) -> Row:
    return {
        "type": "quantitative",
        "scale": {"domain": [low, high], "nice": False},
        "axis": {"title": None, "grid": False, "domain": False, "ticks": False, "format": ",.0f", "tickCount": 3},
    }


def _bars(x: Row) -> list[Row]:
    bar = {"type": "rule", "color": MUTED, "strokeWidth": 12, "opacity": 0.75}
    # First each label in paper, thick, so that a line behind it does not cross its figures.
    halo = {"color": PAPER, "stroke": PAPER, "strokeWidth": 5, "strokeJoin": "round"}
    return [
        {"mark": bar, "encoding": {"x": {"field": "low", **x}, "x2": {"field": "high"}}},
        *(_label(end, x, look) for look in (halo, {"color": INK}) for end in ("low", "high")),
    ]


def _label(end: str, x: Row, look: Row) -> Row:
    """The amount at one end of every bar."""
    side = {"align": "right", "dx": -5} if end == "low" else {"align": "left", "dx": 5}
    return {
        "mark": {"type": "text", "baseline": "middle", "fontSize": 12, **side, **look},
        "encoding": {
            "x": {"field": end, **x},
            "text": {"field": "left" if end == "low" else "right", "type": "nominal"},
        },
    }


def _lines(likely: float, x: Row) -> list[Row]:
    one: Row = {"values": [{}]}
    found = []
    # The words of the two lines stand one above the other: the lines may be close together.
    for value, words, colour, dash, up in (
        (0.0, _("breaks even"), INK, [1, 0], -4), (likely, _("likely"), ACCENT, [2, 4], -19),
    ):  # fmt: skip
        where = {"x": {"datum": value, **x}, "y": {"value": 0}}
        down = {"type": "rule", "color": colour, "strokeDash": dash, "strokeWidth": 1}
        text = {"type": "text", "align": "center", "baseline": "bottom", "dy": up, "color": colour, "fontSize": 12}
        found += [
            {"data": one, "mark": down, "encoding": {**where, "y2": {"value": "height"}}},
            {"data": one, "mark": text, "encoding": {**where, "text": {"value": words}}},
        ]
    return found
