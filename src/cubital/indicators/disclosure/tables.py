"""Counts that hang together: cells, and the sums that everybody can do with them."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain

Cell = Hashable


@dataclass(frozen=True, kw_only=True)
class Sum:
    """``total`` is the sum of ``parts``; a reader of the table knows that."""

    total: Cell
    parts: tuple[Cell, ...]


@dataclass(frozen=True, kw_only=True)
class CountTable:
    """Whole counts of 0 or more by cell, with every sum among them that a reader can do.

    ``most`` holds, for cells where it is published, what the count cannot exceed (the sets of which it counts the
    contaminated ones). ``weights`` says how much worse it is to hide one cell than another; 1 where nothing is said.
    Raises ``ValueError`` where a sum is not right, names a cell that is not there, or a count is impossible.
    """

    counts: Mapping[Cell, int]
    sums: tuple[Sum, ...] = ()
    most: Mapping[Cell, int] = field(default_factory=dict)
    weights: Mapping[Cell, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for cell, count in self.counts.items():
            if count < 0 or count > self.most.get(cell, count):
                raise ValueError(f"{count} is no possible count for {cell}")
        for one in self.sums:
            missing = [cell for cell in (one.total, *one.parts) if cell not in self.counts]
            if missing:
                raise ValueError(f"the sum of {one.total} names {missing[0]}, which is not in the table")
            if self.counts[one.total] != sum(self.counts[part] for part in one.parts):
                raise ValueError(f"{one.total} is not the sum of its parts")

    def joined(self, other: CountTable) -> CountTable:
        """Both tables as one reader has them side by side. A cell in both must hold the same count in both."""
        for cell, count in other.counts.items():
            if self.counts.get(cell, count) != count:
                raise ValueError(f"{cell} holds two counts; a restated count is a cell of its own")
        return CountTable(
            counts={**self.counts, **other.counts},
            sums=tuple(dict.fromkeys(chain(self.sums, other.sums))),
            most={**self.most, **{cell: min(most, self.most.get(cell, most)) for cell, most in other.most.items()}},
            weights={**self.weights, **other.weights},
        )

    def separate(self) -> tuple[CountTable, ...]:
        """The parts that no sum ties to each other: what is known of one says nothing about another."""
        place = {cell: index for index, cell in enumerate(self.counts)}
        ties = [(place[one.total], place[part]) for one in self.sums for part in one.parts]
        labels = _tied_labels(len(place), ties)
        cells: dict[int, dict[Cell, int]] = {}
        for cell, count in self.counts.items():
            cells.setdefault(labels[place[cell]], {})[cell] = count
        sums: dict[int, list[Sum]] = {}
        for one in self.sums:
            sums.setdefault(labels[place[one.total]], []).append(one)
        return tuple(
            CountTable(
                counts=held,
                sums=tuple(sums.get(label, ())),
                most={cell: self.most[cell] for cell in held if cell in self.most},
                weights={cell: self.weights[cell] for cell in held if cell in self.weights},
            )
            for label, held in cells.items()
        )


def _tied_labels(count: int, ties: Sequence[tuple[int, int]]) -> list[int]:
    """For each of ``count`` things the number of its group; ``ties`` join two each."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    ends = [list(side) for side in zip(*ties, strict=True)] or [[], []]
    graph = coo_array(([1] * len(ends[0]), (ends[0], ends[1])), shape=(count, count))
    return [int(label) for label in connected_components(graph, directed=False)[1]]


@dataclass(frozen=True, kw_only=True)
class SmallCounts:
    """Which counts are hidden: from ``low`` to ``high``, both included. The site's policy says so."""

    low: int = 1
    high: int = 4

    def __post_init__(self) -> None:
        if not 1 <= self.low <= self.high:
            raise ValueError(f"small counts from {self.low} to {self.high} are no range above 0")

    def among(self, table: CountTable, cells: Iterable[Cell] | None = None) -> frozenset[Cell]:
        """The cells (of ``cells``, or all) that hold a small count."""
        return frozenset(
            cell for cell in (table.counts if cells is None else cells) if self.low <= table.counts[cell] <= self.high
        )
