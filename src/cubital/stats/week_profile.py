"""Shares by hour of the week, smoothed, and the stretch of hours that holds most events.

The estimate of a cell is the share among its neighbours, the nearer the heavier (a local constant binomial likelihood;
Loader C, Local Regression and Likelihood, 1999, chapter 4). Its doubt counts the weights: with weights w and n
draws the variance is that of (sum wn)² / sum w²n draws.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cubital.stats.interval import normal_quantile

DAYS, HOURS = 7, 24
Week = np.ndarray[tuple[int, int], np.dtype[np.float64]]
Whole = np.ndarray[tuple[int], np.dtype[np.int64]]
Counts = np.ndarray[tuple[int, int], np.dtype[np.int64]]


@dataclass(frozen=True)
class WeekProfile:
    """Each 7 × 24 (Monday first): ``share`` with ``low`` and ``high``; not a number where no neighbour has a draw.

    ``draws`` is how many draws the estimate is worth.
    """

    share: Week
    low: Week
    high: Week
    draws: Week


@dataclass(frozen=True)
class Stretches:
    """Windows of the same length from every hour of the day (24 values each), on the same weekdays.

    ``events`` and ``sets`` are those inside. ``best`` is how often each start holds most events when the events are
    drawn again (ties are shared), ``expected`` the events inside the chosen one after taking off what choosing the
    best adds by itself. ``chance`` is how often the stretch chosen so holds as many more than its sets bring when every
    hour has the same share.
    """

    events: Whole
    sets: Whole
    best: np.ndarray[tuple[int], np.dtype[np.float64]]
    chosen: int
    expected: float
    chance: float


def smooth_week(
    events: Counts, n: Counts, *, hours: float = 1.5, other_day: float = 0.25, level: float = 0.95
) -> WeekProfile:
    """Smooths 7 × 24 counts over the hours (a Gaussian of ``hours`` standard deviation, around the clock and the week)
    and over days: another day counts ``other_day``, and only weekdays with weekdays, Saturday with Sunday.

    ``ValueError`` for another shape or impossible counts.
    """
    x, sizes = _checked(events, n)
    weights = _weights(hours, other_day)
    flat_n = sizes.ravel()
    heavy, squared = weights @ flat_n, weights**2 @ flat_n
    with np.errstate(invalid="ignore", divide="ignore"):
        share, draws = (weights @ x.ravel()) / heavy, heavy**2 / squared
        low, high = _wilson(share, draws, level)
    shape = (DAYS, HOURS)
    worth = np.where(heavy > 0, draws, 0.0)
    return WeekProfile(share.reshape(shape), low.reshape(shape), high.reshape(shape), worth.reshape(shape))


def _checked(events: Counts, n: Counts) -> tuple[Week, Week]:
    x, sizes = np.asarray(events, dtype=float), np.asarray(n, dtype=float)
    if x.shape != (DAYS, HOURS) or sizes.shape != (DAYS, HOURS) or (x < 0).any() or (x > sizes).any():
        raise ValueError("events among draws by weekday and hour, 7 by 24, are needed")
    return x, sizes


def _weights(hours: float, other_day: float) -> Week:
    place = np.arange(DAYS * HOURS)
    day, hour = np.divmod(place, HOURS)
    # Along the week, so that Monday 00:00 follows Sunday 23:00; along the day for other days of the same kind.
    week_apart = np.abs(np.subtract.outer(place, place))
    week_apart = np.minimum(week_apart, DAYS * HOURS - week_apart)
    day_apart = np.abs(np.subtract.outer(hour, hour))
    day_apart = np.minimum(day_apart, HOURS - day_apart)
    alike = np.equal.outer(day >= 5, day >= 5) & np.not_equal.outer(day, day)
    near = np.exp(-0.5 * (week_apart / hours) ** 2)
    across = np.where(alike, other_day * np.exp(-0.5 * (day_apart / hours) ** 2), 0.0)
    weights = np.maximum(near, across)
    return np.asarray(np.where(weights < 1e-4, 0.0, weights))


def _wilson(share: Week, n: Week, level: float) -> tuple[Week, Week]:
    z = normal_quantile(level)
    middle = (share + z**2 / (2 * n)) / (1 + z**2 / n)
    reach = z * np.sqrt(share * (1 - share) / n + z**2 / (4 * n**2)) / (1 + z**2 / n)
    return np.clip(middle - reach, 0, 1), np.clip(middle + reach, 0, 1)


def best_stretch(
    events: Counts, n: Counts, *, length: int, days: tuple[int, ...], draws: int = 2_000, seed: int = 1
) -> Stretches:
    """The stretch of ``length`` hours, beginning on each of ``days`` (0 is Monday), that holds most events.

    A stretch that runs past midnight goes on into the next day. The events are drawn again ``draws`` times from the
    cells as seen (a bootstrap, seed fixed) to see how often another stretch would have been best.
    """
    x, sizes = _checked(events, n)
    if not 1 <= length < HOURS or not days or set(days) - set(range(DAYS)):
        raise ValueError("1 to 23 hours on one weekday or more are needed")
    inside = _inside(length, days)
    seen = (inside @ x.ravel()).astype(np.int64)
    chosen = int(seen.argmax())
    total = int(x.sum())
    held = (inside @ sizes.ravel()).astype(np.int64)
    if not total:
        return Stretches(seen, held, np.full(HOURS, 1 / HOURS), chosen, 0.0, 1.0)
    random = np.random.default_rng(seed)
    again = random.multinomial(total, x.ravel() / total, size=draws) @ inside.T
    top = again.max(axis=1, keepdims=True)
    first = again == top
    best = (first / first.sum(axis=1, keepdims=True)).mean(axis=0)
    optimism = float((top[:, 0] - (first @ seen) / first.sum(axis=1)).mean())
    flat = random.multinomial(total, sizes.ravel() / sizes.sum(), size=draws) @ inside.T
    return Stretches(
        events=seen,
        sets=held,
        best=best,
        chosen=chosen,
        expected=max(0.0, float(seen[chosen]) - max(0.0, optimism)),
        chance=_chance_flat(flat, seen, total * held / sizes.sum()),
    )


def _chance_flat(again: Week, seen: Whole, usual: Week) -> float:
    """How often the fullest stretch of ``again`` (draws × 24) holds as many more than ``usual``, as its sets bring."""
    chosen, place = again.argmax(axis=1), int(seen.argmax())
    more = again[np.arange(len(again)), chosen] - usual[chosen]
    return float((1 + (more >= seen[place] - usual[place]).sum()) / (1 + len(again)))


def _inside(length: int, days: tuple[int, ...]) -> Week:
    """Which of the 168 cells lie in the stretch from each start (24 × 168)."""
    inside = np.zeros((HOURS, DAYS * HOURS))
    for start in range(HOURS):
        for day in days:
            places = (day * HOURS + start + np.arange(length)) % (DAYS * HOURS)
            inside[start, places] = 1
    return inside
