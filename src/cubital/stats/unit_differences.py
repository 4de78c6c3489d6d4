"""Difference-in-differences over several units a side: errors by unit, an exact shuffle of units, and lines before."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from scipy.special import stdtr

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import Matrix, NotIdentifiable, Whole
from cubital.stats.robust_errors import Errors, cluster_meat
from cubital.stats.segmented import student_quantile
from cubital.stats.segmented_counts import fit_counts

Picks = np.ndarray[tuple[int, int], np.dtype[np.int64]]

MOST_SHUFFLES = 20_000  # beyond this many ways to deal the change out, that many are drawn


class TooFewUnits(ValueError):
    """Fewer than two units with the change, or fewer than two without it: chance between units cannot be seen."""


@dataclass(frozen=True)
class UnitRow:
    """Events among sets (n above 0) of one unit in one stretch of time.

    ``treated`` says whether the unit ever gets the change, ``after`` whether the stretch lies after it; ``time`` is the
    month's position, used for lines before the change only.
    """

    unit: str
    treated: bool
    after: bool
    events: int
    n: int
    time: int = 0

    def __post_init__(self) -> None:
        if self.n < 1 or not 0 <= self.events <= self.n:
            raise ValueError(f"the counts of unit '{self.unit}' are impossible")


@dataclass(frozen=True)
class UnitEffect:
    """A ratio of odds ratios with its ``interval`` and two-sided ``p`` by Student's t with ``df`` degrees of freedom.

    ``units`` are the treated and the other units that took part.
    """

    estimate: float
    interval: Interval
    p: float
    df: int
    units: tuple[int, int]


@dataclass(frozen=True)
class Shuffle:
    """How often a change dealt out to other units would have looked as large.

    ``estimate`` is the mean change of share over treated units minus that over the others (each unit counts once);
    ``p`` the two-sided chance, ``least_p`` the smallest it could have been with so few units: where that is above 0.05
    no result can convince. ``ways`` is how many were looked at, ``exact`` whether these were all.
    """

    estimate: float
    p: float
    least_p: float
    ways: int
    exact: bool


def cluster_differences(rows: Sequence[UnitRow], *, level: float = 0.95) -> UnitEffect:
    """The ratio of odds ratios from a logistic model with one level per unit, errors by unit.

    Units without sets in both periods are left out, and so are units without any event (or with nothing else), which
    cannot say by what factor they changed. At least two units a side must remain (``TooFewUnits``).

    Notes
    -----
    Sandwich errors by unit times G/(G−1) · (r−1)/(r−p−1), p counting the columns beside the units' levels, Student's t
    with G − 2 degrees of freedom. With few units they can still be too short; ``shuffle_units`` is the check.

    References
    ----------
    Liang KY, Zeger SL, Biometrika 1986;73:13-22. Cameron AC, Miller DL, J Hum Resour 2015;50:317-372. Bertrand M, Duflo
    E, Mullainathan S, Q J Econ 2004;119:249-275.
    """
    kept = _telling(_whole_units(rows))
    names = sorted({row.unit for row in kept})
    group = np.array([names.index(row.unit) for row in kept], dtype=np.int64)
    after = np.array([float(row.after) for row in kept])
    exposed = np.array([float(row.after and row.treated) for row in kept])
    design = np.column_stack([exposed, after, *(group == at for at in range(len(names)))]).astype(float)
    estimate, error = _clustered(kept, design, group, column=0)
    sides = _sides(kept)
    return _effect(estimate, error, df=len(names) - 2, sides=sides, level=level)


def lines_before(rows: Sequence[UnitRow], *, level: float = 0.95) -> UnitEffect:
    """Whether the two sides moved alike before the change: the ratio of their monthly odds ratios, 1 where they did.

    Uses rows before the change only, in at least three months (``ValueError``). A ratio far from 1 takes the ground
    from a difference-in-differences; one near 1 with a wide interval proves little.
    """
    kept = [row for row in rows if not row.after]
    if len({row.time for row in kept}) < 3:
        raise ValueError("a line before the change needs three months")
    kept = _telling(kept)
    names = sorted({row.unit for row in kept})
    group = np.array([names.index(row.unit) for row in kept], dtype=np.int64)
    time = np.array([float(row.time) for row in kept])
    time = time - time.mean()
    treated = np.array([float(row.treated) for row in kept])
    design = np.column_stack([time * treated, time, *(group == at for at in range(len(names)))]).astype(float)
    estimate, error = _clustered(kept, design, group, column=0)
    return _effect(estimate, error, df=len(names) - 2, sides=_sides(kept), level=level)


@dataclass(frozen=True)
class Placebo:
    """What would have been found had the change come at ``time``, before it really came: nothing, if all is well."""

    time: int
    effect: UnitEffect


def placebo_changes(rows: Sequence[UnitRow], *, least: int = 3, level: float = 0.95) -> tuple[Placebo, ...]:
    """Pretends, with rows before the change only, that it came at each month that has ``least`` months on either side.

    A month at which the units' counts cannot say is left out; so many looks find one in twenty by chance. None where
    there are too few months (``ValueError`` for ``least`` below 1).
    """
    if least < 1:
        raise ValueError("a month is needed on either side")
    before = [row for row in rows if not row.after]
    times = sorted({row.time for row in before})
    found = []
    for time in times[least : len(times) - least + 1]:
        try:
            effect = cluster_differences([replace(row, after=row.time >= time) for row in before], level=level)
        except (TooFewUnits, NotIdentifiable):
            continue
        found.append(Placebo(time, effect))
    return tuple(found)


def shuffle_units(rows: Sequence[UnitRow], *, seed: int = 1) -> Shuffle:
    """Deals the change out to every other choice of as many units, and counts how often it looks as large.

    Exact where there are at most ``MOST_SHUFFLES`` ways; otherwise that many are drawn with ``seed`` and the seen one
    is counted among them. Units without sets in both periods are left out (``TooFewUnits`` below two a side).

    References: Fisher RA, The Design of Experiments, 1935; Rosenbaum PR, Stat Sci 2002;17:286-327.
    """
    kept = _whole_units(rows)
    names = sorted({row.unit for row in kept})
    change = np.array([_change(kept, name) for name in names])
    chosen = [at for at, name in enumerate(names) if next(row.treated for row in kept if row.unit == name)]
    total = math.comb(len(names), len(chosen))
    if total <= MOST_SHUFFLES:
        picks = np.array(list(combinations(range(len(names)), len(chosen))))
    else:
        random = np.random.default_rng(seed)
        drawn = random.permuted(np.tile(np.arange(len(names)), (MOST_SHUFFLES - 1, 1)), axis=1)[:, : len(chosen)]
        picks = np.vstack([[chosen], drawn])
    seen = float(_contrast(change, np.array([chosen]))[0])
    found = _contrast(change, picks)
    as_large = int((np.abs(found) >= abs(seen) - 1e-12).sum())
    return Shuffle(
        estimate=seen,
        p=as_large / len(picks),
        least_p=(2 if 2 * len(chosen) == len(names) else 1) / total,
        ways=len(picks),
        exact=total <= MOST_SHUFFLES,
    )


def _contrast(change: Values, picks: Picks) -> Values:
    inside = change[picks].sum(axis=1)
    many, few = len(change), picks.shape[1]
    return np.asarray(inside / few - (change.sum() - inside) / (many - few))


def _change(rows: Sequence[UnitRow], unit: str) -> float:
    """After minus before of one unit's share."""
    totals = {(row.after): [0, 0] for row in rows if row.unit == unit}
    for row in rows:
        if row.unit == unit:
            totals[row.after][0] += row.events
            totals[row.after][1] += row.n
    return totals[True][0] / totals[True][1] - totals[False][0] / totals[False][1]


