"""How long charts of monthly counts stay quiet and how soon they speak: exact binomial months, a fine grid of states.

Brook D, Evans DA, Biometrika 1972;59:539-549 (the Markov chain); a count that falls between two states of the grid is
shared between them so that its mean is kept.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from scipy.special import bdtr, bdtrc

from cubital.stats.attribute_charts import THREE_SIGMAS, Values

_CELLS = 400
_LEFT_OUT = 1e-13  # counts rarer than this are not followed
_SETTLED = 1e-6  # limits closer than this share to their lasting width have settled
_LONGEST = 1e9  # a chart that is quiet longer than this many months is not asked for

Matrix = np.ndarray[tuple[int, int], np.dtype[np.float64]]


def count_chances(n: int, rate: float) -> tuple[Values, Values]:
    """The counts of ``n`` sets at ``rate`` that are not absurdly rare, and the chance of each."""
    counts = np.arange(n + 1, dtype=float)
    chances = np.diff(np.concatenate(([0.0], bdtr(counts, n, rate))))
    kept = chances > _LEFT_OUT
    return counts[kept], chances[kept]


def _check(n: int, *rates: float) -> None:
    if n < 1 or not all(0 < rate < 1 for rate in rates):
        raise ValueError("at least one set a month and rates between 0 and 1 are needed")


def _shared(places: Values, chances: Values, size: int) -> Matrix:
    """Row by row the chance of each state after one month; ``places`` (states x counts) may lie between two states."""
    below = np.floor(places).astype(int)
    part = places - below
    inside = (places >= 0) & (places <= size - 1)
    at = (np.arange(len(places))[:, None] * (size + 1) + below)[inside]
    weights = np.broadcast_to(chances, places.shape)
    flat = np.bincount(at, ((1 - part) * weights)[inside], len(places) * (size + 1))
    flat += np.bincount(at + 1, (part * weights)[inside], len(flat))
    return np.asarray(flat.reshape(len(places), size + 1)[:, :size])


def ewma_count_run_length(
    *, n: int, center: float, rate: float | None = None, weight: float = 0.2, sigmas: float = THREE_SIGMAS
) -> float:
    """Average months until an EWMA of monthly shares leaves its limits, which widen as they do on the chart.

    Parameters
    ----------
    n : sets in each month, at least 1.
    center : the baseline share; ``rate`` the true share, none for the baseline itself. Both between 0 and 1.
    weight, sigmas : as of ``ewma_chart``.
    """
    p = center if rate is None else rate
    _check(n, center, p)
    if not 0 < weight <= 1 or sigmas <= 0:
        raise ValueError("a weight above 0 up to 1 and limits above 0 are needed")
    counts, chances = count_chances(n, p)
    sd = math.sqrt(center * (1 - center) / n)
    lasting = sigmas * sd * math.sqrt(weight / (2 - weight))
    if weight == 1:
        inside = float(chances[np.abs(counts / n - center) <= lasting].sum())
        return 1 / max(1e-300, 1 - inside)
    grid = np.linspace(-lasting, lasting, _CELLS + 1)
    step = grid[1] - grid[0]
    reached = (1 - weight) * grid[:, None] + weight * (counts / n - center)[None, :]
    stay = _shared((reached + lasting) / step, chances, len(grid))
    return _widening_length(stay, grid=grid, lasting=lasting, weight=weight)


def _widening_length(stay: Matrix, *, grid: Values, lasting: float, weight: float) -> float:
    """Months of quiet while the limits still widen, and then the lasting chain's from wherever they are."""
    alive = np.zeros(len(grid))
    alive[len(grid) // 2] = 1.0
    length, share = 0.0, 1.0
    while share > _SETTLED:
        length += float(alive.sum())
        share *= (1 - weight) ** 2
        alive = (alive @ stay) * (np.abs(grid) <= lasting * math.sqrt(1 - share) + 1e-12)
    rest = np.linalg.solve(np.eye(len(grid)) - stay, np.ones(len(grid)))
    return length + float(alive @ rest)


def count_cusum_run_length(
    *, n: int, usual: float, odds_ratio: float, limit: float, rate: float | None = None
) -> float:
    """Average months until the sum of ``count_scores`` reaches ``limit``, from 0.

    Parameters
    ----------
    n : sets in each month. ``usual`` : the baseline share. ``odds_ratio`` : the change looked for, not 1.
    limit : of the sum, above 0. ``rate`` : the true share; none for the usual one.
    """
    p = usual if rate is None else rate
    _check(n, usual, p)
    if odds_ratio <= 0 or odds_ratio == 1 or limit <= 0:
        raise ValueError("an odds ratio other than 1 and a limit above 0 are needed")
    counts, chances = count_chances(n, p)
    scores = counts * math.log(odds_ratio) - n * math.log1p(usual * (odds_ratio - 1))
    grid = np.linspace(0.0, limit, _CELLS + 1)
    reached = np.maximum(0.0, grid[:, None] + scores[None, :])
    # The last state is the limit itself, where the chart has spoken.
    stay = _shared(np.where(reached >= limit, -1.0, reached * _CELLS / limit), chances, len(grid))[:-1, :-1]
    lengths = np.linalg.solve(np.eye(_CELLS) - stay, np.ones(_CELLS))
    return float(min(_LONGEST, lengths[0])) if lengths[0] > 0 else _LONGEST


@lru_cache(maxsize=64)
def count_cusum_limit(*, n: int, usual: float, odds_ratio: float, run_length: float) -> float:
    """The smallest limit, to two digits, at which false alarms lie ``run_length`` months apart on average or more."""
    low, high = 0.01, 1.0
    while count_cusum_run_length(n=n, usual=usual, odds_ratio=odds_ratio, limit=high) < run_length:
        low, high = high, 2 * high
    while high - low > 0.01:
        middle = (low + high) / 2
        quiet = count_cusum_run_length(n=n, usual=usual, odds_ratio=odds_ratio, limit=middle) >= run_length
        low, high = (low, middle) if quiet else (middle, high)
    return math.ceil(100 * high) / 100


def outside_chance(n: int, *, rate: float, low: int, high: int) -> float:
    """The exact chance of ``low`` or fewer, or ``high`` or more, of ``n``; ``low`` may be −1 and ``high`` n + 1."""
    below = float(bdtr(low, n, rate)) if low >= 0 else 0.0
    above = float(bdtrc(high - 1, n, rate)) if high <= n else 0.0
    return below + above
