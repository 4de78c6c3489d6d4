"""The columns of a segmented regression: a level and a slope before, a step and a bend at each change, the season."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cubital.stats.attribute_charts import Values
from cubital.stats.mixed_logistic import Matrix, Whole

CONSTANT, TIME = "constant", "time"


@dataclass(frozen=True, kw_only=True)
class SegmentedShape:
    """What a series of ``points`` equally spaced months is asked.

    ``changes`` holds one or two positions, from 0: the first point of the new state, in order, each with a point
    before it. ``slope`` lets the line bend at a change; without it the level steps and the slope stays.
    ``trend`` keeps a slope at all. ``harmonics`` is the number of sine-and-cosine pairs of a year of ``period`` points
    (0 to 5), and ``first`` the calendar month, 1 to 12, of the first point. ``left_out`` names positions that stay out
    of the fit, such as months of phasing in. ``after_from`` is what the bend's column holds at the change's first
    point: 0 makes the step the difference there, 1 the difference one point earlier (both are in use).
    """

    points: int
    changes: tuple[int, ...]
    trend: bool = True
    slope: bool = True
    harmonics: int = 0
    first: int = 1
    period: int = 12
    left_out: tuple[int, ...] = ()
    after_from: int = 0

    def __post_init__(self) -> None:
        if not 1 <= len(self.changes) <= 2:
            raise ValueError("one change or two are needed")
        if any(not 0 < change < self.points for change in self.changes):
            raise ValueError("a change needs a point before it and one after")
        if list(self.changes) != sorted(set(self.changes)):
            raise ValueError("two changes need an order and cannot share a point")
        if not 0 <= self.harmonics < self.period / 2:
            raise ValueError(f"{self.harmonics} pairs of waves do not fit a year of {self.period} points")


@dataclass(frozen=True)
class SegmentedDesign:
    """The ``columns`` by name and the ``matrix`` (points kept × columns) whose rows stand at ``times`` (from 0).

    ``without`` is the same matrix as if the last change in ``shape`` had not happened; its step and bend are 0.
    """

    shape: SegmentedShape
    columns: tuple[str, ...]
    times: Whole
    matrix: Matrix
    without: Matrix

    def column(self, name: str) -> int:
        """The position of a column; an unknown name is a ``ValueError``."""
        if name not in self.columns:
            raise ValueError(f"the design has no column '{name}'; it has {', '.join(self.columns)}")
        return self.columns.index(name)


def level_name(which: int) -> str:
    """The column of the step at the first (0) or second (1) change."""
    return "level" if which == 0 else "level 2"


def slope_name(which: int) -> str:
    """The column of the bend at the first (0) or second (1) change."""
    return "slope" if which == 0 else "slope 2"


def segmented_design(shape: SegmentedShape) -> SegmentedDesign:
    """The design of ``shape``: constant, time from 0, and for each change ``level`` and ``slope``, then the season.

    References
    ----------
    Wagner AK et al., J Clin Pharm Ther 2002;27:299-309 (the segments); Bhaskaran K et al., Int J Epidemiol
    2013;42:1187-1195 (the waves).

    Examples
    --------
    >>> design = segmented_design(SegmentedShape(points=6, changes=(3,)))
    >>> design.columns
    ('constant', 'time', 'level', 'slope')
    >>> design.matrix[:, 3].tolist()
    [0.0, 0.0, 0.0, 0.0, 1.0, 2.0]
    """
    times = np.array([at for at in range(shape.points) if at not in shape.left_out], dtype=np.int64)
    columns, matrix = _columns(shape, times)
    last = len(shape.changes) - 1
    without = matrix.copy()
    without[:, [at for at, name in enumerate(columns) if name in (level_name(last), slope_name(last))]] = 0.0
    return SegmentedDesign(shape, columns, times, matrix, without)


def _columns(shape: SegmentedShape, times: Whole) -> tuple[tuple[str, ...], Matrix]:
    at = np.asarray(times, dtype=float)
    held: dict[str, Values] = {CONSTANT: np.ones(len(at))}
    if shape.trend:
        held[TIME] = at
    for which, change in enumerate(shape.changes):
        after = (at >= change).astype(float)
        held[level_name(which)] = after
        if shape.slope:
            held[slope_name(which)] = np.where(at >= change, at - change + shape.after_from, 0.0)
    for wave in range(1, shape.harmonics + 1):
        angle = 2 * np.pi * wave * (at + shape.first) / shape.period
        held[f"sine {wave}"], held[f"cosine {wave}"] = np.sin(angle), np.cos(angle)
    return tuple(held), np.column_stack(list(held.values()))


def change_row(design: SegmentedDesign, months_after: float) -> Values:
    """What the last change adds ``months_after`` its first point (0 is that point): a row to multiply coefficients by.

    Negative months are a ``ValueError``: before the change there is no effect.
    """
    if months_after < 0:
        raise ValueError("an effect is asked for before the change")
    last = len(design.shape.changes) - 1
    row = np.zeros(len(design.columns))
    row[design.column(level_name(last))] = 1.0
    if design.shape.slope:
        row[design.column(slope_name(last))] = months_after + design.shape.after_from
    return row
