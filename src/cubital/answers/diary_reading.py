"""What the diary lets anybody test: which changes came together, and what each could be compared with."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from itertools import combinations

from cubital.answers.counts import MonthCount
from cubital.domain.diary import ChangeKind, DiaryEntry

WINDOW = 31  # days within which two changes fall into the same monthly points (common practice, no source)
FEWEST = 3  # months on each side below which nothing is compared (common practice, no source)
_ONCE = frozenset({ChangeKind.TRAINING, ChangeKind.FEEDBACK})  # over when they end; nothing is undone by that


@dataclass(frozen=True, kw_only=True)
class PlaceMonths:
    """One unit by its current key, its name for people, and its dated months with their counts."""

    facility: str
    unit: str
    name: str
    counts: tuple[MonthCount, ...]


@dataclass(frozen=True, kw_only=True)
class Overlap:
    """Two changes that reached one place ``days`` apart or less than the window."""

    first: DiaryEntry
    second: DiaryEntry
    days: int

    @property
    def definition(self) -> bool:
        """Whether exactly one of them changes how sets are counted: a jump may be that alone."""
        return self.first.kind.changes_counting != self.second.kind.changes_counting


class CanTest(StrEnum):
    """How far a change can be tested with the months that there are."""

    COMPARED = "compared"  # against units that differ in nothing else
    ALONE = "alone"  # before and after only
    TOGETHER = "together"  # something else changed with it wherever it happened
    SHORT = "short"  # too few months on one side
    OUTSIDE = "outside"  # before the first or after the last month of the data


@dataclass(frozen=True, kw_only=True)
class Side:
    """Months with sets on one side of a change, and their sets, over all units that it reached."""

    months: int
    sets: int


@dataclass(frozen=True, kw_only=True)
class ChangeTest:
    """One change of care. ``units`` are those it reached that have sets, ``companions`` what came with it there.

    ``controls`` are units that had all the same except the change; empty unless ``state`` is COMPARED.
    """

    entry: DiaryEntry
    state: CanTest
    before: Side
    after: Side
    units: tuple[str, ...]
    companions: tuple[DiaryEntry, ...]
    controls: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class DiaryReading:
    """The whole diary read: overlaps by day, one test per change of care, and the span of the data."""

    entries: tuple[DiaryEntry, ...]
    overlaps: tuple[Overlap, ...]
    tests: tuple[ChangeTest, ...]
    window: int
    first_month: str | None
    last_month: str | None


def read_diary(
    entries: Sequence[DiaryEntry],
    places: Sequence[PlaceMonths],
    *,
    about: Sequence[DiaryEntry] | None = None,
    window: int = WINDOW,
) -> DiaryReading:
    """What came together and what can be tested.

    Parameters
    ----------
    entries : everything in the diary; a signed charter is left out of the reading, because every month is judged anew.
    places : every unit with dated sets.
    about : the entries that are asked about; none asks about all of them.
    window : days, 0 or more.
    """
    known = [entry for entry in entries if not _judged_anew(entry)]
    asked = [entry for entry in (entries if about is None else about) if not _judged_anew(entry)]
    overlaps = [one for one in find_overlaps(known, window=window) if one.first in asked or one.second in asked]
    months = [count.month for place in places for count in place.counts if count.sets]
    first, last = min(months, default=None), max(months, default=None)
    return DiaryReading(
        entries=tuple(asked),
        overlaps=tuple(overlaps),
        tests=tuple(
            _test(entry, known, places, window=window, span=(first, last))
            for entry in asked
            if not entry.kind.changes_counting
        ),
        window=window,
        first_month=first,
        last_month=last,
    )


def find_overlaps(entries: Sequence[DiaryEntry], *, window: int = WINDOW) -> tuple[Overlap, ...]:
    """Every two entries that reached one place with at most ``window`` days between their beginnings or ends."""
    found = []
    for first, second in combinations(sorted(entries, key=lambda entry: (entry.on, entry.number)), 2):
        days = days_between(first, second)
        if days <= window and share_place(first, second):
            found.append(Overlap(first=first, second=second, days=days))
    return tuple(found)


def share_place(one: DiaryEntry, other: DiaryEntry) -> bool:
    """Whether there is a place that both reached."""
    return one.covers(facility=other.facility, unit=other.unit) or other.covers(facility=one.facility, unit=one.unit)


def days_between(one: DiaryEntry, other: DiaryEntry) -> int:
    """Days between the nearest two of their beginnings and ends; the end of training or feedback undoes nothing."""
    return min(abs((a - b).days) for a in _edges(one) for b in _edges(other))


def _edges(entry: DiaryEntry) -> tuple[date, ...]:
    return (entry.on,) if entry.until is None or entry.kind in _ONCE else (entry.on, entry.until)


def _judged_anew(entry: DiaryEntry) -> bool:
    """A charter that the workspace knows of: every month is judged with the one in force, so nothing breaks here."""
    return entry.number == 0 and entry.kind is ChangeKind.LIST


def _test(
    entry: DiaryEntry,
    known: Sequence[DiaryEntry],
    places: Sequence[PlaceMonths],
    *,
    window: int,
    span: tuple[str | None, str | None],
) -> ChangeTest:
    near = [one for one in known if one is not entry and days_between(entry, one) <= window]
    reached = [place for place in places if entry.covers(facility=place.facility, unit=place.unit)]
    before, after = _sides(entry, reached)
    with_it = {place.name: _reaching(near, place) for place in reached}
    others = {place.name: _reaching(near, place) for place in places if place not in reached and _long(entry, place)}
    same = _said(entry)
    controls = [
        name
        for name, found in others.items()
        if same not in map(_said, found) and any(_alike(found, mine) for mine in with_it.values())
    ]
    companions = [one for one in near if any(one in found for found in with_it.values())]
    if not reached:
        companions = [one for one in near if share_place(entry, one)]
    state = _state(entry, span=span, sides=(before, after), with_it=list(with_it.values()), controls=controls)
    return ChangeTest(
        entry=entry, state=state, before=before, after=after, units=tuple(place.name for place in reached),
        companions=tuple(companions), controls=tuple(controls) if state is CanTest.COMPARED else (),
    )  # fmt: skip


def _state(
    entry: DiaryEntry,
    *,
    span: tuple[str | None, str | None],
    sides: tuple[Side, Side],
    with_it: Sequence[Sequence[DiaryEntry]],
    controls: Sequence[str],
) -> CanTest:
    month, (first, last) = f"{entry.on:%Y-%m}", span
    if first is None or last is None or not first <= month <= last:
        return CanTest.OUTSIDE
    if min(side.months for side in sides) < FEWEST:
        return CanTest.SHORT
    if controls:
        return CanTest.COMPARED
    return CanTest.ALONE if any(not found for found in with_it) else CanTest.TOGETHER


def _sides(entry: DiaryEntry, places: Sequence[PlaceMonths]) -> tuple[Side, Side]:
    """Months before and after; the month in which it began belongs to neither unless it began on its first day."""
    return _side(places, lambda month: _is_before(entry, month)), _side(places, lambda month: _is_after(entry, month))


def _side(places: Sequence[PlaceMonths], holds: Callable[[str], bool]) -> Side:
    counts = [count for place in places for count in place.counts if count.sets and holds(count.month)]
    return Side(months=len({count.month for count in counts}), sets=sum(count.sets for count in counts))


def _is_before(entry: DiaryEntry, month: str) -> bool:
    return month < f"{entry.on:%Y-%m}"


def _is_after(entry: DiaryEntry, month: str) -> bool:
    began = f"{entry.on:%Y-%m}"
    ended = entry.until is not None and entry.kind not in _ONCE and month >= f"{entry.until:%Y-%m}"
    return not ended and (month > began or (month == began and entry.on.day == 1))


def _long(entry: DiaryEntry, place: PlaceMonths) -> bool:
    """Whether a unit has enough months on both sides to be compared with."""
    return min(side.months for side in _sides(entry, [place])) >= FEWEST


def _reaching(near: Sequence[DiaryEntry], place: PlaceMonths) -> list[DiaryEntry]:
    return [one for one in near if one.covers(facility=place.facility, unit=place.unit)]


def _alike(one: Sequence[DiaryEntry], other: Sequence[DiaryEntry]) -> bool:
    """Whether two units had the same sorts of change at that time."""
    return set(map(_said, one)) == set(map(_said, other))


def _said(entry: DiaryEntry) -> tuple[str, str]:
    """What makes two changes at two units one and the same: their kind; among others also their words."""
    return (entry.kind.value, entry.words.casefold() if entry.kind is ChangeKind.OTHER else "")
