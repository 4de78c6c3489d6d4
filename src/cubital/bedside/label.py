"""Where a label may lie on a bottle: the cylinder unrolled, the zones that must stay free, every legal position.

Coordinates: ``x`` runs along the arc in mm from the middle of the maker's barcode, to the right, once around;
``y`` runs up the panel from its lower edge. A position is the centre of the label. All lengths are mm.

Exact, without a grid: a label is legal when its centre stays out of every zone grown by margin and half the label
(the Minkowski sum of two rectangles), so the free centres form rectangles between breakpoints.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import degrees, pi

from cubital.domain.collection import BottleSpec
from cubital.domain.errors import RequestProblem

EPSILON = 1e-9


class Orientation(StrEnum):
    """How the label's long side lies: along the bottle's axis, or around it."""

    UPRIGHT = "upright"
    HORIZONTAL = "horizontal"


@dataclass(frozen=True, kw_only=True)
class Stock:
    """A label's size in mm, long side first."""

    long_mm: float
    short_mm: float

    def __post_init__(self) -> None:
        if not 0 < self.short_mm <= self.long_mm < 1000:
            raise RequestProblem(
                f"a label of {self.long_mm:g} × {self.short_mm:g} mm cannot be.", fix="Give the long side first, in mm."
            )


@dataclass(frozen=True, kw_only=True)
class Panel:
    """The unrolled surface: circumference and height, and zones already grown by their margins."""

    circumference_mm: float
    height_mm: float
    zones: tuple[Keepout, ...]


@dataclass(frozen=True, kw_only=True)
class Keepout:
    """A zone with its margin: x from ``left`` to ``right`` (may pass the seam), y from ``bottom`` to ``top``."""

    name: str
    left: float
    right: float
    bottom: float
    top: float


@dataclass(frozen=True, kw_only=True)
class Window:
    """A rectangle of legal centres. ``x`` is reduced to one turn; clearances are to the nearest limit each way."""

    orientation: Orientation
    x_mm: float
    y_mm: float
    clear_side_mm: float
    clear_up_mm: float
    bend_degrees: float

    def angle_degrees(self, circumference_mm: float) -> float:
        """The centre as an angle from the middle of the maker's barcode."""
        return self.x_mm / circumference_mm * 360


@dataclass(frozen=True, kw_only=True)
class Obstacle:
    """Why an orientation has no legal position: which dimension fails, what it needs and what there is."""

    orientation: Orientation
    dimension: str  # "height", "arc" or "bend"
    needs: float
    has: float


@dataclass(frozen=True, kw_only=True)
class Placement:
    """Every legal window, most to spare first, and for each orientation without one the dimension that fails."""

    stock: Stock
    windows: tuple[Window, ...]
    obstacles: tuple[Obstacle, ...]


def unroll(bottle: BottleSpec) -> Panel:
    """The bottle's panel with its zones grown by their margins."""
    zones = tuple(
        Keepout(
            name=zone.name,
            left=zone.centre_mm.value - zone.width_mm.value / 2 - zone.margin_mm.value,
            right=zone.centre_mm.value + zone.width_mm.value / 2 + zone.margin_mm.value,
            bottom=zone.bottom_mm.value - zone.margin_mm.value,
            top=zone.bottom_mm.value + zone.height_mm.value + zone.margin_mm.value,
        )
        for zone in bottle.zones
    )
    return Panel(circumference_mm=pi * bottle.diameter_mm.value, height_mm=bottle.panel_height_mm.value, zones=zones)


def place_label(panel: Panel, stock: Stock, *, largest_bend_degrees: float) -> Placement:
    """Every legal window of this stock on this panel."""
    windows: list[Window] = []
    obstacles: list[Obstacle] = []
    for orientation in Orientation:
        arc, height = _extent(stock, orientation)
        bend = bend_degrees(arc, panel.circumference_mm)
        found = _windows(panel, orientation, arc=arc, height=height, bend=bend)
        allowed = [window for window in found if orientation is Orientation.UPRIGHT or bend <= largest_bend_degrees]
        windows += allowed
        if not allowed:
            obstacles.append(_obstacle(panel, orientation, arc=arc, height=height, limit=largest_bend_degrees))
    windows.sort(key=lambda w: (-min(w.clear_side_mm, w.clear_up_mm), -w.clear_side_mm, w.x_mm))
    return Placement(stock=stock, windows=tuple(windows), obstacles=tuple(obstacles))


def _extent(stock: Stock, orientation: Orientation) -> tuple[float, float]:
    """The label's extent along the arc and up the panel."""
    sides = (stock.short_mm, stock.long_mm)
    return sides if orientation is Orientation.UPRIGHT else (sides[1], sides[0])


def bend_degrees(arc_mm: float, circumference_mm: float) -> float:
    """The angle through which an edge of that arc is turned away from the middle."""
    return degrees(arc_mm / 2 / (circumference_mm / (2 * pi)))


