"""What a dated change is held against: counts of every unit by day, and everything else that changed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.places_reading import PlacesPolicy
from cubital.domain.diary import ChangeKind, DiaryEntry

Whole = np.ndarray[tuple[int], np.dtype[np.int64]]
Pair = tuple[int, int]
ONCE = frozenset({ChangeKind.TRAINING, ChangeKind.FEEDBACK})


@dataclass(frozen=True, kw_only=True)
class Window:
    """Days compared, both ends inclusive: ``first`` to the day before ``on``, and ``on`` to ``last``."""

    first: date
    on: date
    last: date

    @property
    def days_before(self) -> int:
        return max(0, (self.on - self.first).days)

    @property
    def days_after(self) -> int:
        return max(0, (self.last - self.on).days + 1)

    def holds(self, day: date) -> bool:
        """Whether the day lies inside."""
        return self.first <= day <= self.last


@dataclass(frozen=True, kw_only=True)
class UnitDays:
    """Counts of one unit by day: ``days`` as ordinals in order, and of each its counted and contaminated sets."""

    key: str
    name: str
    facility: str
    unit: str
    days: Whole
    sets: Whole
    contaminated: Whole

    def span(self, first: date, last: date) -> Pair:
        """Contaminated sets and sets of these days, both ends inclusive."""
        low, high = np.searchsorted(self.days, [first.toordinal(), last.toordinal() + 1])
        return int(self.contaminated[low:high].sum()), int(self.sets[low:high].sum())

    def before(self, window: Window) -> Pair:
        """Contaminated sets and sets before the change."""
        return self.span(window.first, window.on - timedelta(days=1))

    def after(self, window: Window) -> Pair:
        """Contaminated sets and sets since the change."""
        return self.span(window.on, window.last)


@dataclass(frozen=True, kw_only=True)
class DidMaterial:
    """The ``change`` asked about, at the place called ``name``; every unit's counts and every other change.

    ``here`` are the keys of the units that the change reached as it is asked about; ``first`` and ``last`` the first
    and the last day with sets there. ``asked`` is false where a day and a place were given instead of an entry.
    """

    change: DiaryEntry
    name: str
    units: tuple[UnitDays, ...]
    here: frozenset[str]
    entries: tuple[DiaryEntry, ...]
    first: date
    last: date
    policy: PlacesPolicy
    asked: bool = True

    def of_keys(self, keys: Iterable[str]) -> tuple[UnitDays, ...]:
        """The units of these keys, in their order here."""
        wanted = frozenset(keys)
        return tuple(unit for unit in self.units if unit.key in wanted)

    @property
    def mine(self) -> tuple[UnitDays, ...]:
        """The units that the change reached as it is asked about."""
        return self.of_keys(self.here)


def label_of(entry: DiaryEntry) -> tuple[ChangeKind, str]:
    """What makes two entries one and the same change at different places: its kind, and among others its words."""
    return entry.kind, _tidy(entry.words) if entry.kind is ChangeKind.OTHER else ""


def roll_out_of(entry: DiaryEntry) -> tuple[ChangeKind, str]:
    """What makes entries of different days one roll-out: the same kind in the same words."""
    return entry.kind, _tidy(entry.words)


def _tidy(words: str) -> str:
    return " ".join(words.casefold().split())


def is_harmless(entry: DiaryEntry) -> bool:
    """A change that counts cannot show: a rename is followed, and a signed charter judges every month anew."""
    return entry.kind is ChangeKind.RENAME or (entry.kind is ChangeKind.LIST and not entry.number)


def dates_of(entry: DiaryEntry) -> tuple[date, ...]:
    """The days on which something is different from the day before: its first, and the one after its last.

    The end of a training or of feedback undoes nothing.
    """
    return (entry.on,) if entry.until is None or entry.kind in ONCE else (entry.on, entry.until + timedelta(days=1))


def add_pairs(pairs: Iterable[Pair]) -> Pair:
    """The sum of pairs of contaminated sets and sets."""
    held = list(pairs)
    return sum(x for x, _n in held), sum(n for _x, n in held)


def months_of(units: Sequence[UnitDays], *, first: date, last: date) -> tuple[MonthCount, ...]:
    """All units together by calendar month from ``first`` to ``last``; a month that is cut by either end is short."""
    found, month = [], f"{first:%Y-%m}"
    while month <= f"{last:%Y-%m}":
        begin = date.fromisoformat(f"{month}-01")
        end = date.fromisoformat(f"{next_month(month)}-01") - timedelta(days=1)
        x, n = add_pairs(unit.span(max(begin, first), min(end, last)) for unit in units)
        found.append(MonthCount(month=month, sets=n, contaminated=x))
        month = next_month(month)
    return tuple(found)
