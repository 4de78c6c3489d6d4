"""What the answer about one month is made of: judged counts, the month's sets, and what happened around them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from cubital.answers.phases import LockedBaseline
from cubital.answers.signal_reading import SignalPolicy
from cubital.answers.signal_words import Place
from cubital.domain.answer import Receipt
from cubital.domain.charter import Charter
from cubital.judge.counts import JudgedSet, MonthCounts, ProcessCounts, ProcessLimits


@dataclass(frozen=True, kw_only=True)
class RenameMark:
    """On a day a unit's label ``old`` became ``new``; both count as one unit."""

    old: str
    new: str
    on: date


@dataclass(frozen=True, kw_only=True)
class OldFigure:
    """What the month's rate was until a batch restated it on that day, or ``decisions`` did, so many of them.

    ``batch`` is 0 where decisions of medical microbiology restated it.
    """

    numerator: int
    denominator: int
    until: date
    batch: int = 0
    decisions: int = 0


@dataclass(frozen=True, kw_only=True)
class UnitChange:
    """Units (names) that had sets in every one of the months before and have none now, and the other way round."""

    gone: tuple[str, ...] = ()
    new: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Standing:
    """Whether the agreements behind the figures stand: charter signed, policy approved and in date.

    ``charter_since`` is the day from which the charter replaced an earlier signed one; none where it is the first.
    """

    charter_signed: bool
    policy_approved: bool
    policy_expired: bool = False
    charter_since: date | None = None


@dataclass(frozen=True, kw_only=True)
class MonthMaterial:
    """One month of one place under one charter.

    ``history`` holds every month up to and with the asked one, in time order, none twice; a month in which the place
    drew nothing stands there with zeros, a month without any file is absent. ``recent`` and ``process`` are the asked
    month and up to twelve before it, counted with series. ``sets`` are all valid sets of the asked month.
    ``baseline`` is the locked one that the month is measured against; none takes every month before.
    """

    history: tuple[MonthCounts, ...]
    recent: tuple[MonthCounts, ...]
    process: tuple[ProcessCounts, ...]
    sets: tuple[JudgedSet, ...]
    place: Place
    place_name: str
    charter: Charter
    limits: ProcessLimits
    policy: SignalPolicy
    standing: Standing
    receipt: Receipt
    renames: tuple[RenameMark, ...] = ()
    old_figures: tuple[OldFigure, ...] = ()
    unit_change: UnitChange = UnitChange()
    baseline: LockedBaseline | None = None

    def __post_init__(self) -> None:
        if not self.history or not self.recent or not self.process:
            raise ValueError("an answer needs the asked month in history, recent and process")
        months = {self.history[-1].month, self.recent[-1].month, self.process[-1].month}
        if len(months) != 1:
            raise ValueError(f"the last months differ: {', '.join(sorted(months))}")

    @property
    def asked(self) -> MonthCounts:
        """The asked month, counted with series."""
        return self.recent[-1]

    @property
    def month(self) -> str:
        return self.asked.month
