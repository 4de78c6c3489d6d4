"""What a before-and-after series could show: its power, by formula where the noise is known, else by simulation."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import expit, logit, ndtr

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import normal_quantile
from cubital.stats.mixed_logistic import Matrix
from cubital.stats.robust_errors import Errors, short_series_factor, usual_lag, with_lag
from cubital.stats.segmented import student_quantile, whiten
from cubital.stats.segmented_design import (
    SegmentedDesign,
    SegmentedShape,
    change_row,
    level_name,
    segmented_design,
    slope_name,
)

_STEPS = 40
_LARGEST_EFFECT = 12.0  # as in segmented_counts: beyond it a stretch of the series holds no event


@dataclass(frozen=True, kw_only=True)
class SeriesPlan:
    """A monthly series that is planned: ``before`` and ``after`` months of ``sets`` each, ``share`` at its start.

    ``odds_ratio`` is the step at the change, ``slope_ratio`` what every further month multiplies the odds by, ``trend``
    what every month does without any change. ``spread`` is the standard deviation of months' log odds beyond chance,
    ``correlation`` (−1 to 1, exclusive) how much a month's share of that follows the month before.
    """

    before: int
    after: int
    sets: int
    share: float
    odds_ratio: float
    slope_ratio: float = 1.0
    trend: float = 1.0
    spread: float = 0.0
    correlation: float = 0.0

    def __post_init__(self) -> None:
        if self.before < 1 or self.after < 1 or self.sets < 1 or not 0 < self.share < 1:
            raise ValueError("a series needs months on both sides, sets, and a share between 0 and 1")
        if min(self.odds_ratio, self.slope_ratio, self.trend) <= 0:
            raise ValueError("a ratio lies above 0")
        if self.spread < 0 or not -1 < self.correlation < 1:
            raise ValueError("a spread is not negative, and a correlation lies between -1 and 1")


@dataclass(frozen=True, kw_only=True)
class SeriesModel:
    """How the series will be read: with or without a bend, in which errors, at which two-sided ``alpha``.

    The effect asked for is that ``months_after`` the change (0 is the step). ``lag`` is Newey and West's.
    """

    slope: bool = False
    trend: bool = True
    months_after: int = 0
    errors: Errors = Errors.QUASI
    lag: int | None = None
    alpha: float = 0.05


@dataclass(frozen=True)
class SeriesPower:
    """``power`` is the share of ``runs`` series in which the effect was found in its true direction (any, without one).

    ``false_findings`` is the share found in series alike but without an effect: above ``alpha`` the power is borrowed.
    ``power_error`` and ``false_error`` are the Monte-Carlo standard errors of both. ``unfit`` is the share of series
    that no model fits, mostly for want of events; they count as not found.
    """

    power: float
    power_error: float
    false_findings: float
    false_error: float
    unfit: float
    runs: int
    seed: int


def simulate_series_power(
    plan: SeriesPlan, *, model: SeriesModel | None = None, runs: int = 2000, seed: int = 1
) -> SeriesPower:
    """Draws series as planned, reads each with the model, and counts how often the effect is found.

    The same plan, model, runs and seed give the same answer to the last digit.

    Notes
    -----
    Binomial counts; errors as ``segmented_counts.fit_counts`` makes them, Student's t, a dispersion below 1 counting as
    1. The season is not simulated: whole years on both sides keep it out.

    References
    ----------
    Zhang F, Wagner AK, Ross-Degnan D, J Clin Epidemiol 2011;64:1252-1261; Hawley S et al., Clin Epidemiol
    2019;11:197-205 (both simulate; from memory).

    Examples
    --------
    >>> found = simulate_series_power(SeriesPlan(before=12, after=12, sets=310, share=0.042, odds_ratio=0.6), runs=500)
    >>> 0.4 < found.power < 0.7
    True
    """
    how = model or SeriesModel()
    if runs < 1:
        raise ValueError("one run at least is needed")
    design = _design(plan, how)
    random = np.random.default_rng(seed)
    row = change_row(design, how.months_after)
    effect = float(row @ _truth(plan, design))
    found, unfit = _found(_draw(plan, runs=runs, random=random, effect=True), plan, design, how=how)
    false, _unfit = _found(_draw(plan, runs=runs, random=random, effect=False), plan, design, how=how)
    right = found == np.sign(effect) if effect else found != 0
    power, size = float(right.mean()), float((false != 0).mean())
    return SeriesPower(power, _error(power, runs), size, _error(size, runs), unfit, runs, seed)


def known_series_power(
    *, before: int, after: int, effect: float, on: str, sd: float, correlation: float = 0.0, alpha: float = 0.05
) -> tuple[float, float]:
    """Standard error and power where the noise is known: a measured series with AR(1) errors, by formula.

    Parameters
    ----------
    before, after : months on either side.
    effect : the step (``on`` is "level") or the bend per month (``on`` is "slope"), in the units of ``sd``.
    sd : the standard deviation of a month around the line; ``correlation`` that with the month before.

    Notes
    -----
    An estimate of the correlation makes real power somewhat lower. Either side counts as found.

    Examples
    --------
    >>> error, power = known_series_power(before=12, after=12, effect=1.0, on="level", sd=1.0)
    >>> round(error, 4), round(power, 4)
    (0.8208, 0.2299)
    """
    if sd <= 0 or not -1 < correlation < 1 or on not in ("level", "slope"):
        raise ValueError("a spread above 0, a correlation between -1 and 1, and a level or a slope are needed")
    design = segmented_design(SegmentedShape(points=before + after, changes=(before,), after_from=1))
    free = whiten(design.matrix, correlation)
    covariance = sd**2 * (1 - correlation**2) * np.linalg.inv(free.T @ free)
    at = design.column(level_name(0) if on == "level" else slope_name(0))
    error = math.sqrt(float(covariance[at, at]))
    limit = normal_quantile(1 - alpha)
    return error, float(ndtr(effect / error - limit) + ndtr(-effect / error - limit))


def _error(share: float, runs: int) -> float:
    return math.sqrt(share * (1 - share) / runs)


def _design(plan: SeriesPlan, how: SeriesModel) -> SegmentedDesign:
    points = plan.before + plan.after
    shape = SegmentedShape(points=points, changes=(plan.before,), trend=how.trend, slope=how.slope)
    design = segmented_design(shape)
    if points <= len(design.columns):
        raise ValueError("no more months than columns: the series is too short for its model")
    if np.linalg.matrix_rank(design.matrix) < len(design.columns):
        raise ValueError("one month on a side cannot carry both a step and a slope")
    return design


def _truth(plan: SeriesPlan, design: SegmentedDesign) -> Values:
    """The log odds ratios that stand behind the model's columns (a bend it does not have is not among them)."""
    known = {
        "constant": logit(plan.share), "time": math.log(plan.trend), level_name(0): math.log(plan.odds_ratio),
        slope_name(0): math.log(plan.slope_ratio),
    }  # fmt: skip
    return np.array([known[name] for name in design.columns])


