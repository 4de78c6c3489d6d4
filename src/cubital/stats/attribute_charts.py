"""Control charts for shares and counts: p, np, u, and Laney's p′ and u′ for data that vary more than chance.

Limits are the classic centre ± ``sigmas`` standard deviations, clipped to what is possible. A centre given from
outside is a locked baseline; none means the data's own. Montgomery DC, Introduction to Statistical Quality Control,
6th ed., chapter 7. Laney DB, Quality Engineering 2002;14:531-537 (doi:10.1081/QEN-120003555).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

Values = np.ndarray[tuple[int], np.dtype[np.float64]]

THREE_SIGMAS = 3.0
_D2 = 1.128  # mean moving range of two normal values, in standard deviations, as the tables print it
_SCREEN = 3.267  # upper limit of a moving range over its mean (D4 for n = 2); Nelson LS, J Qual Technol 1982;14:172


@dataclass(frozen=True)
class AttributeChart:
    """One chart: per point the plotted ``values`` (shape n) with ``lower`` and ``upper`` limits (shape n).

    ``center`` is in the unit of the values (share, count, or rate per unit of exposure); ``spread`` multiplies the
    limits (1 except for Laney's charts). ``beyond`` lists the positions, from 0, of points outside their limits. A
    point without exposure has no value (NaN), no limits, and is never beyond.
    """

    values: Values
    center: float
    lower: Values
    upper: Values
    spread: float
    beyond: tuple[int, ...]


def _checked(events: Sequence[float], exposure: Sequence[float]) -> tuple[Values, Values]:
    x, n = np.asarray(events, dtype=float), np.asarray(exposure, dtype=float)
    if x.ndim != 1 or x.shape != n.shape or not x.size:
        raise ValueError("a chart needs as many exposures as counts, and at least one")
    if (x < 0).any() or (n < 0).any() or ((n == 0) & (x > 0)).any():
        raise ValueError("counts and exposures cannot be negative, nor events come without exposure")
    if not n.sum():
        raise ValueError("a chart needs some exposure")
    return x, n


def _divided(top: Values, bottom: Values) -> Values:
    result: Values = np.full_like(bottom, np.nan)
    np.divide(top, bottom, out=result, where=bottom > 0)
    return result


def _chart(values: Values, sd: Values, *, center: float, sigmas: float, spread: float, most: float) -> AttributeChart:
    lower, upper = np.maximum(0.0, center - sigmas * spread * sd), np.minimum(most, center + sigmas * spread * sd)
    known = ~np.isnan(values)
    beyond = known & ((values < lower) | (values > upper))
    return AttributeChart(values, center, lower, upper, spread, tuple(int(i) for i in np.flatnonzero(beyond)))


def p_chart(
    events: Sequence[float], n: Sequence[float], *, center: float | None = None, sigmas: float = THREE_SIGMAS
) -> AttributeChart:
    """Shares of ``n`` with limits that widen where ``n`` is small.

    Parameters
    ----------
    events, n : counts per point, same length, ``0 <= events <= n``.
    center : a locked baseline share, 0 to 1; none takes sum(events)/sum(n).

    Raises
    ------
    ValueError : more events than n, negative counts, or nothing to divide by.

    Examples
    --------
    >>> chart = p_chart([19], [498], center=289 / 11_142)
    >>> round(float(chart.lower[0]), 3), round(float(chart.upper[0]), 3)
    (0.005, 0.047)
    """
    x, sizes = _checked(events, n)
    if (x > sizes).any():
        raise ValueError("more events than observations")
    middle = float(x.sum() / sizes.sum()) if center is None else center
    sd = np.sqrt(_divided(np.full_like(sizes, middle * (1 - middle)), sizes))
    return _chart(_divided(x, sizes), sd, center=middle, sigmas=sigmas, spread=1.0, most=1.0)


def np_chart(
    events: Sequence[float], n: int, *, center: float | None = None, sigmas: float = THREE_SIGMAS
) -> AttributeChart:
    """Counts among a constant ``n``; ``center`` is a count."""
    x, sizes = _checked(events, [n] * len(events))
    middle = float(x.mean()) if center is None else center
    sd = np.sqrt(np.full_like(sizes, middle * (1 - middle / n)))
    return _chart(x, sd, center=middle, sigmas=sigmas, spread=1.0, most=float(n))


def u_chart(
    events: Sequence[float], units: Sequence[float], *, center: float | None = None, sigmas: float = THREE_SIGMAS
) -> AttributeChart:
    """Events per unit of exposure (patient-days, metres); an event may happen more than once per unit."""
    x, sizes = _checked(events, units)
    middle = float(x.sum() / sizes.sum()) if center is None else center
    sd = np.sqrt(_divided(np.full_like(sizes, middle), sizes))
    return _chart(_divided(x, sizes), sd, center=middle, sigmas=sigmas, spread=1.0, most=math.inf)


def _laney_spread(base: AttributeChart, sd: Values, *, screened: bool) -> float:
    """How much more the points vary from one to the next than chance alone: 1 is chance alone."""
    z = _divided(base.values - base.center, sd)
    ranges = np.abs(np.diff(z[~np.isnan(z)]))
    if not ranges.size:
        raise ValueError("Laney's chart needs at least two points that vary")
    if screened:
        ranges = ranges[ranges <= _SCREEN * ranges.mean()]
    return float(ranges.mean() / _D2)


def laney_p_chart(
    events: Sequence[float], n: Sequence[float], *, screened: bool = False, sigmas: float = THREE_SIGMAS
) -> AttributeChart:
    """The p chart with limits stretched by the spread seen from point to point.

    ``screened`` drops moving ranges above 3.267 times their mean once, so that a single jump does not widen the limits.
    """
    base = p_chart(events, n, sigmas=sigmas)
    sizes = np.asarray(n, dtype=float)
    sd = np.sqrt(_divided(np.full_like(sizes, base.center * (1 - base.center)), sizes))
    spread = _laney_spread(base, sd, screened=screened)
    return _chart(base.values, sd, center=base.center, sigmas=sigmas, spread=spread, most=1.0)


def laney_u_chart(
    events: Sequence[float], units: Sequence[float], *, screened: bool = False, sigmas: float = THREE_SIGMAS
) -> AttributeChart:
    """The u chart with limits stretched in the same way."""
    base = u_chart(events, units, sigmas=sigmas)
    sizes = np.asarray(units, dtype=float)
    sd = np.sqrt(_divided(np.full_like(sizes, base.center), sizes))
    spread = _laney_spread(base, sd, screened=screened)
    return _chart(base.values, sd, center=base.center, sigmas=sigmas, spread=spread, most=math.inf)
