"""What a reader of a table can work out about the counts that were hidden from it: the subtraction attack."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array

from cubital.indicators.disclosure.tables import Cell, CountTable
from cubital.stats.attribute_charts import Values

NO_LIMIT = 10_000  # added to a count nobody knows a limit of; far beyond any small count


@dataclass(frozen=True, kw_only=True)
class Known:
    """The least and the most that a hidden count can be, as far as a reader can tell."""

    least: int
    most: int


@dataclass(frozen=True)
class System:
    """The sums of a table as equations over its cells: ``matrix @ counts == 0``. ``ceiling``: the most of each cell."""

    cells: tuple[Cell, ...]
    counts: Values
    ceiling: Values
    matrix: Any  # a sparse array; its stubs know no shape

    @property
    def place(self) -> Mapping[Cell, int]:
        """Where each cell stands."""
        return {cell: index for index, cell in enumerate(self.cells)}


def build_system(table: CountTable) -> System:
    """The equations of a table, cells in its own order."""
    cells = tuple(table.counts)
    place = {cell: index for index, cell in enumerate(cells)}
    rows, columns, values = [], [], []
    for row, one in enumerate(table.sums):
        for cell, value in ((one.total, -1.0), *((part, 1.0) for part in one.parts)):
            rows.append(row)
            columns.append(place[cell])
            values.append(value)
    counts = np.array([float(table.counts[cell]) for cell in cells])
    ceiling = np.array([float(table.most.get(cell, table.counts[cell] + NO_LIMIT)) for cell in cells])
    matrix = csr_array((values, (rows, columns)), shape=(len(table.sums), len(cells)))
    return System(cells, counts, ceiling, matrix)


def attack(table: CountTable, hidden: Collection[Cell]) -> dict[Cell, Known]:
    """For every hidden cell the least and the most it can be, given all that is shown: whole numbers, exactly.

    An integer programme for each end of each cell, so meant for proofs; ``bounds_for`` is the quick way to one end.
    """
    system = build_system(table)
    return {
        cell: Known(
            least=_whole_end(system, hidden, cell, sign=1),
            most=_whole_end(system, hidden, cell, sign=-1),
        )
        for cell in hidden
    }


def _bounds(system: System, hidden: Collection[Cell]) -> tuple[Values, Values]:
    low, high = system.counts.copy(), system.counts.copy()
    place = system.place
    for cell in hidden:
        low[place[cell]], high[place[cell]] = 0.0, system.ceiling[place[cell]]
    return low, high


def _whole_end(system: System, hidden: Collection[Cell], cell: Cell, *, sign: int) -> int:
    aim = np.zeros(len(system.cells))
    aim[system.place[cell]] = sign
    low, high = _bounds(system, hidden)
    rules = [LinearConstraint(system.matrix, 0, 0)] if system.matrix.shape[0] else []
    found = milp(aim, constraints=rules, bounds=Bounds(low, high), integrality=np.ones_like(aim))
    if found.x is None:
        raise ValueError(f"the table allows no count for {cell}: {found.message}")
    return round(float(found.x[system.place[cell]]))


@dataclass(frozen=True)
class End:
    """The furthest point of one aim over what a reader holds possible, and what each cell's freedom was worth to it.

    ``point`` is a table that fits everything shown (shape n). ``down`` and ``up`` are how much the aim would lose per
    count if the cell could not go below, or above, its true count (shape n each, 0 or more).
    """

    point: Values
    down: Values
    up: Values


def furthest(system: System, *, aim: Values, low: Values, high: Values) -> End:
    """The point between ``low`` and ``high`` that fits the sums and makes ``aim @ point`` largest."""
    equal = (system.matrix, np.zeros(system.matrix.shape[0])) if system.matrix.shape[0] else (None, None)
    found = linprog(-aim, A_eq=equal[0], b_eq=equal[1], bounds=np.column_stack([low, high]), method="highs")
    if found.x is None:
        raise ValueError(f"no table fits what is shown: {found.message}")
    return End(np.asarray(found.x), np.asarray(found.lower.marginals), -np.asarray(found.upper.marginals))


def reachable(system: System, *, aim: Values, low: Values, high: Values) -> Values:
    """The point of ``furthest`` alone, sought among the free cells only, which is much quicker where few are."""
    free = high > low
    point = low.copy()
    if free.any():
        columns = system.matrix[:, np.flatnonzero(free)]
        rows = np.flatnonzero(np.diff(columns.indptr))
        right = -(system.matrix @ np.where(free, 0.0, low))
        equal = (columns[rows], right[rows]) if rows.size else (None, None)
        bounds = np.column_stack([low[free], high[free]])
        found = linprog(-aim[free], A_eq=equal[0], b_eq=equal[1], bounds=bounds, method="highs")
        if found.x is None:
            raise ValueError(f"no table fits what is shown: {found.message}")
        point[free] = found.x
    return point


def possible(
    system: System, hidden: Sequence[bool] | np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> tuple[Values, Values]:
    """What a reader holds possible for each cell: the count itself where it is shown, 0 to its ceiling where not."""
    veiled = np.asarray(hidden, dtype=bool)
    return np.where(veiled, 0.0, system.counts), np.where(veiled, system.ceiling, system.counts)
