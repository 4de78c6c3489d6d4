"""Segmented regression of counts: contaminations per set as a rate (Poisson) or as a share (binomial)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.special import expit, gammaln, xlogy

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import Matrix, NotIdentifiable, Whole
from cubital.stats.robust_errors import Errors, robust_covariance, usual_lag, with_lag
from cubital.stats.segmented import checked_rows, durbin_watson, student_quantile

_STEPS = 100
_LARGEST_EFFECT = 12.0  # a ratio of 160,000: the data do not hold the effect back
_FARTHEST = 40.0  # where a search that has no end is given up


class Family(StrEnum):
    """What a count is taken for."""

    POISSON = "poisson"  # events per exposure, on the logarithm: effects are rate ratios
    BINOMIAL = "binomial"  # events among sets, on the log odds: effects are odds ratios


@dataclass(frozen=True)
class CountFit:
    """A fitted model of counts. ``coefficients``, ``errors`` (shape p) and ``covariance`` (p × p) are logarithms.

    ``dispersion`` is Pearson's chi-square per degree of freedom as found; ``dispersion_used`` what the errors were
    multiplied by (1 for errors that need none). ``df`` are Student's degrees of freedom, none for the normal
    distribution. ``deviance`` and ``log_likelihood`` are the family's own. ``residuals`` are Pearson's, one per row;
    ``neighbours`` their correlation with the point before (−1 to 1, 0 where they do not vary), ``durbin_watson`` their
    statistic. ``fitted`` are expected counts.
    """

    family: Family
    coefficients: Values
    errors: Values
    covariance: Matrix
    dispersion: float
    dispersion_used: float
    df: int | None
    deviance: float
    log_likelihood: float
    fitted: Values
    residuals: Values
    neighbours: float
    durbin_watson: float
    errors_by: Errors
    lag: int

    def combine(self, row: Sequence[float] | Values, *, level: float = 0.95) -> tuple[float, Interval]:
        """The value of ``row`` · coefficients on the logarithm, with its interval."""
        weights = np.asarray(row, dtype=float)
        middle = float(weights @ self.coefficients)
        reach = student_quantile(level, self.df) * math.sqrt(max(0.0, float(weights @ self.covariance @ weights)))
        return middle, Interval(middle - reach, middle + reach, level, self._method())

    def ratio(self, row: Sequence[float] | Values, *, level: float = 0.95) -> tuple[float, Interval]:
        """The same as a ratio: of rates (Poisson) or of odds (binomial)."""
        middle, reach = self.combine(row, level=level)
        return math.exp(middle), Interval(math.exp(reach.low), math.exp(reach.high), level, reach.method)

    def _method(self) -> str:
        return f"{self.family.value}, {self.errors_by.value}, {'normal' if self.df is None else 'Student'}"


def fit_counts(
    events: Sequence[float] | Values,
    n: Sequence[float] | Values,
    design: Sequence[Sequence[float]] | Matrix,
    *,
    family: Family = Family.BINOMIAL,
    errors: Errors = Errors.QUASI,
    lag: int | None = None,
    times: Whole | None = None,
    floor: bool = True,
    student: bool = True,
) -> CountFit:
    """Fits the logarithm of the rate, or the log odds of the share, to a straight combination of the columns.

    Parameters
    ----------
    events : counts per row, 0 or more (shape r); for BINOMIAL at most ``n``.
    n : sets (BINOMIAL) or exposure in any unit (POISSON) per row, above 0 (shape r).
    design : the columns, the constant included (r × p), p below r.
    errors : MODEL trusts the family's spread; QUASI multiplies it by the dispersion; WHITE takes any spread;
        NEWEY_WEST also neighbours that resemble each other, which makes it too sure in short series; NEWEY_WEST_WIDE
        mends most of that.
    lag, times : as in ``fit_linear``.
    floor : with QUASI, a dispersion below 1 counts as 1: months more even than chance are no better evidence.
    student : intervals by Student's t with r − p degrees of freedom, but for MODEL, whose are normal.

    Raises
    ------
    NotIdentifiable
        ``rank`` (columns that say the same), ``events`` (none, or nothing else), ``separation`` (no bound).

    Notes
    -----
    Variances of WHITE and NEWEY_WEST are multiplied by r / (r − p).

    References
    ----------
    McCullagh P, Nelder JA, Generalized Linear Models, 2nd ed., 1989. Schwartz J et al., J Epidemiol Community Health
    1996;50(Suppl 1):S3-11 (dispersed and correlated counts over time; from memory).

    Examples
    --------
    >>> fit = fit_counts([9, 11, 10, 4, 5, 6], [300] * 6, [[1, 0]] * 3 + [[1, 1]] * 3, family=Family.POISSON)
    >>> round(fit.ratio([0, 1])[0], 3)
    0.5
    """
    counts, columns = checked_rows(events, design)
    sizes = _checked_sizes(counts, n, family)
    at = _solve(counts, sizes, columns, family=family)
    mean, weight = _moments(columns @ at, sizes, family)
    rows, wide = columns.shape
    pearson = (counts - mean) / np.sqrt(weight)
    dispersion = float(pearson @ pearson) / (rows - wide)
    used = max(1.0, dispersion) if floor else dispersion
    bread: Matrix = np.asarray(np.linalg.inv((columns * weight[:, None]).T @ columns), dtype=float)
    reach = (usual_lag(rows) if lag is None else lag) if with_lag(errors) else 0
    if errors in (Errors.MODEL, Errors.QUASI):
        covariance = bread * (used if errors is Errors.QUASI else 1.0)
    else:
        leverage = weight * np.einsum("ij,jk,ik->i", columns, bread, columns)
        scores = columns * (counts - mean)[:, None]
        covariance = robust_covariance(bread, scores, leverage=leverage, errors=errors, lag=reach, times=times)
    return CountFit(
        family=family,
        coefficients=at,
        errors=np.sqrt(np.diag(covariance)),
        covariance=np.asarray(covariance, dtype=float),
        dispersion=dispersion,
        dispersion_used=used if errors is Errors.QUASI else 1.0,
        df=None if errors is Errors.MODEL or not student else rows - wide,
        deviance=_deviance(counts, sizes, mean, family=family),
        log_likelihood=_log_likelihood(counts, sizes, mean, family=family),
        fitted=mean,
        residuals=pearson,
        neighbours=_neighbours(pearson),
        durbin_watson=durbin_watson(pearson),
        errors_by=errors,
        lag=reach,
    )


def _checked_sizes(counts: Values, n: Sequence[float] | Values, family: Family) -> Values:
    sizes = np.asarray(n, dtype=float)
    if sizes.shape != counts.shape or not (sizes > 0).all() or (counts < 0).any():
        raise ValueError("each row needs a count, and sets or exposure above 0")
    if family is Family.BINOMIAL and (counts > sizes).any():
        raise ValueError("more events than sets are impossible")
    if not counts.sum() or (family is Family.BINOMIAL and counts.sum() == sizes.sum()):
        raise NotIdentifiable("events")
    return sizes


def _moments(linear: Values, sizes: Values, family: Family) -> tuple[Values, Values]:
    """Expected counts and their variances (which are also the weights of the fit, both links being canonical)."""
    if family is Family.POISSON:
        mean = sizes * np.exp(np.clip(linear, -700, 50))
        return mean, mean
    share = expit(linear)
    return sizes * share, sizes * share * (1 - share)


def _start(counts: Values, sizes: Values, columns: Matrix, *, family: Family) -> Values:
    share = float(counts.sum() / sizes.sum())
    level = math.log(share) if family is Family.POISSON else math.log(share / (1 - share))
    return np.asarray(np.linalg.lstsq(columns, np.full(len(counts), level))[0])


def _solve(counts: Values, sizes: Values, columns: Matrix, *, family: Family) -> Values:
    """Newton's method (both links are canonical), on columns brought to one size so that its steps are even.

    A step that makes the likelihood worse is halved: counts near none send the first steps too far.
    """
    scale = np.maximum(np.abs(columns).max(axis=0), 1e-300)
    even = columns / scale
    at = _start(counts, sizes, even, family=family)
    height = _height(counts, sizes, even @ at, family=family)
    for _step in range(_STEPS):
        mean, weight = _moments(even @ at, sizes, family)
        step = np.linalg.lstsq((even * weight[:, None]).T @ even, even.T @ (counts - mean))[0]
        slack = 1e-9 * (1 + abs(height))  # a step small enough changes less than this, so that the halving ends
        while (reached := _height(counts, sizes, even @ (at + step), family=family)) < height - slack:
            step = step / 2
        at, height = at + step, reached
        _refuse_unbounded(at, even, most=_FARTHEST)
        if np.abs(step).max() < 1e-9:
            _refuse_unbounded(at, even, most=_LARGEST_EFFECT)
            return np.asarray(at / scale)
    raise NotIdentifiable("separation")


def _height(counts: Values, sizes: Values, linear: Values, *, family: Family) -> float:
    """The log likelihood but for a constant."""
    if family is Family.POISSON:
        return float(counts @ linear - sizes @ np.exp(np.clip(linear, -700, 50)))
    return float(counts @ linear - sizes @ np.logaddexp(0, linear))


def _refuse_unbounded(at: Values, even: Matrix, *, most: float) -> None:
    """Fitted rates farther apart than sets could show mean that a stretch of the series holds no event at all."""
    if np.ptp(even @ at) > most:
        raise NotIdentifiable("separation", tuple(int(one) for one in np.flatnonzero(np.abs(at) > most)))


def _deviance(counts: Values, sizes: Values, mean: Values, *, family: Family) -> float:
    part = xlogy(counts, counts / mean)
    if family is Family.POISSON:
        return float(2 * (part - (counts - mean)).sum())
    return float(2 * (part + xlogy(sizes - counts, (sizes - counts) / (sizes - mean))).sum())


def _log_likelihood(counts: Values, sizes: Values, mean: Values, *, family: Family) -> float:
    if family is Family.POISSON:
        return float((xlogy(counts, mean) - mean - gammaln(counts + 1)).sum())
    ways = gammaln(sizes + 1) - gammaln(counts + 1) - gammaln(sizes - counts + 1)
    return float((ways + xlogy(counts, mean / sizes) + xlogy(sizes - counts, 1 - mean / sizes)).sum())


def _neighbours(residuals: Values) -> float:
    whole = float(residuals @ residuals)
    return float(residuals[1:] @ residuals[:-1]) / whole if whole > 0 else 0.0
