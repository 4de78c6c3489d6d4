"""Standard errors that hold where the spread varies, or where neighbouring months resemble each other.

All are sandwiches: bread × meat × bread, the meat made of scores (each row's share in the estimating equations).
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from cubital.stats.mixed_logistic import Matrix, Whole


class Errors(StrEnum):
    """How the errors of coefficients are found."""

    MODEL = "model"  # as if the model's own spread were true
    QUASI = "quasi"  # the model's spread times the dispersion found (counts only)
    WHITE = "white"  # any spread, rows independent
    NEWEY_WEST = "newey-west"  # any spread, neighbours alike up to a lag


def usual_lag(points: int) -> int:
    """The lag used where none is asked for: the whole part of 4·(n/100)^(2/9), at least 1.

    References: Newey WK, West KD, Rev Econ Stud 1994;61:631-653 (the rule as commonly quoted; from memory).
    """
    return max(1, int(4 * (points / 100) ** (2 / 9)))


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
