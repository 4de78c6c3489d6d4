"""Standard errors that hold where the spread varies, or where neighbouring months resemble each other.

All are sandwiches: bread × meat × bread, the meat made of scores (each row's share in the estimating equations).
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from cubital.stats.attribute_charts import Values
from cubital.stats.mixed_logistic import Matrix, Whole


class Errors(StrEnum):
    """How the errors of coefficients are found."""

    MODEL = "model"  # as if the model's own spread were true
    QUASI = "quasi"  # the model's spread times the dispersion found (counts only)
    WHITE = "white"  # any spread, rows independent
    NEWEY_WEST = "newey-west"  # any spread, neighbours alike up to a lag
    NEWEY_WEST_WIDE = "newey-west, widened"  # the same, made honest for short series


def usual_lag(points: int) -> int:
    """The lag used where none is asked for: the whole part of 4·(n/100)^(2/9), at least 1.

    References: Newey WK, West KD, Rev Econ Stud 1994;61:631-653 (the rule as commonly quoted; from memory).
    """
    return max(1, int(4 * (points / 100) ** (2 / 9)))


def with_lag(errors: Errors) -> bool:
    """Whether neighbours may be alike."""
    return errors in (Errors.NEWEY_WEST, Errors.NEWEY_WEST_WIDE)


def short_series_factor(points: int, *, lag: int) -> float:
    """By how much squared errors grow so that a usual quantile fits a lag that is no small part of the series.

    Kiefer and Vogelsang's 97.5 % point for Bartlett's weights, a cubic in b = (lag + 1) / points, over 1.96, squared.

    References: Kiefer NM, Vogelsang TJ, Econom Theory 2005;21:1130-1164 (coefficients from memory, confirmed by
    simulation in the tests).
    """
    b = (lag + 1) / points
    return float(((1.96 + 2.9694 * b + 0.4160 * b**2 - 0.5324 * b**3) / 1.96) ** 2)


def robust_covariance(
    bread: Matrix,
    scores: Matrix,
    *,
    leverage: Values,
    errors: Errors,
    lag: int,
    times: Whole | None = None,
    small_sample: bool = True,
) -> Matrix:
    """Bread × meat × bread for WHITE, NEWEY_WEST and NEWEY_WEST_WIDE.

    WIDE divides each score by 1 − leverage (shape r, 0 to 1), as leaving the point out would, and stretches by
    ``short_series_factor``; the others take r / (r − p) where ``small_sample``.
    """
    rows, wide = scores.shape
    if errors is Errors.NEWEY_WEST_WIDE:
        loose = scores / np.maximum(1 - leverage, 1e-6)[:, None]
        factor = short_series_factor(rows, lag=lag)
        return np.asarray(factor * bread @ newey_west_meat(loose, lag=lag, times=times) @ bread)
    meat = newey_west_meat(scores, lag=lag, times=times)
    return np.asarray((rows / (rows - wide) if small_sample else 1.0) * bread @ meat @ bread)


def newey_west_meat(scores: Matrix, *, lag: int, times: Whole | None = None) -> Matrix:
    """The summed products of scores, neighbours up to ``lag`` apart with Bartlett's falling weights.

    Parameters
    ----------
    scores : one row per point (r × p).
    lag : 0 is White's meat.
    times : the position of each row, whole and rising; a gap counts as the time it takes. None means no gaps.

    References
    ----------
    Newey WK, West KD, Econometrica 1987;55:703-708; gaps as in Datta DD, Du W, 2012 (amplitude modulated).
    """
    if lag < 0:
        raise ValueError(f"a lag of {lag} points backwards is none")
    filled = scores
    if times is not None and len(times):
        filled = np.zeros((int(times[-1] - times[0]) + 1, scores.shape[1]))
        filled[np.asarray(times) - int(times[0])] = scores
    meat = filled.T @ filled
    for apart in range(1, min(lag, len(filled) - 1) + 1):
        pair = filled[apart:].T @ filled[:-apart]
        meat = meat + (1 - apart / (lag + 1)) * (pair + pair.T)
    return np.asarray(meat)


def cluster_meat(scores: Matrix, groups: Whole) -> Matrix:
    """The summed products of the scores added up within each group (numbered 0 to g − 1)."""
    sums = np.zeros((int(groups.max()) + 1, scores.shape[1]))
    np.add.at(sums, groups, scores)
    return np.asarray(sums.T @ sums)
