"""What a roll-out showed: a mixed model of sets with period effects, and a shuffle of the order that was drawn."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from scipy.special import ndtr, stdtr

from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import Matrix, fit_mixed_logistic
from cubital.stats.segmented import student_quantile

MOST_ORDERS = 20_000  # beyond this many orders, that many are drawn


@dataclass(frozen=True)
class SteppedCell:
    """Events among sets (n above 0) of one unit in one period; ``exposed`` once the unit works with the change."""

    unit: str
    period: int
    exposed: bool
    events: int
    n: int

    def __post_init__(self) -> None:
        if self.n < 1 or not 0 <= self.events <= self.n:
            raise ValueError(f"the counts of unit '{self.unit}' in period {self.period} are impossible")


@dataclass(frozen=True)
class SteppedEffect:
    """The odds ratio of the change, period and unit allowed for, with ``interval`` and two-sided ``p``.

    ``unit_sd`` is how far units differ in log odds; ``periods`` their odds ratios against the first period in order.
    ``df`` are Student's degrees of freedom, none for the normal distribution.
    """

    odds_ratio: float
    interval: Interval
    p: float
    unit_sd: float
    periods: tuple[float, ...]
    units: int
    df: int | None


@dataclass(frozen=True)
class OrderShuffle:
    """How often another order would have looked as large.

    ``estimate`` is the mean difference of shares (with minus without the change) within periods; ``p`` its two-sided
    chance over ``ways`` orders, ``exact`` whether these were all there are.
    """

    estimate: float
    p: float
    ways: int
    exact: bool


def fit_roll_out(cells: Sequence[SteppedCell], *, level: float = 0.95, student: bool = True) -> SteppedEffect:
    """A logistic model with a level per period, the change, and units that resemble themselves (random intercepts).

    Parameters
    ----------
    cells : one per unit and period that has sets; those of phasing in may be left out.
    student : takes Student's t with units − 2 degrees of freedom, as few units make the normal one too sure.

    Raises
    ------
    NotIdentifiable
        ``rank`` where every unit starts in the same period: change and period cannot be told apart; ``events`` or
        ``separation`` where the counts cannot say.

    References
    ----------
    Hussey MA, Hughes JP, Contemp Clin Trials 2007;28:182-191; Li P, Redden DT, BMC Med Res Methodol 2015;15:38
    (degrees of freedom between and within; units − 2 is the simple choice, from memory).
    """
    units = sorted({cell.unit for cell in cells})
    times = sorted({cell.period for cell in cells})
    if len(units) < 3:
        raise ValueError("a roll-out over fewer than three units cannot be told from the units themselves")
    design = [[1.0, float(cell.exposed), *(float(cell.period == at) for at in times[1:])] for cell in cells]
    fit = fit_mixed_logistic(
        [cell.events for cell in cells],
        [cell.n for cell in cells],
        design,
        [units.index(cell.unit) for cell in cells],
    )
    df = len(units) - 2 if student else None
    effect, error = float(fit.coefficients[1]), float(fit.errors[1])
    reach = student_quantile(level, df) * error
    score = abs(effect) / error
    return SteppedEffect(
        odds_ratio=math.exp(effect),
        interval=Interval(math.exp(effect - reach), math.exp(effect + reach), level, "mixed logistic with periods"),
        p=2 * float(ndtr(-score) if df is None else stdtr(df, -score)),
        unit_sd=fit.group_sd,
        periods=tuple(float(one) for one in np.exp(fit.coefficients[2:])),
        units=len(units),
        df=df,
    )


def shuffle_order(cells: Sequence[SteppedCell], *, seed: int = 1) -> OrderShuffle:
    """Tests the change by dealing the starts out to the units in every other way (or ``MOST_ORDERS`` drawn by lot).

    Valid however the counts are spread, because the order itself was drawn. Every unit needs a cell in every period
    and must stay exposed once it is (``ValueError``).

    References: Thompson JA et al., Stat Med 2018;37:2487-2500 (comparison within periods).
    """
    events, n, exposure = _tables(cells)
    patterns, which = np.unique(exposure, axis=0, return_inverse=True)
    which = which.ravel()
    sizes = np.bincount(which)
    ways = math.factorial(len(which)) // math.prod(math.factorial(int(size)) for size in sizes)
    seen = _within_periods(events, n, patterns[which])
    if ways <= MOST_ORDERS:
        orders = list(_orders(tuple(int(size) for size in sizes)))
    else:
        random = np.random.default_rng(seed)
        orders = [which, *(random.permutation(which) for _draw in range(MOST_ORDERS - 1))]
    found = np.array([_within_periods(events, n, patterns[order]) for order in orders])
    return OrderShuffle(seen, float((np.abs(found) >= abs(seen) - 1e-12).mean()), len(orders), ways <= MOST_ORDERS)


def _tables(cells: Sequence[SteppedCell]) -> tuple[Matrix, Matrix, Matrix]:
    units = sorted({cell.unit for cell in cells})
    times = sorted({cell.period for cell in cells})
    shape = (len(units), len(times))
    events, n, exposure = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    for cell in cells:
        at = units.index(cell.unit), times.index(cell.period)
        events[at] += cell.events
        n[at] += cell.n
        exposure[at] = cell.exposed
    if (n == 0).any() or (np.diff(exposure, axis=1) < 0).any():
        raise ValueError("each unit needs sets in each period, and stays with the change once it began")
    return events, n, exposure


def _within_periods(events: Matrix, n: Matrix, exposure: Matrix) -> float:
    """Differences of pooled shares within periods, weighted by the sets that can be compared; 0 where none can."""
    with_change = (n * exposure).sum(axis=0)
    without = n.sum(axis=0) - with_change
    both = (with_change > 0) & (without > 0)
    if not both.any():
        return 0.0
    hit = (events * exposure).sum(axis=0)
    missed = events.sum(axis=0) - hit
    weight = (with_change * without / (with_change + without))[both]
    return float(weight @ (hit[both] / with_change[both] - missed[both] / without[both]) / weight.sum())


def _orders(sizes: tuple[int, ...]) -> Iterator[np.ndarray[tuple[int], np.dtype[np.int64]]]:
    """Every way to deal patterns 0, 1, … (so many of each) to units."""
    units = sum(sizes)
    order = np.zeros(units, dtype=np.int64)

    def place(pattern: int, free: tuple[int, ...]) -> Iterator[np.ndarray[tuple[int], np.dtype[np.int64]]]:
        if pattern == len(sizes):
            yield order.copy()
            return
        for chosen in combinations(free, sizes[pattern]):
            order[list(chosen)] = pattern
            yield from place(pattern + 1, tuple(unit for unit in free if unit not in chosen))

    yield from place(0, tuple(range(units)))
