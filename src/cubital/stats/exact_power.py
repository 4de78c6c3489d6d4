"""Power of Fisher's exact test for two independent shares, and the size it needs: no approximation.

Every table that can come up is weighed by its chance; tables beyond ten standard deviations are left out (together less
than 1e-20). References: Casagrande JT, Pike MC, Smith PG, Biometrics 1978;34:483-486.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from scipy.special import gammaln, xlog1py, xlogy

from cubital.stats.attribute_charts import Values
from cubital.stats.trial_size import corrected_size

_TIE = 1 + 1e-7  # two probabilities closer than this are equal; R's fisher.test uses the same allowance
_FAR = 10.0
_BELOW = 0.9  # the exact size lies within a tenth of the corrected one
FEW = 300  # per arm
MOST = 60_000  # beyond this the corrected size is as good and the search would take seconds


def fisher_power(first: float, second: float, *, sizes: tuple[int, int], level: float = 0.95) -> float:
    """The chance that Fisher's two-sided test finds a difference between arms of these ``sizes``.

    ``first`` and ``second`` are shares from 0 to 1; equal ones give the test's true size, which is below 1 − ``level``.

    Examples
    --------
    >>> round(fisher_power(0.5, 0.9, sizes=(20, 20)), 3)
    0.742
    """
    if not 0 <= first <= 1 or not 0 <= second <= 1 or min(sizes) < 1 or not 0 < level < 1:
        raise ValueError("shares from 0 to 1, arms with observations and a level between 0 and 1 are needed")
    rows, columns = (_likely(p, n) for p, n in zip((first, second), sizes, strict=True))
    chances = [_binomial(x, n, p) for x, n, p in zip((rows, columns), sizes, (first, second), strict=True)]
    found = 0.0
    for total in range(int(rows[0] + columns[0]), int(rows[-1] + columns[-1]) + 1):
        rejected = _rejected(total, sizes, alpha=1 - level)
        other = total - rejected
        inside = (rejected >= rows[0]) & (rejected <= rows[-1]) & (other >= columns[0]) & (other <= columns[-1])
        kept = rejected[inside]
        found += float((chances[0][kept - rows[0]] * chances[1][total - kept - columns[0]]).sum())
    return min(1.0, found)


@lru_cache(maxsize=64)  # a plan is made, shown, sealed and looked at with the same numbers
def fisher_size(first: float, second: float, *, level: float = 0.95, power: float = 0.8) -> int | None:
    """The size of each of two equal arms with that power; none where more than ``MOST`` would be needed.

    Whole counts make the power saw-toothed. Below ``FEW`` it is the first size that has it, counted up from a tenth
    below the corrected size; above, where the teeth are flat, a size that has it while one less has not.

    Examples
    --------
    >>> fisher_size(0.2, 0.6)
    27
    """
    near = corrected_size(first, second, level=level, power=power)
    if near > MOST:
        return None
    size = max(2, math.floor(_BELOW * near))

    def enough(each: int) -> bool:
        return fisher_power(first, second, sizes=(each, each), level=level) >= power

    stride = 1 if near < FEW else math.ceil(near / 8)
    while not enough(size):
        size += stride
    short = size - stride
    while size - short > 1:
        middle = (size + short) // 2
        size, short = (middle, short) if enough(middle) else (size, middle)
    return size


Whole = np.ndarray[tuple[int], np.dtype[np.int64]]


def _likely(share: float, n: int) -> Whole:
    reach = _FAR * math.sqrt(n * share * (1 - share)) + _FAR**2 / 3
    low, high = max(0, math.floor(n * share - reach)), min(n, math.ceil(n * share + reach))
    return np.arange(low, high + 1)


def _binomial(x: Whole, n: int, p: float) -> Values:
    ways = gammaln(n + 1) - gammaln(x + 1) - gammaln(n - x + 1)
    chance: Values = np.exp(ways + xlogy(x, p) + xlog1py(n - x, -p))
    return chance


def _rejected(total: int, sizes: tuple[int, int], *, alpha: float) -> Whole:
    """First cells for which the two-sided test rejects, given both margins."""
    x = np.arange(max(0, total - sizes[1]), min(sizes[0], total) + 1)
    ways = -(gammaln(x + 1) + gammaln(sizes[0] - x + 1) + gammaln(total - x + 1) + gammaln(sizes[1] - total + x + 1))
    chance = np.exp(ways - ways.max())
    chance /= chance.sum()
    order = np.argsort(chance)
    ordered = chance[order]
    upto = np.searchsorted(ordered, ordered * _TIE, side="right")  # ties count with their like
    p = np.cumsum(ordered)[upto - 1]
    rejected: Whole = x[order[p <= alpha]]
    return rejected
