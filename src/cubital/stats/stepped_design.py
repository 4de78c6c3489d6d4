"""A change that reaches units one after another: the order by lot, and what such a roll-out could show."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from cubital.stats.interval import normal_quantile
from cubital.stats.mixed_logistic import Matrix


@dataclass(frozen=True)
class RollOut:
    """Who starts when. ``starts`` holds for each of ``units`` the period, from 0, in which it begins with the change.

    Period 0 is before anyone's start; there are ``periods`` in all, the last with everyone exposed. ``seed`` gave the
    order.
    """

    units: tuple[str, ...]
    starts: tuple[int, ...]
    periods: int
    seed: int

    @property
    def exposure(self) -> Matrix:
        """1 where a unit (row) works with the change in a period (column), otherwise 0."""
        return (np.arange(self.periods)[None, :] >= np.array(self.starts)[:, None]).astype(float)

    def waves(self) -> tuple[tuple[str, ...], ...]:
        """The units that start in period 1, in period 2, and so on."""
        return tuple(
            tuple(name for name, start in zip(self.units, self.starts, strict=True) if start == at)
            for at in range(1, self.periods)
        )


def draw_order(units: Sequence[str], *, steps: int, seed: int) -> RollOut:
    """Deals units to ``steps`` waves by lot, as even in number as can be; the earlier waves take what is over.

    The same units (in the same order), steps and seed always give the same order. At least two waves, and as many
    units as waves, no two alike (``ValueError``).

    Examples
    --------
    >>> draw_order(["A", "B", "C", "D"], steps=2, seed=7).periods
    3
    """
    names = tuple(units)
    if len(set(names)) != len(names) or not 2 <= steps <= len(names):
        raise ValueError("a roll-out needs two waves or more, and a unit of its own name for each")
    order = np.random.default_rng(seed).permutation(len(names))
    starts = np.empty(len(names), dtype=int)
    for wave, part in enumerate(np.array_split(order, steps), start=1):
        starts[part] = wave
    return RollOut(names, tuple(int(one) for one in starts), steps + 1, seed)


@dataclass(frozen=True, kw_only=True)
class StepAssumptions:
    """What a roll-out is planned with: shares ``before`` and ``after`` (0 to 1), and ``sets`` per unit and period.

    ``between_sd`` is the standard deviation of units' true shares (so 0.01 for a point); ``period_sd`` that of a
    unit's own swings from period to period.
    """

    before: float
    after: float
    sets: float
    between_sd: float
    period_sd: float = 0.0

    def __post_init__(self) -> None:
        if not (0 < self.before < 1 and 0 < self.after < 1) or self.before == self.after:
            raise ValueError("two different shares between 0 and 1 are needed")
        if self.sets <= 0 or self.between_sd < 0 or self.period_sd < 0:
            raise ValueError("sets lie above 0, and a spread is not negative")

    @property
    def set_variance(self) -> float:
        """The variance of one set, at the mean of the two shares."""
        middle = (self.before + self.after) / 2
        return middle * (1 - middle)


def stepped_error(exposure: Matrix, assumed: StepAssumptions) -> float:
    """The standard error of the effect, as a difference of shares, in a linear model with period effects.

    Parameters
    ----------
    exposure : units × periods; 1 with the change, 0 without, not a number for a cell that is left out.

    Raises
    ------
    ValueError
        Where period and change cannot be told apart, as when every unit starts together.

    Notes
    -----
    Generalised least squares; with whole cells and no swings it is Hussey and Hughes's formula. Units are taken as
    independent, periods as the same for all.

    References
    ----------
    Hussey MA, Hughes JP, Contemp Clin Trials 2007;28:182-191; Hooper R et al., Stat Med 2016;35:4718-4728 (swings).

    Examples
    --------
    >>> rollout = draw_order([str(unit) for unit in range(12)], steps=4, seed=1)
    >>> plan = StepAssumptions(before=0.04, after=0.025, sets=150, between_sd=0.01)
    >>> round(stepped_error(rollout.exposure, plan), 4)
    0.0062
    """
    cells = np.asarray(exposure, dtype=float)
    periods = cells.shape[1]
    noise = assumed.set_variance / assumed.sets + assumed.period_sd**2
    information = np.zeros((periods + 1, periods + 1))
    for row in cells:
        kept = np.flatnonzero(~np.isnan(row))
        if not kept.size:
            continue
        design = np.column_stack([np.eye(periods)[kept], row[kept]])
        # The inverse of noise × identity + between² × ones, in closed form.
        weight = assumed.between_sd**2 / (noise + kept.size * assumed.between_sd**2)
        total = design.sum(axis=0)
        information += (design.T @ design - weight * np.outer(total, total)) / noise
    if np.linalg.matrix_rank(information) < periods + 1:
        raise ValueError("the change cannot be told from the periods in this order")
    return math.sqrt(float(np.linalg.inv(information)[-1, -1]))


def stepped_power(exposure: Matrix, assumed: StepAssumptions, *, alpha: float = 0.05) -> float:
    """The chance that a roll-out finds the assumed effect, two-sided; the far side's chance is not counted."""
    effect = abs(assumed.after - assumed.before)
    return float(ndtr(effect / stepped_error(exposure, assumed) - normal_quantile(1 - alpha)))
