"""One value that is not known exactly, as a distribution with few and plain parameters."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv, gammaincinv, ndtri

Draws = NDArray[np.float64]
PERT_WEIGHT = 4.0


class Shape(StrEnum):
    """The family of a distribution."""

    FIXED = "fixed"
    UNIFORM = "uniform"
    TRIANGULAR = "triangular"
    PERT = "pert"
    BETA = "beta"
    GAMMA = "gamma"
    LOGNORMAL = "lognormal"


@dataclass(frozen=True)
class Uncertain:
    """A distribution: its family and up to four parameters.

    ``fixed`` (value), ``uniform`` (low, high), ``triangular`` (low, mode, high), ``pert`` and ``beta`` (first and
    second shape, low, high), ``gamma`` (shape, scale), ``lognormal`` (mean and standard deviation of the logarithm).
    Made by the functions of this module, which check what they are given.
    """

    shape: Shape
    parameters: tuple[float, ...]

    def quantile(self, chances: ArrayLike) -> Draws:
        """The values below which each of ``chances`` (0 to 1, any form) lies; the same form back.

        At 0 and 1 the ends of the range, which are infinite above for gamma and lognormal.
        """
        share = np.asarray(chances, dtype=np.float64)
        return np.asarray(_QUANTILES[self.shape](share, *self.parameters), dtype=np.float64)

    def draw(self, random: np.random.Generator, count: int) -> Draws:
        """``count`` independent values."""
        if self.shape in (Shape.BETA, Shape.PERT):  # its quantile function is slow, its own sampler is not
            first, second, low, high = self.parameters
            return low + (high - low) * random.beta(first, second, count)
        if self.shape is Shape.GAMMA:
            first, scale = self.parameters
            return random.gamma(first, scale, count)
        return self.quantile(random.random(count))

    @property
    def mean(self) -> float:
        """The mean."""
        return float(_MEANS[self.shape](*self.parameters))


def fixed(value: float) -> Uncertain:
    """A value that is taken as known."""
    return Uncertain(Shape.FIXED, (_finite(value),))


def uniform(low: float, high: float) -> Uncertain:
    """Anything from ``low`` to ``high``, all alike. ``ValueError`` unless low is below high."""
    if not _finite(low) < _finite(high):
        raise ValueError(f"a range from {low} to {high} is none")
    return Uncertain(Shape.UNIFORM, (low, high))


def triangular(low: float, mode: float, high: float) -> Uncertain:
    """Rises straight from ``low`` to the likely ``mode`` and falls straight to ``high``.

    ``ValueError`` unless ``low <= mode <= high`` and ``low < high``.

    Examples
    --------
    >>> triangular(700, 2900, 6400).mean
    3333.3333333333335
    """
    _check_mode(low, mode, high)
    return Uncertain(Shape.TRIANGULAR, (low, mode, high))


def pert(low: float, mode: float, high: float) -> Uncertain:
    """The smooth sister of ``triangular``: a beta whose mean is ``(low + 4 mode + high) / 6``.

    References
    ----------
    Malcolm DG, Roseboom JH, Clark CE, Fazar W. Oper Res 1959;7:646-669 (from memory).
    """
    _check_mode(low, mode, high)
    first = 1 + PERT_WEIGHT * (mode - low) / (high - low)
    second = 1 + PERT_WEIGHT * (high - mode) / (high - low)
    return Uncertain(Shape.PERT, (first, second, low, high))


def beta_of_moments(mean: float, sd: float) -> Uncertain:
    """The beta on 0 to 1 with that mean and standard deviation (method of moments).

    ``ValueError`` unless the mean lies between 0 and 1 and ``sd ** 2 < mean * (1 - mean)``.

    Examples
    --------
    >>> [round(one, 3) for one in beta_of_moments(0.18, 0.04).parameters[:2]]
    [16.425, 74.825]
    """
    if not 0 < mean < 1 or not sd > 0 or not sd**2 < mean * (1 - mean):
        raise ValueError(f"no beta has the mean {mean} and the standard deviation {sd}")
    size = mean * (1 - mean) / sd**2 - 1
    return Uncertain(Shape.BETA, (mean * size, (1 - mean) * size, 0.0, 1.0))


def gamma_of_moments(mean: float, sd: float) -> Uncertain:
    """The gamma with that mean and standard deviation, both above 0 (``ValueError``)."""
    _check_positive(mean, sd)
    return Uncertain(Shape.GAMMA, ((mean / sd) ** 2, sd**2 / mean))


def lognormal_of_moments(mean: float, sd: float) -> Uncertain:
    """The lognormal whose own mean and standard deviation (not those of its logarithm) are these, both above 0."""
    _check_positive(mean, sd)
    spread = math.log1p((sd / mean) ** 2)
    return Uncertain(Shape.LOGNORMAL, (math.log(mean) - spread / 2, math.sqrt(spread)))


def shares_of_counts(counts: ArrayLike) -> Draws:
    """The mean of a Dirichlet with these counts as its parameters: each row's counts over the row's sum.

    Parameters
    ----------
    counts : (k,) or (rows, k), none below 0, each row with a sum above 0 (``ValueError``). A count of 0 gives 0.
    """
    table = np.asarray(counts, dtype=np.float64)
    sums = table.sum(axis=-1, keepdims=True)
    if table.size == 0 or (table < 0).any() or (sums <= 0).any():
        raise ValueError("counts of 0 or more, and not all of them 0, are needed")
    return np.asarray(table / sums, dtype=np.float64)


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"{value} is no number to count with")
    return value


def _check_mode(low: float, mode: float, high: float) -> None:
    if not _finite(low) <= _finite(mode) <= _finite(high) or low == high:
        raise ValueError(f"{low}, {mode} and {high} do not rise")


def _check_positive(mean: float, sd: float) -> None:
    if not _finite(mean) > 0 or not _finite(sd) > 0:
        raise ValueError("a mean and a standard deviation above 0 are needed")


def _triangular_quantile(share: Draws, low: float, mode: float, high: float) -> Draws:
    turn = (mode - low) / (high - low)
    rising = low + np.sqrt(share * (high - low) * (mode - low))
    falling = high - np.sqrt((1 - share) * (high - low) * (high - mode))
    return np.where(share <= turn, rising, falling)


def _beta_quantile(share: Draws, first: float, second: float, low: float, high: float) -> Draws:
    return np.asarray(low + (high - low) * betaincinv(first, second, share))


_QUANTILES: Mapping[Shape, Callable[..., Any]] = {
    Shape.FIXED: np.full_like,
    Shape.UNIFORM: lambda share, low, high: low + (high - low) * share,
    Shape.TRIANGULAR: _triangular_quantile,
    Shape.PERT: _beta_quantile,
    Shape.BETA: _beta_quantile,
    Shape.GAMMA: lambda share, first, scale: scale * gammaincinv(first, share),
    Shape.LOGNORMAL: lambda share, middle, spread: np.exp(middle + spread * ndtri(share)),
}
_MEANS: Mapping[Shape, Callable[..., float]] = {
    Shape.FIXED: lambda value: value,
    Shape.UNIFORM: lambda low, high: (low + high) / 2,
    Shape.TRIANGULAR: lambda low, mode, high: (low + mode + high) / 3,
    Shape.PERT: lambda a, b, low, high: low + (high - low) * a / (a + b),
    Shape.BETA: lambda a, b, low, high: low + (high - low) * a / (a + b),
    Shape.GAMMA: lambda first, scale: first * scale,
    Shape.LOGNORMAL: lambda middle, spread: math.exp(middle + spread**2 / 2),
}