def _draw(plan: SeriesPlan, *, runs: int, random: np.random.Generator, effect: bool) -> Matrix:
    """Events, runs × months."""
    time = np.arange(plan.before + plan.after)
    since = np.maximum(0, time - plan.before)
    level = logit(plan.share) + math.log(plan.trend) * time
    if effect:
        level = level + (time >= plan.before) * (math.log(plan.odds_ratio) + math.log(plan.slope_ratio) * since)
    noise = random.normal(size=(runs, len(time)))
    for at in range(1, len(time)):
        noise[:, at] = plan.correlation * noise[:, at - 1] + math.sqrt(1 - plan.correlation**2) * noise[:, at]
    return np.asarray(random.binomial(plan.sets, expit(level + plan.spread * noise)), dtype=float)


def _found(events: Matrix, plan: SeriesPlan, design: SegmentedDesign, *, how: SeriesModel) -> tuple[Values, float]:
    """For each run the direction found (−1, 0 or 1), and the share of runs that no model fits."""
    columns, row = design.matrix, change_row(design, how.months_after)
    at, fit = _fit_many(events, plan.sets, columns)
    variance = _variances(events[fit], at[fit], plan.sets, columns, row=row, how=how)
    limit = student_quantile(1 - how.alpha, len(columns) - columns.shape[1] if how.errors is not Errors.MODEL else None)
    score = (at[fit] @ row) / np.sqrt(variance)
    found = np.zeros(len(events))
    found[fit] = np.sign(score) * (np.abs(score) >= limit)
    return found, 1 - float(fit.mean())


def _fit_many(events: Matrix, sets: int, columns: Matrix) -> tuple[Matrix, Any]:
    """Logistic regression of every row at once by Newton's method: coefficients (runs × p), and which have a bound."""
    scale = np.maximum(np.abs(columns).max(axis=0), 1e-300)
    even = columns / scale
    share = np.clip(events.sum(axis=1) / (sets * len(columns)), 1e-6, 1 - 1e-6)
    at = np.zeros((len(events), columns.shape[1]))
    at[:, 0] = logit(share)
    step = np.full_like(at, np.inf)
    for _step in range(_STEPS):
        p = expit(at @ even.T)
        information = np.einsum("rm,mi,mj->rij", sets * p * (1 - p), even, even)
        information += 1e-9 * np.eye(len(scale))  # keeps runs without a bound from ending the others
        step = np.linalg.solve(information, ((events - sets * p) @ even)[:, :, None])[:, :, 0]
        at = at + np.clip(step, -2.0, 2.0)
        if np.abs(step).max() < 1e-8:
            break
    reach = np.ptp(at @ even.T, axis=1)
    fit = (np.abs(step).max(axis=1) < 1e-4) & (reach <= _LARGEST_EFFECT) & (events.sum(axis=1) > 0)
    return at / scale, fit


def _variances(events: Matrix, at: Matrix, sets: int, columns: Matrix, *, row: Values, how: SeriesModel) -> Values:
    """The variance of row · coefficients in each run, by the errors asked for."""
    p = expit(at @ columns.T)
    weight = sets * p * (1 - p)
    bread = np.linalg.inv(np.einsum("rm,mi,mj->rij", weight, columns, columns))
    direction = bread @ row
    months, wide = columns.shape
    if how.errors in (Errors.MODEL, Errors.QUASI):
        plain = direction @ row
        if how.errors is Errors.MODEL:
            return np.asarray(plain)
        dispersion = ((events - sets * p) ** 2 / weight).sum(axis=1) / (months - wide)
        return np.asarray(plain * np.maximum(1.0, dispersion))
    score = (events - sets * p) * (direction @ columns.T)
    lag = (usual_lag(months) if how.lag is None else how.lag) if with_lag(how.errors) else 0
    factor = months / (months - wide)
    if how.errors is Errors.NEWEY_WEST_WIDE:
        score = score / np.maximum(1 - weight * np.einsum("mi,rij,mj->rm", columns, bread, columns), 1e-6)
        factor = short_series_factor(months, lag=lag)
    total = (score**2).sum(axis=1)
    for apart in range(1, lag + 1):
        total = total + 2 * (1 - apart / (lag + 1)) * (score[:, apart:] * score[:, :-apart]).sum(axis=1)
    return np.asarray(np.maximum(total, 1e-12) * factor)
