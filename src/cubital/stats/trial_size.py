"""How many observations each arm of a comparison of two shares needs, by the usual formulas side by side.

Every size is a real number: round it up where a whole number is wanted. ``level`` is 1 minus the two-sided chance of a
false finding; a one-sided test at 5 % is ``level=0.9``.

References
----------
Fleiss JL, Levin B, Paik MC, Statistical Methods for Rates and Proportions, 3rd ed. 2003, chapter 4 (pooled variance
under no difference). Fleiss JL, Tytun A, Ury HK, Biometrics 1980;36:343-346 (correction, unequal arms). Cohen J,
Statistical Power Analysis for the Behavioral Sciences, 2nd ed. 1988, chapter 6 (arcsine). Chow SC, Shao J, Wang H,
Sample Size Calculations in Clinical Research, chapter 4 (unpooled; one share).
"""

from __future__ import annotations

import math

from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from cubital.stats.interval import normal_quantile


def uncorrected_size(
    first: float, second: float, *, level: float = 0.95, power: float = 0.8, ratio: float = 1.0
) -> float:
    """Size of the first arm by the normal approximation, pooled under no difference; the second is ``ratio`` times it.

    Parameters
    ----------
    first, second : shares between 0 and 1, not equal (``ValueError``).
    power : the chance of finding the difference, between 0 and 1 (``ValueError``).
    ratio : size of the second arm over that of the first, above 0 (``ValueError``).

    Examples
    --------
    >>> round(uncorrected_size(0.04, 0.02), 1)
    1140.8
    """
    _check(first, second, power=power, ratio=ratio)
    middle = (first + ratio * second) / (1 + ratio)
    alike = normal_quantile(level) * math.sqrt((1 + 1 / ratio) * middle * (1 - middle))
    apart = _beta(power) * math.sqrt(first * (1 - first) + second * (1 - second) / ratio)
    return ((alike + apart) / (first - second)) ** 2


def corrected_size(
    first: float, second: float, *, level: float = 0.95, power: float = 0.8, ratio: float = 1.0
) -> float:
    """The same with the continuity correction of Fleiss, Tytun and Ury, which comes near Fisher's exact test.

    Examples
    --------
    >>> math.ceil(corrected_size(0.25, 0.40))
    165
    """
    plain = uncorrected_size(first, second, level=level, power=power, ratio=ratio)
    step = 2 * (ratio + 1) / (plain * ratio * abs(first - second))
    return plain / 4 * (1 + math.sqrt(1 + step)) ** 2


def arcsine_size(first: float, second: float, *, level: float = 0.95, power: float = 0.8, ratio: float = 1.0) -> float:
    """The same on the arcsine scale, where the variance hardly depends on the share."""
    _check(first, second, power=power, ratio=ratio)
    apart = 2 * math.asin(math.sqrt(first)) - 2 * math.asin(math.sqrt(second))
    return (1 + 1 / ratio) * ((normal_quantile(level) + _beta(power)) / apart) ** 2


def unpooled_size(first: float, second: float, *, level: float = 0.95, power: float = 0.8, ratio: float = 1.0) -> float:
    """The same with the two arms' own variances throughout."""
    _check(first, second, power=power, ratio=ratio)
    spread = first * (1 - first) + second * (1 - second) / ratio
    return ((normal_quantile(level) + _beta(power)) / (first - second)) ** 2 * spread


def one_share_size(share: float, *, change: float, level: float = 0.95, power: float = 0.8) -> float:
    """Observations that tell one ``share`` from a fixed value ``change`` away from it.

    Examples
    --------
    >>> math.ceil(one_share_size(0.5, change=0.2))
    50
    """
    if not 0 < share < 1 or not change or not 0 < power < 1:
        raise ValueError("a share between 0 and 1, a change and a power between 0 and 1 are needed")
    return ((normal_quantile(level) + _beta(power)) / change) ** 2 * share * (1 - share)


def precision_size(share: float, *, half_width: float, level: float = 0.95, population: int | None = None) -> float:
    """Observations after which the interval of ``share`` reaches ``half_width`` to each side.

    ``population`` is how many there are at all, at least 1: of few, fewer are needed (Cochran WG, Sampling Techniques,
    3rd ed. 1977, section 4.4).

    Examples
    --------
    >>> math.ceil(precision_size(0.15, half_width=0.03))
    545
    """
    if not 0 < share < 1 or half_width <= 0 or (population is not None and population < 1):
        raise ValueError("a share between 0 and 1, a width above 0 and a population of at least 1 are needed")
    size = (normal_quantile(level) / half_width) ** 2 * share * (1 - share)
    return size if population is None else size / (1 + (size - 1) / population)


def power_of_size(first: float, second: float, *, size: float, level: float = 0.95, ratio: float = 1.0) -> float:
    """The chance of finding the difference with ``size`` (above 0) in the first arm; the inverse of
    ``uncorrected_size``.

    Examples
    --------
    >>> round(power_of_size(0.50, 0.75, size=50), 2)
    0.74
    """
    if not 0 <= first <= 1 or not 0 <= second <= 1 or size <= 0 or ratio <= 0:
        raise ValueError("shares from 0 to 1, a size and a ratio above 0 are needed")
    middle = (first + ratio * second) / (1 + ratio)
    spread = math.sqrt(first * (1 - first) + second * (1 - second) / ratio)
    alike = normal_quantile(level) * math.sqrt((1 + 1 / ratio) * middle * (1 - middle))
    if spread == 0:
        return 1.0 if first != second else 0.0
    return float(ndtr((math.sqrt(size) * abs(first - second) - alike) / spread))


def smallest_found(first: float, *, size: float, level: float = 0.95, power: float = 0.8) -> float | None:
    """The share nearest below ``first`` that ``size`` in each of two arms tells from it; none where not even 0 is.

    Examples
    --------
    >>> round(smallest_found(0.04, size=1141), 4)
    0.02
    """
    if not 0 < first < 1 or size <= 0 or not 0 < power < 1:
        raise ValueError("a share and a power between 0 and 1 and a size above 0 are needed")

    def short(second: float) -> float:
        return power_of_size(first, second, size=size, level=level) - power

    lowest = first * 1e-9
    if short(lowest) < 0:
        return None
    return float(brentq(short, lowest, first * (1 - 1e-9)))


def _beta(power: float) -> float:
    return float(ndtri(power))


def _check(first: float, second: float, *, power: float, ratio: float) -> None:
    if not 0 < first < 1 or not 0 < second < 1 or first == second:
        raise ValueError("two different shares between 0 and 1 are needed")
    if not 0 < power < 1:
        raise ValueError(f"a power of {power} is not between 0 and 1")
    if not 0 < ratio < math.inf:
        raise ValueError(f"arms in a ratio of {ratio} are none")