def free_arcs(panel: Panel, *, bottom: float, top: float) -> list[tuple[float, float]]:
    """The free stretches of the circumference between two heights, as (left, right); right may pass the seam.

    A panel without a zone there gives one stretch of the whole circumference.
    """
    turn = panel.circumference_mm
    blocked = sorted(
        (zone.left % turn, zone.left % turn + (zone.right - zone.left))
        for zone in panel.zones
        if zone.bottom < top - EPSILON and zone.top > bottom + EPSILON
    )
    if not blocked:
        return [(0.0, turn)]
    merged: list[tuple[float, float]] = []
    for left, right in blocked:
        if merged and left <= merged[-1][1] + EPSILON:
            merged[-1] = (merged[-1][0], max(merged[-1][1], right))
        else:
            merged.append((left, right))
    starts = [left for left, _right in merged[1:]] + [merged[0][0] + turn]
    covered = max(right for _left, right in merged) - turn  # what passes the seam eats into the first stretches
    gaps = [(max(right, covered), start) for (_left, right), start in zip(merged, starts, strict=True)]
    return [(left, right) for left, right in gaps if right - left > EPSILON]


def _windows(panel: Panel, orientation: Orientation, *, arc: float, height: float, bend: float) -> list[Window]:
    """Windows of legal centres, one for each free stretch and each band of heights between breakpoints."""
    lowest, highest = height / 2, panel.height_mm - height / 2
    if highest < lowest - EPSILON or arc > panel.circumference_mm:
        return []
    cuts = {lowest, highest}
    for zone in panel.zones:
        cuts |= {edge for edge in (zone.bottom - height / 2, zone.top + height / 2) if lowest < edge < highest}
    levels = sorted(cuts)
    found: list[tuple[float, float, float, float]] = []
    for low, high in list(pairwise(levels)) or [(lowest, lowest)]:
        middle = (low + high) / 2
        for left, right in free_arcs(panel, bottom=middle - height / 2, top=middle + height / 2):
            if right - left >= arc - EPSILON:
                _add_band(found, left=left, right=right, low=low, high=high)
    for level in levels:  # a label may lie exactly between two margins, with nothing to spare
        for left, right in free_arcs(panel, bottom=level - height / 2, top=level + height / 2):
            if right - left >= arc - EPSILON and not _covered(found, left=left, right=right, level=level):
                found.append((left, right, level, level))
    return [
        Window(
            orientation=orientation,
            x_mm=((left + right) / 2) % panel.circumference_mm,
            y_mm=(low + high) / 2,
            clear_side_mm=_clear_side(panel, right - left, arc),
            clear_up_mm=(high - low) / 2,
            bend_degrees=bend,
        )
        for left, right, low, high in found
    ]


def _clear_side(panel: Panel, free: float, arc: float) -> float:
    """How far the centre may move either way; half a turn where nothing stands in the way all around."""
    if free >= panel.circumference_mm - EPSILON:
        return panel.circumference_mm / 2
    return max(0.0, (free - arc) / 2)


def _covered(found: list[tuple[float, float, float, float]], *, left: float, right: float, level: float) -> bool:
    return any(entry[:2] == (left, right) and entry[2] <= level <= entry[3] for entry in found)


def _add_band(
    found: list[tuple[float, float, float, float]], *, left: float, right: float, low: float, high: float
) -> None:
    """Adds a band of heights, joined to the same stretch just below where there is one."""
    for index, (known_left, known_right, known_low, known_high) in enumerate(found):
        if (known_left, known_right) == (left, right) and abs(known_high - low) < EPSILON:
            found[index] = (left, right, known_low, high)
            return
    found.append((left, right, low, high))


def _obstacle(panel: Panel, orientation: Orientation, *, arc: float, height: float, limit: float) -> Obstacle:
    """The dimension that fails first: height, then arc, then bend."""
    if height > panel.height_mm + EPSILON:
        return Obstacle(orientation=orientation, dimension="height", needs=height, has=panel.height_mm)
    widest = max((right - left for left, right in _best_arcs(panel, height)), default=0.0)
    if arc > widest + EPSILON:
        return Obstacle(orientation=orientation, dimension="arc", needs=arc, has=widest)
    bend = bend_degrees(arc, panel.circumference_mm)
    return Obstacle(orientation=orientation, dimension="bend", needs=bend, has=limit)


def _best_arcs(panel: Panel, height: float) -> list[tuple[float, float]]:
    """Free stretches over every height at which a label of that height could lie."""
    lowest, highest = height / 2, panel.height_mm - height / 2
    levels = {lowest, highest}
    for zone in panel.zones:
        levels |= {edge for edge in (zone.bottom - height / 2, zone.top + height / 2) if lowest <= edge <= highest}
    return [arc for y in levels for arc in free_arcs(panel, bottom=y - height / 2, top=y + height / 2)]


def best_stock(panel: Panel, stocks: Sequence[Stock], *, largest_bend_degrees: float) -> Stock | None:
    """The largest stock that has a legal position; none when none has."""
    legal = [s for s in stocks if place_label(panel, s, largest_bend_degrees=largest_bend_degrees).windows]
    return max(legal, key=lambda s: (s.long_mm * s.short_mm, s.long_mm), default=None)
