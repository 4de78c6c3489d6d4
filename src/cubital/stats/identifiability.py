"""What a design can tell apart: which columns say the same, exactly or nearly, and which groups never overlap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from cubital.stats.attribute_charts import Values
from cubital.stats.mixed_logistic import Matrix

NEARLY = 0.99  # a column whose variation the others explain to this share is as good as theirs
_ZERO = 1e-9


@dataclass(frozen=True)
class Alias:
    """One exact relation: the sum of ``weights`` × ``columns`` is 0 in every row.

    Two columns with weights 1 and −1 are the same column: nothing tells one from the other. One column alone is 0 in
    every row: what it stands for never happened.
    """

    columns: tuple[str, ...]
    weights: tuple[float, ...]


@dataclass(frozen=True)
class NearAlias:
    """A column that the others explain almost: ``explained`` is R² (0 to 1), ``inflation`` 1 / (1 − R²).

    ``closest`` is the column it resembles most, none where it stands alone, with their ``correlation`` (−1 to 1).
    """

    column: str
    explained: float
    inflation: float
    closest: str | None
    correlation: float


@dataclass(frozen=True)
class Identifiability:
    """``rank`` of the ``columns``; ``aliases`` the exact relations (columns minus rank of them, in names).

    ``inseparable`` are the columns without an estimate of their own, ``separable`` those that have one. ``near`` lists
    separable columns whose estimate is as good as useless. ``whole`` is true where every column has an estimate.
    """

    columns: tuple[str, ...]
    rank: int
    aliases: tuple[Alias, ...]
    inseparable: tuple[str, ...]
    separable: tuple[str, ...]
    near: tuple[NearAlias, ...]

    @property
    def whole(self) -> bool:
        return not self.inseparable

    def tied_to(self, column: str) -> tuple[str, ...]:
        """The other columns that stand in a relation with ``column``, in the order of the design."""
        others = {name for alias in self.aliases if column in alias.columns for name in alias.columns}
        return tuple(name for name in self.columns if name in others - {column})


def check_columns(
    names: Sequence[str],
    matrix: Sequence[Sequence[float]] | Matrix,
    *,
    weights: Sequence[float] | None = None,
    nearly: float = NEARLY,
) -> Identifiability:
    """Which columns of a design have an estimate of their own.

    Parameters
    ----------
    names : one per column, no two alike.
    matrix : rows × columns, the constant among them where there is one.
    weights : sets per row, 0 or more; a row without sets says nothing. None counts every row once.
    nearly : the share of a column's variation, 0 to 1, above which it counts as nearly explained by the others.

    Notes
    -----
    Columns of whole numbers are reduced in exact fractions, others by pivoting with a tolerance of 1e-9 of the
    column's size. Each relation holds as few columns as the order of ``names`` allows: a later column in terms of
    earlier ones.

    Examples
    --------
    >>> rows = [[1, 0, 0, 0], [1, 1, 1, 0], [1, 1, 1, 1]]
    >>> found = check_columns(["constant", "period", "kit", "phlebotomist"], rows)
    >>> found.rank, found.inseparable
    (3, ('period', 'kit'))
    >>> found.aliases
    (Alias(columns=('period', 'kit'), weights=(-1.0, 1.0)),)
    """
    columns = np.asarray(matrix, dtype=float)
    if columns.ndim != 2 or columns.shape[1] != len(names) or len(set(names)) != len(names):
        raise ValueError("each column of the design needs a name of its own")
    held = np.ones(len(columns)) if weights is None else np.asarray(weights, dtype=float)
    if held.shape != columns.shape[:1] or (held < 0).any():
        raise ValueError("each row needs a weight, none negative")
    columns, held = columns[held > 0], held[held > 0]
    aliases = tuple(_alias(tuple(names), relation) for relation in _relations(columns))
    tied = {name for alias in aliases for name in alias.columns}
    separable = tuple(name for name in names if name not in tied)
    return Identifiability(
        columns=tuple(names),
        rank=len(names) - len(aliases),
        aliases=aliases,
        inseparable=tuple(name for name in names if name in tied),
        separable=separable,
        near=_near(tuple(names), columns, held=held, among=separable, nearly=nearly),
    )


def _alias(names: tuple[str, ...], relation: Values) -> Alias:
    taking = np.flatnonzero(np.abs(relation) > _ZERO)
    return Alias(tuple(names[at] for at in taking), tuple(float(relation[at]) for at in taking))


def _relations(columns: Matrix) -> list[Values]:
    """Weights (shape p) of each relation, the later column with weight 1."""
    if columns.size and np.array_equal(columns, np.round(columns)) and np.abs(columns).max() < 2**31:
        exact, pivots = _reduce([[Fraction(int(value)) for value in row] for row in columns])
        reduced = np.array([[float(value) for value in row] for row in exact])
    else:
        reduced, pivots = _reduce_by_size(columns)
    relations = []
    for free in (at for at in range(columns.shape[1]) if at not in pivots):
        weights = np.zeros(columns.shape[1])
        weights[free] = 1.0
        for row, pivot in enumerate(pivots):
            weights[pivot] = -reduced[row, free]
        relations.append(weights)
    return relations


def _reduce(rows: list[list[Fraction]]) -> tuple[list[list[Fraction]], list[int]]:
    """The reduced echelon form in fractions, and the pivot column of each of its rows."""
    unique = [list(row) for row in dict.fromkeys(tuple(row) for row in rows)]
    pivots: list[int] = []
    for column in range(len(unique[0]) if unique else 0):
        top = len(pivots)
        below = next((at for at in range(top, len(unique)) if unique[at][column]), None)
        if below is None:
            continue
        unique[top], unique[below] = unique[below], unique[top]
        lead = unique[top][column]
        unique[top] = [value / lead for value in unique[top]]
        for at, row in enumerate(unique):
            if at != top and row[column]:
                times = row[column]
                unique[at] = [mine - times * lead for mine, lead in zip(row, unique[top], strict=True)]
        pivots.append(column)
    return unique, pivots


def _reduce_by_size(columns: Matrix) -> tuple[Matrix, list[int]]:
    """The same by least squares: each column that the earlier pivots explain is free, the others are pivots."""
    pivots: list[int] = []
    reduced = np.zeros((min(columns.shape), columns.shape[1]))
    for at in range(columns.shape[1]):
        column = columns[:, at]
        basis = columns[:, pivots]
        solved = np.linalg.lstsq(basis, column)[0] if pivots else np.zeros(0)
        left = column - basis @ solved
        if np.linalg.norm(left) > _ZERO * max(float(np.linalg.norm(column)), _ZERO):
            reduced[len(pivots), at] = 1.0
            pivots.append(at)
        else:
            reduced[: len(pivots), at] = solved
    return reduced, pivots


def _near(
    names: tuple[str, ...], columns: Matrix, *, held: Values, among: tuple[str, ...], nearly: float
) -> tuple[NearAlias, ...]:
    """Separable columns that vary, and whose variation the others explain to ``nearly`` or more."""
    if not len(columns):
        return ()
    centred = (columns - np.average(columns, axis=0, weights=held)) * np.sqrt(held)[:, None]
    size = np.linalg.norm(centred, axis=0)
    varying = size > _ZERO * np.maximum(1.0, np.abs(columns).max(axis=0))
    found = []
    for at, name in enumerate(names):
        others = [other for other in range(len(names)) if other != at and varying[other]]
        if name not in among or not varying[at] or not others:
            continue
        solved = np.linalg.lstsq(centred[:, others], centred[:, at])[0]
        left = float(np.linalg.norm(centred[:, at] - centred[:, others] @ solved) ** 2 / size[at] ** 2)
        if 1 - left < nearly:
            continue
        alike = centred[:, others].T @ centred[:, at] / (size[others] * size[at])
        best = int(np.argmax(np.abs(alike)))
        found.append(
            NearAlias(name, 1 - left, 1 / left if left > 0 else math.inf, names[others[best]], float(alike[best]))
        )
    return tuple(found)


@dataclass(frozen=True)
class Overlap:
    """Of each side's sets, the share (0 to 1) that lies in strata where the other side has sets too.

    ``shared`` are these strata, ``first_only`` and ``second_only`` those with one side alone, each in order.
    """

    first_share: float
    second_share: float
    shared: tuple[str, ...]
    first_only: tuple[str, ...]
    second_only: tuple[str, ...]


def find_overlap(
    strata: Sequence[str], first: Sequence[float], second: Sequence[float], *, least: float = 1
) -> Overlap:
    """Where two sides can be compared at all: strata in which both have ``least`` sets or more.

    ``first`` and ``second`` are sets per stratum (0 or more, not all 0 on either side: ``ValueError``).
    """
    one, two = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if not one.shape == two.shape == (len(strata),) or (one < 0).any() or (two < 0).any():
        raise ValueError("each stratum needs a number of sets for either side")
    if not one.sum() or not two.sum():
        raise ValueError("a side without sets overlaps with nothing")
    both = (one >= least) & (two >= least)
    return Overlap(
        float(one[both].sum() / one.sum()),
        float(two[both].sum() / two.sum()),
        tuple(name for name, here in zip(strata, both, strict=True) if here),
        tuple(name for name, n, here in zip(strata, one, both, strict=True) if n and not here),
        tuple(name for name, n, here in zip(strata, two, both, strict=True) if n and not here),
    )
