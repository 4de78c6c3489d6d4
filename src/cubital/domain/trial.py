"""A trial as it is agreed before its data exist: who is in which arm when, what is counted, and when it stops.

A plan is plain data with a fingerprint, so that anyone can see later whether what was done is what was written.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from enum import StrEnum
from typing import Any

SHAPE = "trial-plan/1"


class TrialDesign(StrEnum):
    """How units come to be in one arm or the other. The value is what stands in files and records."""

    WEEKS = "alternate_weeks"  # every unit has both in turn, week by week
    DAYS = "alternate_days"
    PARALLEL = "parallel_units"  # half of the units begin, the other half stay as they are
    STEPPED = "stepped"  # all units begin, one step after the other

    @property
    def in_turns(self) -> bool:
        """Whether every unit has both arms, so that it is its own comparison."""
        return self in (TrialDesign.WEEKS, TrialDesign.DAYS)


class Spending(StrEnum):
    """How the chance of a false finding is spent over several looks."""

    CAUTIOUS = "obrien_fleming"  # hardly any at the start
    EVEN = "pocock"  # about the same at each look


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """``facility`` and ``unit`` (current key) are in ``arm`` (0 usual, 1 new) from ``first`` to ``last``, both
    included; ``place`` is the unit in words.
    """

    facility: str
    unit: str
    place: str
    first: date
    last: date
    arm: int

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"{self.place} ends on {self.last} before it begins on {self.first}")
        if self.arm not in (0, 1):
            raise ValueError(f"arm {self.arm} is none")
        if not self.facility or not self.unit:
            raise ValueError("a stretch needs a hospital and a unit")

    def holds(self, *, facility: str, unit: str, day: date) -> bool:
        """Whether a set of this place and day belongs to it."""
        return self.facility == facility and self.unit == unit and self.first <= day <= self.last


@dataclass(frozen=True, kw_only=True)
class TrialPlan:
    """Everything that is agreed before the first day.

    Shares run 0 to 1. ``usual`` and ``new`` name the arms. ``baseline`` and ``expected`` are the shares that the size
    was computed from, ``meaningful`` the least fall (above 0) that would be acted on, ``icc`` the correlation assumed
    between sets of one unit. ``sets_per_arm`` is the size; ``looks`` are the planned looks as shares of it, the last
    one 1. Sets of the first ``settle_days`` days after a unit changes arm are left out. ``seed`` is what the order was
    drawn with, none where nothing was drawn. ``data_to`` is the last day of data that was in when the plan was
    sealed; empty before that, and where there were none. ``replaces`` is the number of the plan that it changes.
    """

    name: str
    question: str
    design: TrialDesign
    usual: str
    new: str
    stretches: tuple[Stretch, ...]
    charter: int
    charter_fingerprint: str
    baseline: float
    expected: float
    meaningful: float
    level: float
    power: float
    icc: float
    sets_per_arm: int
    looks: tuple[float, ...]
    spending: Spending
    stop_rule: str
    exclusions: tuple[str, ...]
    settle_days: int
    decides: str
    seed: int | None = None
    data_to: date | None = None
    replaces: int | None = None

    def __post_init__(self) -> None:
        for field, words in _WORDS.items():
            if not getattr(self, field).strip():
                raise ValueError(f"a plan without {words} is none")
        _check_shares(self)
        _check_looks(self.looks)
        _check_stretches(self.stretches)
        if self.sets_per_arm < 1 or self.settle_days < 0:
            raise ValueError("a plan needs sets in each arm and no negative days to settle")

    @property
    def start(self) -> date:
        """The first day of the trial."""
        return min(one.first for one in self.stretches)

    @property
    def end(self) -> date:
        """The last day of the trial."""
        return max(one.last for one in self.stretches)

    @property
    def late(self) -> bool:
        """Whether data of the trial's days were there when it was written."""
        return self.data_to is not None and self.data_to >= self.start

    @property
    def units(self) -> tuple[tuple[str, str], ...]:
        """Hospital and unit of every place that takes part, in order."""
        return tuple(sorted({(one.facility, one.unit) for one in self.stretches}))

    def arm_on(self, *, facility: str, unit: str, day: date) -> int | None:
        """The arm of a set, none where the plan says nothing of this place and day."""
        return next((one.arm for one in self.stretches if one.holds(facility=facility, unit=unit, day=day)), None)

    def fingerprint(self) -> str:
        """SHA-256 (64 digits) over the whole plan in its canonical form."""
        return fingerprint_of(build_plan_dict(self))


def build_plan_dict(plan: TrialPlan) -> dict[str, Any]:
    """The plan as plain data for JSON: days as text, words for choices."""
    plain = asdict(plan)
    plain["shape"] = SHAPE
    return {key: _plain(value) for key, value in plain.items()}


def read_plan(plain: Mapping[str, Any]) -> TrialPlan:
    """The plan of its plain data; ``ValueError`` where anything is missing, unknown or impossible."""
    if plain.get("shape") != SHAPE:
        raise ValueError("this is no plan of a trial")
    try:
        fields = {key: value for key, value in plain.items() if key != "shape"}
        fields["design"], fields["spending"] = TrialDesign(fields["design"]), Spending(fields["spending"])
        fields["stretches"] = tuple(_stretch(one) for one in fields["stretches"])
        fields["looks"], fields["exclusions"] = tuple(fields["looks"]), tuple(fields["exclusions"])
        fields["data_to"] = date.fromisoformat(fields["data_to"]) if fields["data_to"] else None
        return TrialPlan(**fields)
    except (KeyError, TypeError, AttributeError) as error:
        raise ValueError(f"the plan is incomplete or holds something else: {error}") from None


def fingerprint_of(plain: Mapping[str, Any]) -> str:
    """SHA-256 over plain data, the same whatever the order of its keys."""
    text = json.dumps(plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


_WORDS = {
    "name": "a name", "question": "a question", "usual": "a word for what is usual", "new": "a word for what is new",
    "stop_rule": "a rule to stop", "decides": "somebody who decides", "charter_fingerprint": "a charter",
}  # fmt: skip


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value


def _stretch(plain: Mapping[str, Any]) -> Stretch:
    days = {key: date.fromisoformat(plain[key]) for key in ("first", "last")}
    return Stretch(**{**plain, **days})


def _check_shares(plan: TrialPlan) -> None:
    for share in (plan.baseline, plan.expected, plan.meaningful, plan.level, plan.power):
        if not 0 < share < 1:
            raise ValueError(f"{share} is no share between 0 and 1")
    if not plan.expected < plan.baseline:
        raise ValueError("what is expected is no improvement on what is usual")
    if plan.meaningful > plan.baseline:
        raise ValueError("a fall larger than all there is cannot be asked for")
    if not 0 <= plan.icc < 1:
        raise ValueError(f"a correlation of {plan.icc} is not between 0 and 1")


def _check_looks(looks: tuple[float, ...]) -> None:
    if not looks or looks[-1] != 1 or any(not 0 < one <= 1 for one in looks) or sorted(set(looks)) != list(looks):
        raise ValueError("looks are rising shares of the size, the last one all of it")


def _check_stretches(stretches: tuple[Stretch, ...]) -> None:
    if {one.arm for one in stretches} != {0, 1}:
        raise ValueError("a trial needs places or days of both arms")
    last: dict[tuple[str, str], date] = {}
    for one in sorted(stretches, key=lambda each: each.first):
        place = (one.facility, one.unit)
        if place in last and one.first <= last[place]:
            raise ValueError(f"{one.place} is twice in the plan on {one.first}")
        last[place] = one.last
