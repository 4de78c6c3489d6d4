"""Which shifts of a week a dedicated collector should work: what they reach, and what finds the collector busy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from cubital.answers.hours_reading import HoursMaterial
from cubital.stats.coverage import WEEK, Cover, best_shifts
from cubital.stats.erlang import calls_and_collectors
from cubital.stats.week_profile import smooth_week

_AGAIN = 100
_SEED = 1
Values = np.ndarray[Any, np.dtype[Any]]  # 168 hours of the week, from Monday 00:00


@dataclass(frozen=True, kw_only=True)
class CoverAsk:
    """``shifts`` shifts of ``length`` hours a week for ``collectors`` who need ``minutes_per_set`` each; ``risk`` is
    the relative risk of contamination when they draw (low, likely, high), below 1. ``min_events`` contaminated sets
    are needed before hours are chosen."""

    shifts: int = 7
    length: int = 12
    collectors: int = 1
    minutes_per_set: float = 15.0
    risk: tuple[float, float, float] | None = None
    min_events: int = 20


@dataclass(frozen=True, kw_only=True)
class CoverReading:
    """What the chosen shifts hold. Everything per year is in sets.

    ``inside`` are contaminated and counted sets drawn in the shifts' hours, ``reached`` the share of the sets there
    that do not find every collector busy, ``busiest_lost`` the share that does in the worst hour, ``busy`` the share of
    the paid time that is drawing. ``expected`` is the share of contaminated sets inside once what choosing the best
    adds by itself is taken off. ``averted`` is low, likely and high where a relative risk was given.
    """

    ask: CoverAsk
    material: HoursMaterial
    cover: Cover
    inside: tuple[int, int]
    total: tuple[int, int]
    reached: float
    busiest_lost: float
    busy: float
    expected: float
    per_year: float
    averted: tuple[float, float, float] | None

    @property
    def enough(self) -> bool:
        """Whether there are contaminated sets enough to choose hours by."""
        return self.total[0] >= self.ask.min_events

    @property
    def hours_a_week(self) -> int:
        """Hours that are paid."""
        return len(self.cover.starts) * self.ask.length * self.ask.collectors


def read_cover(material: HoursMaterial, ask: CoverAsk) -> CoverReading:
    """Chooses the shifts by the smoothed risk of every hour times what a collector can take then.

    ``ValueError`` where the weeks over which the sets were drawn are not known, or for more shifts than fit.
    """
    if not material.weeks or material.weeks <= 0:
        raise ValueError("over how many weeks the sets were drawn has to be known")
    taken, lost = _takes(material, ask)
    cover = best_shifts(
        _worth(material.contaminated.ravel(), material.sets.ravel(), taken), length=ask.length, shifts=ask.shifts
    )
    hours = hours_of(cover, ask.length)
    bad, sets = material.contaminated.ravel(), material.sets.ravel()
    inside = int(bad[hours].sum()), int(sets[hours].sum())
    total = int(bad.sum()), int(sets.sum())
    per_year = total[0] / material.weeks * 365.25 / 7
    expected = _without_choice(material, ask, taken, inside[0]) / total[0] if total[0] else 0.0
    reached = float((sets[hours] * taken[hours]).sum() / inside[1]) if inside[1] else 0.0
    return CoverReading(
        ask=ask, material=material, cover=cover, inside=inside, total=total, reached=reached,
        busiest_lost=float(lost[hours].max()) if len(hours) else 0.0,
        busy=_busy(sets, taken, hours, material.weeks, ask), expected=expected, per_year=per_year,
        averted=_averted(ask, per_year * expected * reached),
    )  # fmt: skip


def hours_of(cover: Cover, length: int) -> Values:
    """Every hour of the week that lies in a shift."""
    found = [(start + step) % WEEK for start in cover.starts for step in range(length)]
    return np.array(sorted(set(found)), dtype=np.int64)


def _takes(material: HoursMaterial, ask: CoverAsk) -> tuple[Values, Values]:
    """For every hour the share of its sets that a collector can take, and the share that finds all of them busy."""
    weeks = material.weeks or 1.0
    lost = np.array([
        calls_and_collectors(
            calls / weeks, minutes_per_call=ask.minutes_per_set, collectors=ask.collectors
        ).lost
        for calls in material.sets.ravel().tolist()
    ])  # fmt: skip
    return 1 - lost, lost


def _worth(contaminated: Values, sets: Values, taken: Values) -> Values:
    """Contaminated sets to be expected in each hour (its sets times the smoothed share), times what is taken."""
    share = np.nan_to_num(smooth_week(contaminated.reshape(7, 24), sets.reshape(7, 24)).share.ravel())
    return np.asarray(sets.ravel() * share * taken)


def _without_choice(material: HoursMaterial, ask: CoverAsk, taken: Values, seen: int) -> float:
    """Contaminated sets inside less what choosing the best adds: hours chosen on events drawn again, judged on both."""
    bad, sets = material.contaminated.ravel(), material.sets.ravel()
    total = int(bad.sum())
    if not total:
        return 0.0
    random = np.random.default_rng(_SEED)
    gains = []
    for drawn in random.multinomial(total, bad / total, size=_AGAIN):
        again = np.minimum(drawn, sets)
        chosen = best_shifts(_worth(again, sets, taken), length=ask.length, shifts=ask.shifts)
        hours = hours_of(chosen, ask.length)
        gains.append(float(again[hours].sum() - bad[hours].sum()))
    return max(0.0, seen - max(0.0, float(np.mean(gains))))


def _busy(sets: Values, taken: Values, hours: Values, weeks: float, ask: CoverAsk) -> float:
    if not len(hours):
        return 0.0
    minutes = float((sets[hours] * taken[hours]).sum()) / weeks * ask.minutes_per_set
    return minutes / (60 * len(hours) * ask.collectors)


def _averted(ask: CoverAsk, contaminated: float) -> tuple[float, float, float] | None:
    """Low, likely and high: a high relative risk averts least."""
    if ask.risk is None:
        return None
    low, likely, high = ask.risk
    return contaminated * (1 - high), contaminated * (1 - likely), contaminated * (1 - low)