def _whole_units(rows: Sequence[UnitRow]) -> list[UnitRow]:
    periods: dict[str, set[bool]] = {}
    for row in rows:
        periods.setdefault(row.unit, set()).add(row.after)
    kept = [row for row in rows if len(periods[row.unit]) == 2]
    _refuse_few(kept)
    return kept


def _telling(rows: Sequence[UnitRow]) -> list[UnitRow]:
    """Rows of units that have events and sets without one."""
    events, sets = dict.fromkeys((row.unit for row in rows), 0), dict.fromkeys((row.unit for row in rows), 0)
    for row in rows:
        events[row.unit] += row.events
        sets[row.unit] += row.n
    kept = [row for row in rows if 0 < events[row.unit] < sets[row.unit]]
    _refuse_few(kept)
    return kept


def _sides(rows: Sequence[UnitRow]) -> tuple[int, int]:
    treated = {row.unit for row in rows if row.treated}
    return len(treated), len({row.unit for row in rows} - treated)


def _refuse_few(rows: Sequence[UnitRow]) -> None:
    if min(_sides(rows)) < 2:
        raise TooFewUnits("two units with the change and two without are needed, each with sets before and after")


def _clustered(rows: Sequence[UnitRow], design: Matrix, group: Whole, *, column: int) -> tuple[float, float]:
    """The log of one effect and its error by unit."""
    events, n = np.array([row.events for row in rows], float), np.array([row.n for row in rows], float)
    fit = fit_counts(events, n, design, errors=Errors.MODEL)
    meat = cluster_meat(design * (events - fit.fitted)[:, None], group)
    groups, many, wide = int(group.max()) + 1, design.shape[0], design.shape[1]
    # Each unit's own level lies within its group and costs no degree of freedom: counting it would double the errors.
    factor = groups / (groups - 1) * (many - 1) / (many - (wide - groups) - 1)
    covariance = factor * fit.covariance @ meat @ fit.covariance
    return float(fit.coefficients[column]), math.sqrt(max(0.0, float(covariance[column, column])))


def _effect(estimate: float, error: float, *, df: int, sides: tuple[int, int], level: float) -> UnitEffect:
    reach = student_quantile(level, df) * error
    span = Interval(math.exp(estimate - reach), math.exp(estimate + reach), level, "errors by unit, Student's t")
    p = 2 * float(stdtr(df, -abs(estimate) / error)) if error > 0 else 1.0
    return UnitEffect(math.exp(estimate), span, p, df, sides)
