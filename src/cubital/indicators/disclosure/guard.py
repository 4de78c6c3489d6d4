"""Hides as little as possible so that no small count can be worked out: an exact small integer programme.

Small counts are hidden first. Where a reader could subtract one back, further cells are hidden, chosen so that the
whole costs least. The programme grows by one condition for every way in which a reader still could (Fischetti M,
Salazar JJ, Manage Sci 2001;47:1008-1027, from memory): each is the dual of that reader's own linear programme.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from cubital.indicators.disclosure.reader import End, build_system, furthest, possible, reachable
from cubital.indicators.disclosure.tables import Cell, CountTable, SmallCounts
from cubital.stats.attribute_charts import Values

_MOST_ROUNDS = 400
_MOST_STEPS = 30
_CLOSE = 1e-6

Flags = np.ndarray[tuple[int], np.dtype[np.bool_]]
NOT_HIDING: frozenset[Cell] = frozenset()


@dataclass(frozen=True, kw_only=True)
class Guarded:
    """What may leave. ``shown`` holds every cell that was asked about: its count, or none where it is hidden.

    ``small`` were hidden because they are small, ``shielding`` so that the small ones cannot be worked out. ``exposed``
    small counts can be worked out whatever is hidden now, because of what was shown before: such a table must not
    leave.
    """

    shown: Mapping[Cell, int | None]
    small: frozenset[Cell]
    shielding: frozenset[Cell]
    exposed: frozenset[Cell] = NOT_HIDING

    @property
    def hidden(self) -> frozenset[Cell]:
        """Every cell that is not shown."""
        return self.small | self.shielding


@dataclass(frozen=True, kw_only=True)
class Before:
    """What has left earlier: its table, and which of its cells were hidden. The others are known to its readers."""

    table: CountTable
    hidden: frozenset[Cell]

    @property
    def shown(self) -> frozenset[Cell]:
        """The cells that readers have."""
        return frozenset(self.table.counts) - self.hidden


def guard(table: CountTable, limits: SmallCounts, *, before: Collection[Before] = ()) -> Guarded:
    """Which cells of ``table`` may be shown beside all that was shown ``before``.

    A small count is safe when a reader who does every sum still holds every count from ``low`` to ``high`` possible for
    it (as far as its own ceiling allows). A cell that a reader has from an earlier table is shown again: hiding it
    would protect nothing. Cells of zero and totals may be hidden as shields.
    """
    whole, known, lost = table, set[Cell](), set[Cell]()
    for one in before:
        whole = whole.joined(one.table)
        known |= one.shown
        lost |= one.hidden
    lost -= known | set(table.counts)
    asked = frozenset(table.counts)
    small, hidden, exposed = limits.among(whole) - known, set[Cell](), set[Cell]()
    for part in whole.separate():
        if not asked.isdisjoint(part.counts):
            task = _Task(part, small=small, fixed_shown=known, fixed_hidden=lost, limits=limits)
            kept, lost_ones = task.solve()
            hidden |= kept
            exposed |= lost_ones
    return Guarded(
        shown={cell: None if cell in hidden else count for cell, count in table.counts.items()},
        small=small & asked,
        shielding=frozenset(hidden - small) & asked,
        exposed=frozenset(exposed),
    )


class _Task:
    """One table to be made safe. Cells are numbered; ``need`` tells how far each small count must be able to move."""

    def __init__(
        self, table: CountTable, *, small: Collection[Cell], fixed_shown: Collection[Cell],
        fixed_hidden: Collection[Cell], limits: SmallCounts,
    ) -> None:  # fmt: skip
        self.system = system = build_system(table)
        place = system.place
        self.small = sorted(place[cell] for cell in small if cell in place)
        self.lowest = np.full(len(system.cells), float(limits.low))
        self.highest = np.minimum(float(limits.high), system.ceiling)
        self.weights = np.array([float(table.weights.get(cell, 1.0)) for cell in system.cells])
        self.must_hide = self._flags(place[cell] for cell in (*small, *fixed_hidden) if cell in place)
        self.must_show = self._flags(place[cell] for cell in fixed_shown if cell in place)

    def _flags(self, places: object) -> Flags:
        flags = np.zeros(len(self.system.cells), dtype=bool)
        flags[list(places)] = True  # type: ignore[call-overload]
        return flags

    def solve(self) -> tuple[frozenset[Cell], frozenset[Cell]]:
        """The hidden cells, and the small ones that nothing can save."""
        hidden = self.must_hide.copy()
        # What moves freely with so little hidden does so whatever else is hidden: only the rest is looked at again.
        watched = self._open_ends(hidden, self._every_end())
        exposed = frozenset(place for place, _up in self._open_ends(~self.must_show, watched))
        watched = [end for end in watched if end[0] not in exposed]
        conditions: list[tuple[Values, float]] = []
        for _round in range(_MOST_ROUNDS):
            ends = self._open_ends(hidden, watched)
            if not ends:
                cells = self.system.cells
                return frozenset(cells[i] for i in np.flatnonzero(hidden)), frozenset(cells[i] for i in exposed)
            self._gather(conditions, hidden, ends)
            hidden = self._cheapest(conditions)
        raise RuntimeError("the guard did not come to an end; this is a fault of Cubital, not of the table")

    def _gather(
        self, conditions: list[tuple[Values, float]], hidden: Flags, ends: list[tuple[int, bool]]
    ) -> None:  # fmt: skip
        """Adds the conditions of the open ends, and those met on the way to a safe choice made step by step.

        Hiding at once the cheapest cell that each condition asks for is no best choice, but the conditions met on the
        way hold for the best one too, and spare the programme many rounds.
        """
        trial = hidden.copy()
        for _step in range(_MOST_STEPS):
            met = [self._condition(trial, place, up=up) for place, up in ends]
            conditions += met
            for worth, _need in met:
                useful = np.flatnonzero((worth > _CLOSE) & ~trial & ~self.must_show)
                if useful.size:
                    trial[useful[np.argmax(worth[useful] / self.weights[useful])]] = True
            ends = self._open_ends(trial, ends)
            if not ends:
                return

    def _every_end(self) -> list[tuple[int, bool]]:
        """Every small cell with the directions in which its count must be able to move."""
        return [(place, up) for place in self.small for up in (False, True) if self._need(place, up=up) > 0]

    def _open_ends(self, hidden: Flags, among: list[tuple[int, bool]]) -> list[tuple[int, bool]]:
        """Those ``among`` the small cells, each with its direction, whose count a reader can still narrow down.

        One point that fits everything shown may prove many cells at once, so the aim is at all that are left together,
        and only at each by itself when that proves nothing more.
        """
        low, high = possible(self.system, hidden)
        left = among
        while left:
            proved = self._proved(left, low, high)
            if not proved:
                return [end for end in left if not self._proved([end], low, high)]
            left = [end for end in left if end not in proved]
        return []

    def _proved(self, ends: list[tuple[int, bool]], low: Values, high: Values) -> set[tuple[int, bool]]:
        """Which of ``ends`` one and the same possible table reaches: those in the direction of the first."""
        up = ends[0][1]
        asked = [place for place, upward in ends if upward == up]
        aim = np.zeros_like(low)
        aim[asked] = 1.0 if up else -1.0
        within_low, within_high = low.copy(), high.copy()
        if up:
            within_high[asked] = np.minimum(high[asked], self.highest[asked])
        else:
            within_low[asked] = np.maximum(low[asked], self.lowest[asked])
        # The true counts lie within the narrowed limits too, so that a possible table always exists.
        point = reachable(self.system, aim=aim, low=within_low, high=within_high)
        reached = point >= self.highest - _CLOSE if up else point <= self.lowest + _CLOSE
        return {(place, up) for place in asked if reached[place]}

    def _need(self, place: int, *, up: bool) -> float:
        count = float(self.system.counts[place])
        return float(self.highest[place]) - count if up else count - float(self.lowest[place])

    def _condition(self, hidden: Flags, place: int, *, up: bool) -> tuple[Values, float]:
        """Coefficients c and need n with c @ hidden >= n for every choice that lets this cell move far enough."""
        low, high = possible(self.system, hidden)
        aim = np.zeros_like(low)
        aim[place] = 1.0 if up else -1.0
        end: End = furthest(self.system, aim=aim, low=low, high=high)
        room_up, room_down = self.system.ceiling - self.system.counts, self.system.counts
        worth = end.up * room_up + end.down * room_down
        need = self._need(place, up=up)
        return np.minimum(worth, need), need

    def _cheapest(self, conditions: list[tuple[Values, float]]) -> Flags:
        matrix = np.array([worth for worth, _need in conditions])
        needs = np.array([need for _worth, need in conditions])
        low, high = self.must_hide.astype(float), (~self.must_show | self.must_hide).astype(float)
        found = milp(
            self.weights, constraints=[LinearConstraint(matrix, needs - _CLOSE, np.inf)],
            bounds=Bounds(low, high), integrality=np.ones_like(low),
        )  # fmt: skip
        if found.x is None:
            raise RuntimeError(f"the guard's programme has no answer: {found.message}")
        return np.asarray(found.x) > 0.5
