"""Which hours? Contamination by hour of the week, and the stretch of hours that would cover most of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cubital.stats.two_proportions import Comparison, difference_newcombe
from cubital.stats.week_profile import Counts, Stretches, WeekProfile, best_stretch, smooth_week

EVERY_DAY = tuple(range(7))


@dataclass(frozen=True, kw_only=True)
class HoursPolicy:
    """Local policy: contaminated sets needed before hours are chosen, draws a cell must be worth to be shown, the
    chance from which another stretch counts as as good, and the minutes that one set takes one collector.

    ``minutes_per_set`` is an example value; all four are common practice, no source.
    """

    min_events: int = 20
    min_draws: int = 20
    as_good: float = 0.1
    minutes_per_set: int = 15


@dataclass(frozen=True, kw_only=True)
class HoursMaterial:
    """Contaminated and counted sets by weekday (0 is Monday) and hour, 7 × 24; ``untimed`` sets have no hour.

    ``weeks`` is how many weeks they were drawn in; none where that is not known.
    """

    contaminated: Counts
    sets: Counts
    untimed: int = 0
    weeks: float | None = None


@dataclass(frozen=True, kw_only=True)
class Workload:
    """Sets an hour inside the stretch: on average and in its busiest hour, and what one collector can draw an hour."""

    average: float
    busiest: float
    busiest_hour: int
    one_collector: float


@dataclass(frozen=True, kw_only=True)
class HoursReading:
    """The profile, and the chosen stretch: ``length`` hours from ``start`` on ``days``.

    ``inside`` and ``outside`` are contaminated and counted sets. ``difference`` is the share inside minus that outside,
    ``others`` the starts that are about as good. None of both where there are too few contaminated sets.
    """

    material: HoursMaterial
    policy: HoursPolicy
    length: int
    days: tuple[int, ...]
    profile: WeekProfile
    stretches: Stretches
    inside: tuple[int, int]
    outside: tuple[int, int]
    difference: Comparison | None
    others: tuple[int, ...]
    workload: Workload | None

    @property
    def start(self) -> int:
        """The hour at which the chosen stretch begins."""
        return self.stretches.chosen

    @property
    def total(self) -> tuple[int, int]:
        """Contaminated and counted sets with a known hour."""
        return int(self.material.contaminated.sum()), int(self.material.sets.sum())

    @property
    def enough(self) -> bool:
        """Whether there are enough contaminated sets to choose hours by."""
        return self.total[0] >= self.policy.min_events

    def inside_cell(self, day: int, hour: int) -> bool:
        """Whether an hour of the week lies in the chosen stretch."""
        return bool(_inside_mask(self.start, self.length, self.days)[day, hour])


def read_hours(
    material: HoursMaterial, *, length: int = 12, days: Sequence[int] = EVERY_DAY, policy: HoursPolicy | None = None
) -> HoursReading:
    """Reads the profile and the best stretch of ``length`` hours (1 to 23) on ``days`` (0 is Monday)."""
    policy = policy or HoursPolicy()
    chosen_days = tuple(sorted(set(days)))
    stretches = best_stretch(material.contaminated, material.sets, length=length, days=chosen_days)
    mask = _inside_mask(stretches.chosen, length, chosen_days)
    inside = int(material.contaminated[mask].sum()), int(material.sets[mask].sum())
    outside = int(material.contaminated[~mask].sum()), int(material.sets[~mask].sum())
    both = inside[1] > 0 and outside[1] > 0
    return HoursReading(
        material=material, policy=policy, length=length, days=chosen_days,
        profile=smooth_week(material.contaminated, material.sets), stretches=stretches, inside=inside, outside=outside,
        difference=difference_newcombe(*inside, x2=outside[0], n2=outside[1]) if both else None,
        others=_others(stretches, policy), workload=_workload(material, mask, policy),
    )  # fmt: skip


def _inside_mask(start: int, length: int, days: Sequence[int]) -> np.ndarray[tuple[int, int], np.dtype[np.bool_]]:
    mask = np.zeros(7 * 24, dtype=bool)
    for day in days:
        mask[(day * 24 + start + np.arange(length)) % len(mask)] = True
    return mask.reshape(7, 24)


def _others(stretches: Stretches, policy: HoursPolicy) -> tuple[int, ...]:
    likely = [hour for hour in range(24) if hour != stretches.chosen and stretches.best[hour] >= policy.as_good]
    return tuple(sorted(likely, key=lambda hour: -float(stretches.best[hour])))


def _workload(
    material: HoursMaterial, mask: np.ndarray[tuple[int, int], np.dtype[np.bool_]], policy: HoursPolicy
) -> Workload | None:
    if not material.weeks or not mask.any():
        return None
    by_hour = np.where(mask, material.sets, 0).sum(axis=0) / np.maximum(1, mask.sum(axis=0)) / material.weeks
    return Workload(
        average=float(material.sets[mask].mean() / material.weeks), busiest=float(by_hour.max()),
        busiest_hour=int(by_hour.argmax()), one_collector=60 / policy.minutes_per_set,
    )  # fmt: skip
