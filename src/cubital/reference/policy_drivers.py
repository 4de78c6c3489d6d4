"""Changes of policy and the numbers that they have been seen to move, each with its evidence."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any

from cubital.reference.collection_guidance import Confidence
from cubital.reference.tables import read_settings


class Moves(StrEnum):
    """Which number a change moves."""

    CONTAMINATION = "contamination"
    INFECTIONS = "infections"
    FILL = "fill"
    REPORTS = "reports"


class Share(StrEnum):
    """The local share that a change touches; ``ALL`` where it touches every draw."""

    ALL = "all"
    LINE = "line"
    NEW_CANNULA = "new_cannula"
    NIGHT = "night"
    SINGLE = "single"
    UNDER_FILLED = "under_filled"
    VERY_LATE = "very_late"
    UNATTRIBUTED = "unattributed"


class Effect(StrEnum):
    """What the published number means."""

    TIMES = "times"  # as often contaminated where it is done as where it is not
    LEFT = "left"  # so much of the rate was left after the change
    SETS = "sets"
    VOLUME = "volume"
    NONE = "none"


class Grade(StrEnum):
    """How it was studied, strongest first."""

    TRIAL = "trial"
    PAIRED = "paired"
    POOLED = "pooled"
    BEFORE_AFTER = "before_after"
    OBSERVED = "observed"


@dataclass(frozen=True, kw_only=True)
class PolicyDriver:
    """One change; ``value`` with ``low`` to ``high`` as published, none where no size was.

    ``source`` is empty where it is common practice without one.
    """

    key: str
    moves: Moves
    share: Share
    effect: Effect
    grade: Grade
    confidence: Confidence
    source: str
    value: float | None = None
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        sized = self.effect in (Effect.TIMES, Effect.LEFT)
        ends = (self.low, self.value, self.high)
        if sized != (None not in ends):
            raise ValueError(f"driver {self.key}: a size has a value and both ends, and only a size has")
        if sized and not 0 < (self.low or 0) <= (self.value or 0) <= (self.high or 0):
            raise ValueError(f"driver {self.key}: the ends do not hold the value")


@lru_cache
def policy_drivers() -> tuple[PolicyDriver, ...]:
    """Every row, in the order of the data file."""
    kinds: dict[str, Any] = {"moves": Moves, "share": Share, "effect": Effect, "grade": Grade, "confidence": Confidence}
    return tuple(
        PolicyDriver(**{name: kinds[name](value) if name in kinds else value for name, value in entry.items()})
        for entry in read_settings("policy_drivers")["driver"]
    )
