"""Did more of it do more? The change of each unit against how many of its people attended."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, stdtr

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import NotIdentifiable
from cubital.stats.segmented_counts import fit_counts


@dataclass(frozen=True, kw_only=True)
class DosedUnit:
    """Events among sets of one unit before and after, and its ``dose``, such as the share of its people who attended.

    Both periods need sets (``ValueError``).
    """

    name: str
    dose: float
    events_before: int
    n_before: int
    events_after: int
    n_after: int

    def __post_init__(self) -> None:
        if self.n_before < 1 or self.n_after < 1 or not math.isfinite(self.dose):
            raise ValueError(f"unit '{self.name}' needs sets in both periods and a dose")
        if not (0 <= self.events_before <= self.n_before and 0 <= self.events_after <= self.n_after):
            raise ValueError(f"the counts of unit '{self.name}' are impossible")


@dataclass(frozen=True)
class DoseTrend:
    """How the change depends on the dose. ``per_step`` is the odds ratio that one ``step`` more of dose adds.

    Below 1 units with more of it fell more. ``at_least`` and ``at_most`` are the odds ratios after against before at
    the smallest and largest dose seen (``doses``); nothing is said beyond them. ``p`` is two-sided, Student's t with
    ``df`` degrees of freedom; ``dispersion`` what units differ by beyond chance (1 is chance), as found. ``units`` took
    part; those without an event in either period, or with nothing else, could not.
    """

    per_step: float
    interval: Interval
    p: float
    step: float
    at_least: float
    at_least_interval: Interval
    at_most: float
    at_most_interval: Interval
    doses: tuple[float, float]
    dispersion: float
    df: int
    units: int


def dose_trend(units: Sequence[DosedUnit], *, step: float = 0.1, level: float = 0.95) -> DoseTrend:
    """The slope of units' before–after change over their dose, each unit compared with itself.

    Parameters
    ----------
    units : three at least with events, and of more than one dose (``NotIdentifiable``: ``groups`` or ``rank``).
    step : the dose that ``per_step`` speaks of, above 0; 0.1 is ten points of attendance.

    Notes
    -----
    Logistic model with a level per unit, the change, and the change times the dose; errors times the dispersion, not
    below 1. People choose to attend, and keen units improve for other reasons as well: a slope is no proof that the
    dose did it.

    References
    ----------
    McCullagh P, Nelder JA, Generalized Linear Models, 2nd ed., 1989, chapter 4.

    Examples
    --------
    >>> found = dose_trend([
    ...     DosedUnit(name=str(at), dose=at / 4, events_before=160, n_before=4000, events_after=x, n_after=4000)
    ...     for at, x in enumerate([161, 138, 121, 102, 79])])
    >>> round(found.at_least, 2), round(found.at_most, 2), found.interval.high < 1
    (1.03, 0.51, True)
    """
    if step <= 0:
        raise ValueError("a step of dose lies above 0")
    kept = [u for u in units if 0 < u.events_before + u.events_after < u.n_before + u.n_after]
    if len(kept) < 3:
        raise NotIdentifiable("groups")
    doses = np.array([unit.dose for unit in kept])
    if np.ptp(doses) < 1e-9:
        raise NotIdentifiable("rank", (1,))
    events = np.array([[unit.events_before, unit.events_after] for unit in kept], dtype=float).ravel()
    n = np.array([[unit.n_before, unit.n_after] for unit in kept], dtype=float).ravel()
    fit = fit_counts(events, n, _design(doses))
    many = len(kept)

    def row(after: float, by_dose: float) -> Values:
        return np.array([after, by_dose, *[0.0] * many])

    middle, span = fit.ratio(row(0.0, step), level=level)
    low, high = float(doses.min()), float(doses.max())
    least, least_span = fit.ratio(row(1.0, low), level=level)
    most, most_span = fit.ratio(row(1.0, high), level=level)
    score = abs(float(fit.coefficients[1] / fit.errors[1]))
    df = many - 2
    return DoseTrend(
        middle, span, 2 * float(stdtr(df, -score)), step, least, least_span, most, most_span, (low, high),
        fit.dispersion, df, many,
    )  # fmt: skip


def _design(doses: Values) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Two rows per unit: after, after × dose, and a level for each unit."""
    many = len(doses)
    after = np.tile([0.0, 1.0], many)
    levels = np.repeat(np.eye(many), 2, axis=0)
    return np.column_stack([after, after * np.repeat(doses, 2), levels])


@dataclass(frozen=True)
class ShareTrend:
    """Cochran and Armitage's test: ``z`` above 0 where shares rise with the score, ``p`` two-sided."""

    z: float
    p: float


def share_trend(scores: Sequence[float], events: Sequence[int], n: Sequence[int]) -> ShareTrend:
    """Whether shares rise or fall along ordered groups with these ``scores``.

    Groups without sets say nothing. Where all sets or none are events, or all scores are one, z is 0 and p 1.

    References
    ----------
    Cochran WG, Biometrics 1954;10:417-451; Armitage P, Biometrics 1955;11:375-386.

    Examples
    --------
    >>> round(share_trend([0, 1, 2], [10, 15, 25], [100, 100, 100]).z, 3)
    2.846
    """
    d, x, sizes = (np.asarray(one, dtype=float) for one in (scores, events, n))
    if not d.shape == x.shape == sizes.shape or (x < 0).any() or (x > sizes).any() or not sizes.sum():
        raise ValueError("each group needs a score, and events among its sets")
    share = float(x.sum() / sizes.sum())
    spread = float(sizes @ d**2 - (sizes @ d) ** 2 / sizes.sum())
    variance = share * (1 - share) * spread
    if variance <= 1e-12:
        return ShareTrend(0.0, 1.0)
    z = float(d @ (x - sizes * share)) / math.sqrt(variance)
    return ShareTrend(z, 2 * float(ndtr(-abs(z))))
