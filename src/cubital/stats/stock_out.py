"""When something runs out: exact chances day by day from a daily demand that varies, with deliveries on known days."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

MOST_PLACES = 20_000  # amounts above are followed in equal portions, which is finer than any daily use matters

Whole = np.ndarray[tuple[int], np.dtype[np.int64]]
Chances = np.ndarray[tuple[int], np.dtype[np.float64]]


@dataclass(frozen=True)
class DailyDemand:
    """So much a day on average with that variance; a variance above the mean makes single days heavier."""

    mean: float
    variance: float

    def __post_init__(self) -> None:
        if not (self.mean >= 0 and np.isfinite([self.mean, self.variance]).all() and self.variance >= 0):
            raise ValueError("a mean and a variance of zero or more are needed")


@dataclass(frozen=True)
class StockPath:
    """``out[d]`` is the chance that by the end of day d (0 is the first) a demand could not be met; it never falls.

    ``mean_left[d]`` is the mean of what is left then, runs that ran out counting as nothing.
    """

    out: Chances
    mean_left: Chances

    def day_by(self, chance: float) -> int | None:
        """The first day by whose end the chance of having run out reaches ``chance``; none within these days."""
        found = np.flatnonzero(self.out >= chance)
        return int(found[0]) if len(found) else None


def fit_demand(used: Whole) -> DailyDemand:
    """Mean and variance of daily use; ``ValueError`` for fewer than two days or negative numbers."""
    days = np.asarray(used)
    if days.ndim != 1 or len(days) < 2 or (days < 0).any():
        raise ValueError("the use of two days or more is needed, none below zero")
    return DailyDemand(mean=float(days.mean()), variance=float(days.var(ddof=1)))


def demand_chances(demand: DailyDemand, *, most: int) -> Chances:
    """The chance of each daily demand from 0 to ``most``; the last one holds everything at ``most`` and above.

    A negative binomial with that mean and variance; a Poisson where the variance is not above the mean.
    """
    from scipy import stats

    numbers = np.arange(most)
    if demand.mean == 0:
        chances = np.zeros(most)
        chances[:1] = 1.0
    elif demand.variance <= demand.mean:
        chances = stats.poisson.pmf(numbers, demand.mean)
    else:
        size = demand.mean**2 / (demand.variance - demand.mean)
        chances = stats.nbinom.pmf(numbers, size, size / (size + demand.mean))
    return np.append(chances, max(0.0, 1.0 - chances.sum()))


def stock_path(stock: int, demand: DailyDemand, *, days: int, deliveries: Mapping[int, int] | None = None) -> StockPath:
    """Follows the stock through ``days`` days.

    Parameters
    ----------
    stock
        What is there before the first day, zero or more.
    demand
        The same for every day, each day by itself.
    days
        One or more.
    deliveries
        What arrives at the start of a day, by day (0 is the first).

    Returns
    -------
    StockPath
        With arrays of ``days`` values.

    Raises
    ------
    ValueError
        For negative numbers or days outside.

    Notes
    -----
    The distribution of what is left is carried exactly from day to day: it is convolved with the demand, and what
    falls below zero has run out and stays so. Above ``MOST_PLACES`` it is followed in equal portions with a normal
    demand, which at such amounts is the same to a day.

    Examples
    --------
    >>> path = stock_path(30, DailyDemand(10.0, 10.0), days=6)
    >>> path.day_by(0.5)
    3
    """
    arriving = dict(deliveries or {})
    if stock < 0 or days < 1 or any(not 0 <= day < days or amount < 0 for day, amount in arriving.items()):
        raise ValueError("a stock of zero or more, one day or more, and deliveries within these days are needed")
    portion = max(1, -(-(stock + sum(arriving.values())) // MOST_PLACES))
    arriving = {day: amount // portion for day, amount in arriving.items()}
    most = stock // portion + sum(arriving.values())
    chances = _portioned(demand, portion, most=most + 1)
    left = np.zeros(most + 1)
    left[stock // portion] = 1.0
    gone, out, means = 0.0, [], []
    for day in range(days):
        left = _shifted(left, arriving.get(day, 0))
        before = left.sum()
        left = _after_demand(left, chances)
        gone += max(0.0, before - left.sum())
        out.append(gone)
        means.append(float(left @ np.arange(most + 1)) * portion)
    return StockPath(out=np.clip(np.maximum.accumulate(out), 0.0, 1.0), mean_left=np.array(means))


def _portioned(demand: DailyDemand, portion: int, *, most: int) -> Chances:
    """The chances of a day's demand in portions; exact where a portion is one."""
    if portion == 1:
        return demand_chances(demand, most=most)
    from scipy import stats

    spread = max(np.sqrt(max(demand.variance, demand.mean)), 1e-9) / portion
    edges = stats.norm.cdf(np.arange(most) + 0.5, demand.mean / portion, spread)
    chances = np.diff(np.concatenate(([0.0], edges)))
    return np.append(chances, max(0.0, 1.0 - edges[-1]))


def _shifted(left: Chances, amount: int) -> Chances:
    return left if amount == 0 else np.concatenate((np.zeros(amount), left[: len(left) - amount]))


def _after_demand(left: Chances, chances: Chances) -> Chances:
    """What may be left after a day: left[s] goes to left[s - x] with the chance of a demand of x, for x up to s."""
    from scipy.signal import fftconvolve

    most = len(left) - 1
    # The sum over x of left[s + x] chances[x] is the convolution with the demand turned round.
    found = fftconvolve(left, chances[: most + 1][::-1])[most:]
    return np.asarray(np.clip(found, 0.0, None))
