"""How long charts that remember stay quiet, and how soon they speak: average run lengths.

Normal CUSUM and EWMA by the integral equation on Gauss-Legendre nodes (Crowder SV, Technometrics 1987;29:401-407;
Lucas JM, Crosier RB, Technometrics 1982;24:199-205), Poisson CUSUM by a Markov chain (Lucas JM, Technometrics
1985;27:129-144), Bernoulli CUSUM exactly, excursion by excursion.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
from scipy.special import gammaln, ndtr

from cubital.stats.attribute_charts import Values

_NODES = 120
_LEFT_OUT = 1e-15  # probability of excursions so long that they are not followed further
_MAX_GRID = 100  # k and h of a Poisson CUSUM as fractions with at most this denominator


def _density(x: Values) -> Values:
    return np.asarray(np.exp(-0.5 * x * x) / math.sqrt(2 * math.pi))


def ewma_run_length(*, weight: float, sigmas: float, shift: float = 0.0, nodes: int = _NODES) -> float:
    """Average points until an EWMA of normal values, begun at the target, leaves its lasting limits.

    ``shift`` of the mean in sigmas; ``sigmas`` is the width of the limits in standard deviations of the average.
    """
    if not 0 < weight <= 1 or sigmas <= 0:
        raise ValueError("a weight above 0 up to 1 and limits above 0 are needed")
    limit = sigmas * math.sqrt(weight / (2 - weight))
    at, width = np.polynomial.legendre.leggauss(nodes)
    x, w = limit * at, limit * width

    def kernel(start: Values | float) -> Values:
        return np.asarray(_density((x - (1 - weight) * start) / weight - shift) * w / weight)

    matrix = np.eye(nodes) - np.vstack([kernel(float(start)) for start in x])
    lengths = np.linalg.solve(matrix, np.ones(nodes))
    return float(1 + kernel(0.0) @ lengths)


def _one_sided(k: float, h: float, *, shift: float, starts: tuple[float, ...], nodes: int) -> tuple[float, ...]:
    """Run lengths of one upward sum from each of ``starts``: nodes inside (0, h), and 0 with a weight of its own."""
    at, width = np.polynomial.legendre.leggauss(nodes)
    x, w = h * (at + 1) / 2, h * width / 2

    def row(start: float) -> Values:
        to_zero = ndtr(k - shift - start)
        return np.concatenate(([to_zero], _density(x - start + k - shift) * w))

    matrix = np.eye(nodes + 1) - np.vstack([row(0.0), *(row(float(start)) for start in x)])
    lengths = np.linalg.solve(matrix, np.ones(nodes + 1))
    return tuple(float(1 + row(start) @ lengths) for start in starts)


def cusum_run_length(
    *, k: float, h: float, shift: float = 0.0, head_start: float = 0.0, two_sided: bool = True, nodes: int = _NODES
) -> float:
    """Average points until a CUSUM of normal values passes ``h``; everything in sigmas.

    Two sums are joined as Lucas and Crosier do, which holds where both cannot lie high at once (k ≥ head_start − h/2,
    as for every usual choice).
    """
    if h <= 0 or k < 0 or not 0 <= head_start < h:
        raise ValueError("h must be above 0, k not negative, the head start below h")
    up0, up = _one_sided(k, h, shift=shift, starts=(0.0, head_start), nodes=nodes)
    if not two_sided:
        return up
    down0, down = _one_sided(k, h, shift=-shift, starts=(0.0, head_start), nodes=nodes)
    return (up * down0 + down * up0 - up0 * down0) / (up0 + down0)


def poisson_cusum_run_length(*, mean: float, k: float, h: float, head_start: float = 0.0) -> float:
    """Average counts until max(0, S + count − k) reaches ``h``, from ``head_start``, for Poisson counts of ``mean``.

    ``k``, ``h`` and ``head_start`` must be multiples of one fraction with a denominator up to 100 (``ValueError``).
    """
    if mean <= 0 or k < 0 or h <= 0 or not 0 <= head_start < h:
        raise ValueError("mean and h must be above 0, k not negative, the head start below h")
    parts = [Fraction(value).limit_denominator(_MAX_GRID) for value in (k, h, head_start)]
    if any(abs(float(part) - value) > 1e-9 for part, value in zip(parts, (k, h, head_start), strict=True)):
        raise ValueError("k, h and the head start must be simple fractions")
    grid = math.lcm(*(part.denominator for part in parts))
    step, states, start = (int(part * grid) for part in parts)
    counts = np.arange((states + step) // grid + 2)
    chances = np.exp(counts * math.log(mean) - mean - gammaln(counts + 1))
    stay = np.zeros((states, states))
    for state in range(states):
        for count, chance in zip(counts, chances, strict=True):
            after = max(0, state + int(count) * grid - step)
            if after < states:
                stay[state, after] += chance
    return float(np.linalg.solve(np.eye(states) - stay, np.ones(states))[start])


def bernoulli_cusum_run_length(*, usual: float, changed: float, limit: float, rate: float | None = None) -> float:
    """Average draws until the CUSUM of outcomes one by one reaches ``limit``, exactly.

    Parameters
    ----------
    usual, changed : the two rates that the scores weigh, between 0 and 1; ``changed`` above ``usual``.
    limit : the sum that signals, above 0.
    rate : the true rate; none means ``usual`` (how long it stays quiet), ``changed`` asks how soon it speaks.

    Notes
    -----
    Between two visits to 0 the sum is decided by how many failures the draws so far held, so that one vector follows
    every path at once. The average is the mean length of a visit over the chance that it ends in a signal.
    """
    if not 0 < usual < changed < 1 or limit <= 0:
        raise ValueError("0 < usual < changed < 1 and a limit above 0 are needed")
    p = usual if rate is None else rate
    if not 0 < p < 1:
        raise ValueError(f"a rate of {p} is not between 0 and 1")
    up, down = math.log(changed / usual), -math.log((1 - changed) / (1 - usual))
    if up >= limit:
        return 1 / p
    length, signalled = _excursion(p, up, down, limit)
    return length / signalled


def _excursion(p: float, up: float, down: float, limit: float) -> tuple[float, float]:
    """Mean length of one excursion from 0 back to 0 or to the limit, and the chance that the limit ends it."""
    alive = {1: p}  # failures so far to probability, after the first draw; a success stays at 0 and ends the excursion
    length, signalled, draws = 1.0, 0.0, 1
    while (mass := sum(alive.values())) > _LEFT_OUT:
        length += mass
        draws += 1
        after: dict[int, float] = {}
        for failures, chance in alive.items():
            for more, share in ((1, p), (0, 1 - p)):
                total = (failures + more) * up - (draws - failures - more) * down
                if total >= limit:
                    signalled += chance * share
                elif total > 0:
                    after[failures + more] = after.get(failures + more, 0.0) + chance * share
        alive = after
    return length, signalled
