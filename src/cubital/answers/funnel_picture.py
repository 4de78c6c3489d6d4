"""The funnel of places as a Vega-Lite specification: sets across, share up, and what chance makes at every size.

The inner band holds 19 of 20 places that are like the others, the outer one 998 of 1,000. Only places that stand out
are named and drawn as triangles; all others are dots alike, so that nobody reads an order out of chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from cubital.answers.palette import ACCENT, BAND, INK, MUTED
from cubital.answers.picture_parts import Row, end_labels, frame, rule_across, share_axis
from cubital.answers.places_reading import LIMIT_LEVEL, PlaceReading, PlacesReading, Side
from cubital.domain.words import _, grouped_words, share_words

INNER_LEVEL = 0.95
_POINTS = 70  # sizes at which the bands are worked out
_SHAPES = {Side.ABOVE: "triangle-up", Side.BELOW: "triangle-down", Side.WITHIN: "circle"}


def build_funnel_picture(reading: PlacesReading, shown: Sequence[PlaceReading], *, title: str) -> dict[str, Any]:
    """The funnel with ``shown`` in it, one place at least; sizes that are equal share one spot, drawn see-through."""
    most = max(one.count.sets for one in shown)
    top = _top(reading, shown)
    return {
        **frame(title, height=300, rows=[_row(one) for one in shown]),
        "layer": [
            *_bands(reading, most=most, top=top),
            rule_across(reading.policy.target, colour=INK, dash=[2, 4]),
            rule_across(reading.rate, colour=MUTED, dash=[]),
            *_points(most=most, top=top),
            *_labels(reading, most=most, top=top),
        ],
    }


def _row(one: PlaceReading) -> Row:
    out = one.side is not Side.WITHIN
    return {
        "name": one.count.name,
        "sets": one.count.sets,
        "share": one.rate,
        "side": one.side.value,
        "word": _("{name}: {count} of {sets}").format(
            name=one.count.name, count=grouped_words(one.count.contaminated), sets=grouped_words(one.count.sets)
        ) if out else "",
    }  # fmt: skip


def _top(reading: PlacesReading, shown: Sequence[PlaceReading]) -> float:
    smallest = min(one.count.sets for one in shown)
    widest = float(reading.funnel([smallest], level=INNER_LEVEL)[1][0])
    return min(1.0, 1.15 * max(*(one.rate for one in shown), widest, reading.policy.target, 0.01))


def _x(field: str, most: int) -> Row:
    return {
        "field": field, "type": "quantitative", "scale": {"domain": [0, most * 1.04], "nice": False},
        "axis": {"title": _("sets"), "grid": False, "domain": False, "tickCount": 6, "labelPadding": 6,
                 "titleFontWeight": "normal", "titleColor": INK, "titleFontSize": 12},
    }  # fmt: skip


def _y(field: str, top: float) -> Row:
    return {
        "field": field, "type": "quantitative", "scale": {"domain": [0, top], "nice": False}, "axis": share_axis(top),
    }  # fmt: skip


def _bands(reading: PlacesReading, *, most: int, top: float) -> list[Row]:
    """Both bands, the outer one behind the inner one; each with an edge, so that grey paper keeps it."""
    sizes = [int(one) for one in np.unique(np.geomspace(5, most * 1.04, _POINTS).astype(int))]
    layers: list[Row] = []
    for level, opacity, dash in ((LIMIT_LEVEL, 0.55, [4, 3]), (INNER_LEVEL, 1.0, [])):
        low, high = reading.funnel(sizes, level=level)
        rows = [{"size": size, "low": float(a), "high": float(b)} for size, a, b in zip(sizes, low, high, strict=True)]
        data: Row = {"values": rows}
        area = {"type": "area", "color": BAND, "opacity": opacity, "clip": True}
        edge = {"type": "line", "color": MUTED, "strokeWidth": 1, "strokeDash": dash, "opacity": 0.7, "clip": True}
        layers.append({
            "data": data, "mark": area,
            "encoding": {"x": _x("size", most), "y": _y("low", top), "y2": {"field": "high"}},
        })  # fmt: skip
        layers += [
            {"data": data, "mark": edge, "encoding": {"x": _x("size", most), "y": _y(end, top)}}
            for end in ("low", "high")
        ]
    return layers


def _points(*, most: int, top: float) -> list[Row]:
    layers: list[Row] = []
    for side, shape in _SHAPES.items():
        out = side is not Side.WITHIN
        mark = {
            "type": "point", "filled": True, "shape": shape, "size": 130 if out else 55,
            "color": ACCENT if out else INK, "opacity": 1 if out else 0.75,
        }  # fmt: skip
        chosen = [{"filter": f"datum.side === '{side.value}'"}]
        where = {"x": _x("sets", most), "y": _y("share", top)}
        layers.append({"transform": chosen, "mark": mark, "encoding": where})
        if out:
            layers += _names(chosen, where, most=most)
    return layers


def _names(chosen: list[Row], where: Row, *, most: int) -> list[Row]:
    """Each name on the side of its point where there is room."""
    return [
        {
            "transform": [*chosen, {"filter": f"datum.sets {sign} {most / 2}"}],
            "mark": {"type": "text", "align": align, "baseline": "middle", "dx": shift, "color": INK, "fontSize": 12},
            "encoding": {**where, "text": {"field": "word", "type": "nominal"}},
        }
        for sign, align, shift in (("<=", "left", 11), (">", "right", -11))
    ]


def _labels(reading: PlacesReading, *, most: int, top: float) -> list[Row]:
    """At the right end: the target, the common share, and how many places like the others each band holds."""
    inner, outer = (float(reading.funnel([most], level=level)[1][0]) for level in (INNER_LEVEL, LIMIT_LEVEL))
    named = [
        (min(outer, top), _("998 in 1,000"), MUTED),
        (min(inner, top), _("19 in 20"), MUTED),
        (reading.policy.target, _("target {share}").format(share=share_words(reading.policy.target)), INK),
        (reading.rate, _("all {share}").format(share=share_words(reading.rate)), MUTED),
    ]
    return end_labels(named, span=top)
