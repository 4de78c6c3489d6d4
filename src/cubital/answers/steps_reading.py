"""Which step is left out, as far as watched draws can tell: intervals, many steps at once, observers, coverage."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.observation_sheets import Seen, Sheet
from cubital.answers.observers_reading import (
    ManyReading,
    ObserverReading,
    read_many_observers,
    read_two_observers,
    watched_together,
)
from cubital.stats.assurance import observations_for_assurance
from cubital.stats.interval import Interval
from cubital.stats.multiplicity import adjust_p_values
from cubital.stats.proportions import wilson_interval
from cubital.stats.ranks import rank_places
from cubital.stats.shrinkage import BetaPrior
from cubital.stats.tails import chance_at_most

NIGHT = (19, 7)  # from 19:00 to 07:00; common practice, no source
SATURDAY = 5


@dataclass(frozen=True, kw_only=True)
class StepsPolicy:
    """Local policy: the share of draws in which a step should be done, and when something may be said.

    ``level`` is that of a finding; ``min_joint`` the least of joint observations before two observers are compared;
    agreement beyond chance below ``poor_kappa`` is called poor; ``assurance`` is asked of "how many more".
    """

    target: float = 0.8
    level: float = 0.05
    min_joint: int = 20
    poor_kappa: float = 0.6
    assurance: float = 0.9


@dataclass(frozen=True, kw_only=True)
class StepReading:
    """One step over the draws in which it could be read: ``yes`` of ``seen``.

    ``chance`` is how often so few would be done were the target met, ``adjusted`` the same when all steps were asked
    about at once (Holm); ``lowest`` the chance that this step is the one most often left out. All none where nothing
    was seen of it.
    """

    step: str
    yes: int
    seen: int
    not_seen: int
    unreadable: int
    interval: Interval | None
    chance: float | None
    adjusted: float | None
    lowest: float | None

    @property
    def share(self) -> float | None:
        """Share of readable draws in which it was done."""
        return self.yes / self.seen if self.seen else None

    def below(self, policy: StepsPolicy) -> bool:
        """Whether it can be said to be below target, all steps together considered."""
        return self.adjusted is not None and self.adjusted <= policy.level


@dataclass(frozen=True, kw_only=True)
class Coverage:
    """When the draws were watched: ``nights`` and ``weekends`` of ``timed`` draws; ``weekday_mornings`` likewise."""

    draws: int
    timed: int
    nights: int
    weekends: int
    weekday_mornings: int
    without_policy: int
    units: tuple[tuple[str, int], ...]
    roles: tuple[tuple[str, int], ...]


@dataclass(frozen=True, kw_only=True)
class StepsReading:
    """Everything that follows from the sheets. Steps come in the order of the sheets.

    ``joint`` holds agreement between two observers, ``many`` that among more of them; one of the two is empty.
    """

    steps: tuple[StepReading, ...]
    joint: tuple[ObserverReading, ...]
    many: tuple[ManyReading, ...]
    joint_draws: int
    observers: int
    coverage: Coverage
    policy: StepsPolicy

    @property
    def below(self) -> tuple[StepReading, ...]:
        """Steps that can be said to be below target."""
        return tuple(one for one in self.steps if one.below(self.policy))

    @property
    def lowest(self) -> StepReading | None:
        """The step most likely to be the one most often left out."""
        known = [one for one in self.steps if one.lowest is not None]
        return max(known, key=lambda one: one.lowest or 0.0, default=None)

    def step(self, name: str) -> StepReading:
        """One step by its name; ``KeyError`` where there is none."""
        for one in self.steps:
            if one.step == name:
                return one
        raise KeyError(name)


def read_steps(sheets: Sequence[Sheet], *, policy: StepsPolicy) -> StepsReading:
    """Reads the sheets. A draw watched by two counts once, by the first sheet; the others serve agreement."""
    firsts: dict[str, Sheet] = {}
    for sheet in sheets:
        firsts.setdefault(sheet.draw, sheet)
    steps = list(dict.fromkeys(step for sheet in sheets for step in sheet.marks))
    together = watched_together(sheets)
    observers = list(dict.fromkeys(sheet.observer for sheet in sheets if sheet.observer))
    two = len(observers) <= 2 and all(len(found) == 2 for found in together.values())
    first = observers[0] if observers else ""
    joint = [read_two_observers(step, together, first=first) for step in steps] if two else []
    many = [] if two else [read_many_observers(step, together) for step in steps]
    return StepsReading(
        steps=_steps(steps, list(firsts.values()), policy),
        joint=tuple(found for found in joint if found is not None),
        many=tuple(found for found in many if found is not None),
        joint_draws=len(together),
        observers=len(observers),
        coverage=_coverage(list(firsts.values())),
        policy=policy,
    )


def _steps(names: Sequence[str], draws: Sequence[Sheet], policy: StepsPolicy) -> tuple[StepReading, ...]:
    counts = {name: Counter(draw.marks.get(name, Seen.NOT_SEEN) for draw in draws) for name in names}
    yes = {name: count[Seen.YES] for name, count in counts.items()}
    seen = {name: count[Seen.YES] + count[Seen.NO] for name, count in counts.items()}
    known = [name for name in names if seen[name]]
    chances = [chance_at_most(yes[name], seen[name], rate=policy.target) for name in known]
    adjusted = dict(zip(known, adjust_p_values(chances, method="holm"), strict=True))
    # Half an observation each way (Jeffreys), so that a step always done is not certain to be so.
    shapes = [BetaPrior(yes[name] + 0.5, seen[name] - yes[name] + 0.5) for name in known]
    lowest = dict(zip(known, rank_places(shapes).lowest(), strict=True)) if known else {}
    alone = dict(zip(known, chances, strict=True))
    return tuple(
        StepReading(
            step=name, yes=yes[name], seen=seen[name], not_seen=counts[name][Seen.NOT_SEEN],
            unreadable=counts[name][Seen.UNREADABLE],
            interval=wilson_interval(yes[name], seen[name]) if seen[name] else None,
            chance=alone.get(name), adjusted=adjusted.get(name), lowest=lowest.get(name),
        )
        for name in names
    )  # fmt: skip


def _coverage(draws: Sequence[Sheet]) -> Coverage:
    timed = [draw.when for draw in draws if draw.when is not None]
    start, end = NIGHT
    return Coverage(
        draws=len(draws),
        timed=len(timed),
        nights=sum(when.hour >= start or when.hour < end for when in timed),
        weekends=sum(when.weekday() >= SATURDAY for when in timed),
        weekday_mornings=sum(when.weekday() < SATURDAY and end <= when.hour < 12 for when in timed),
        without_policy=sum(not draw.policy for draw in draws),
        units=tuple(Counter(draw.unit for draw in draws if draw.unit).most_common()),
        roles=tuple(Counter(draw.role for draw in draws if draw.role).most_common()),
    )


def more_needed(step: StepReading, policy: StepsPolicy, *, truth: float) -> int | None:
    """How many further draws of this step would exclude the target if ``truth`` is true; 0 where it is enough already.

    None where it is out of reach.
    """
    needed = observations_for_assurance(truth=truth, target=policy.target, assurance=policy.assurance)
    return None if needed is None else max(0, needed - step.seen)
