"""The readable judge: one set after the other in plain Python, over the dataclasses of ``domain``.

It is the reference for the judge inside the engine and shares nothing with it but the words and the questions about
organisms. Fast enough for a month. The rules are explained in ``rules``; here they are carried out by hand.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from cubital.domain.charter import (
    Charter,
    Denominator,
    DifferentCommensals,
    FollowUp,
    LineSets,
    MixedGrowth,
    Population,
    Reason,
    Rule,
    SameCommensal,
    SetClass,
    SolitaryCommensal,
    Window,
)
from cubital.domain.cultures import (
    ADULT_AGE_GROUPS,
    CHILD_AGE_GROUPS,
    CultureSet,
    Isolate,
    Method,
    SetStatus,
    TimeQuality,
)
from cubital.judge.flora import Flora, Growth, reference_flora


@dataclass(frozen=True)
class PlainVerdict:
    """What one valid set counts as.

    ``in_population`` is false where the set is outside for what it is, true where only its being alone excludes it.
    """

    set_class: SetClass
    reason: Reason
    series_id: int
    series_size: int
    unpairable: bool
    in_population: bool
    counted: bool


@dataclass
class _World:
    """Everything that is looked up while judging."""

    charter: Charter
    flora: Flora
    organisms: Mapping[int, frozenset[str]]
    current_units: Mapping[tuple[str, str], str]
    places: Mapping[int, datetime]
    series_of: dict[int, tuple[CultureSet, ...]] = field(default_factory=dict)

    def growth(self, culture: CultureSet) -> Growth:
        grew = Growth.NOTHING
        for key in self.organisms.get(culture.set_id, ()):
            grew |= self.flora.standing(key, self.charter.commensal_list)
        return grew

    def commensals(self, culture: CultureSet) -> set[str]:
        keys = self.organisms.get(culture.set_id, frozenset())
        return {key for key in keys if self.flora.standing(key, self.charter.commensal_list) is Growth.COMMENSAL}

    def others(self, culture: CultureSet) -> list[CultureSet]:
        return [other for other in self.series_of[culture.set_id] if other.set_id != culture.set_id]


def judge_plainly(
    sets: Iterable[CultureSet],
    isolates: Iterable[Isolate],
    charter: Charter,
    *,
    flora: Flora | None = None,
    current_units: Mapping[tuple[str, str], str] | None = None,
) -> dict[int, PlainVerdict]:
    """The verdict of every valid set, by its number. ``current_units`` maps (facility, unit key) to today's key."""
    sets = list(sets)
    valid = [culture for culture in sets if culture.status in (SetStatus.FINAL, SetStatus.PRELIMINARY)]
    places = place_in_time(sets, charter)
    world = _World(charter, flora or reference_flora(), _named_growth(isolates), current_units or {}, places)
    for series in _all_series(valid, world):
        for culture in series:
            world.series_of[culture.set_id] = series
    follow_ups = _follow_ups(valid, world) if charter.follow_up is FollowUp.EXCLUDE else set()
    return {culture.set_id: _verdict(culture, world, follow_ups) for culture in valid}


def place_in_time(sets: Iterable[CultureSet], charter: Charter) -> dict[int, datetime]:
    """Where each set stands in time, by its number; one that has no time is left out.

    In a window of hours that is the instant of collection, or the start of the local day where the file has no hour; in
    calendar windows it is the local day.
    """
    sets = list(sets)
    behind: dict[str, timedelta] = {}
    for culture in sets:
        if culture.collected_at and culture.collected_local:
            shift = culture.collected_at - culture.collected_local
            behind[culture.facility] = max(shift, behind.get(culture.facility, shift))
    found = {}
    for culture in sets:
        start = datetime(culture.day.year, culture.day.month, culture.day.day) if culture.day else None  # noqa: DTZ001
        if charter.window is not Window.ROLLING_HOURS:
            when = start if culture.time_quality is not TimeQuality.MISSING else None
        elif culture.collected_at is None and culture.time_quality is TimeQuality.DATE_ONLY and start:
            when = start + behind.get(culture.facility, timedelta(0))
        else:
            when = culture.collected_at
        if when:
            found[culture.set_id] = when
    return found


def _named_growth(isolates: Iterable[Isolate]) -> dict[int, frozenset[str]]:
    found: dict[int, set[str]] = defaultdict(set)
    for isolate in isolates:
        if not isolate.negated:
            found[isolate.set_id].add(isolate.organism_key)
    return {set_id: frozenset(keys) for set_id, keys in found.items()}


def _is_unpairable(culture: CultureSet, world: _World) -> bool:
    """Without a patient or a time a set cannot be paired."""
    return culture.patient_key is None or culture.set_id not in world.places


def _all_series(valid: Sequence[CultureSet], world: _World) -> list[tuple[CultureSet, ...]]:
    people: dict[tuple[str, int | None], list[CultureSet]] = defaultdict(list)
    series: list[tuple[CultureSet, ...]] = []
    for culture in valid:
        if _is_unpairable(culture, world):
            series.append((culture,))
        else:
            people[culture.facility, culture.patient_key].append(culture)
    for theirs in people.values():
        series += _series_of_one_patient(theirs, world)
    return series


def _series_of_one_patient(theirs: list[CultureSet], world: _World) -> list[tuple[CultureSet, ...]]:
    reach = {
        Window.ROLLING_HOURS: timedelta(hours=world.charter.window_hours),
        Window.SAME_DAY: timedelta(0),
        Window.SAME_OR_NEXT_DAY: timedelta(days=1),
    }[world.charter.window]
    series: list[list[CultureSet]] = []
    start: datetime | None = None
    for culture in sorted(theirs, key=lambda culture: world.places[culture.set_id]):
        when = world.places[culture.set_id]
        if start is None or when > start + reach:
            series.append([])
            start = when
        series[-1].append(culture)
    return [tuple(one) for one in series]


def _follow_ups(valid: Sequence[CultureSet], world: _World) -> set[int]:
    """Sets of a later series of a patient than one that grew an organism outside the list, within the days."""
    days = timedelta(days=world.charter.follow_up_days)
    proven = [culture for culture in valid if world.growth(culture) & Growth.OTHER]
    return {
        culture.set_id
        for first in proven
        for culture in valid
        if _same_patient(first, culture, world)
        and _start(culture, world) > _start(first, world)
        and _within(first.day, culture.day, days)
    }


def _same_patient(a: CultureSet, b: CultureSet, world: _World) -> bool:
    paired = not _is_unpairable(a, world) and not _is_unpairable(b, world)
    return paired and (a.facility, a.patient_key) == (b.facility, b.patient_key)


def _start(culture: CultureSet, world: _World) -> datetime:
    return min(world.places[other.set_id] for other in world.series_of[culture.set_id])


def _within(first: date | None, later: date | None, days: timedelta) -> bool:
    return first is not None and later is not None and later <= first + days


def _verdict(culture: CultureSet, world: _World, follow_ups: set[int]) -> PlainVerdict:
    outside = _outside(culture, world, follow_ups)
    set_class, reason = (SetClass.OUTSIDE, outside) if outside else _judge(culture, world)
    series = world.series_of[culture.set_id]
    eligible = world.charter.denominator is Denominator.ALL_SETS or len(series) >= 2
    return PlainVerdict(
        set_class=set_class,
        reason=reason,
        series_id=min(other.set_id for other in series),
        series_size=len(series),
        unpairable=_is_unpairable(culture, world),
        in_population=outside is None,
        counted=set_class is not SetClass.OUTSIDE and eligible,
    )


def _outside(culture: CultureSet, world: _World, follow_ups: set[int]) -> Reason | None:
    charter = world.charter
    left_out = {
        Population.EVERYONE: frozenset(),
        Population.ADULTS: CHILD_AGE_GROUPS,
        Population.CHILDREN: ADULT_AGE_GROUPS,
    }[charter.population]
    if culture.age_group in left_out:
        return Reason.NOT_IN_POPULATION
    if charter.line_sets is LineSets.EXCLUDE and culture.method is Method.CENTRAL_LINE:
        return Reason.LINE_SET
    current = world.current_units.get((culture.facility, culture.unit_key), culture.unit_key)
    if {culture.unit_key, current} & set(charter.excluded_units):
        return Reason.UNIT_EXCLUDED
    return Reason.FOLLOW_UP if culture.set_id in follow_ups else None


def _judge(culture: CultureSet, world: _World) -> tuple[SetClass, Reason]:
    grew, charter = world.growth(culture), world.charter
    if grew & Growth.COMMENSAL and charter.rule is Rule.ANY_COMMENSAL:
        return SetClass.CONTAMINATED, Reason.ANY_COMMENSAL
    if grew & (Growth.SIGNIFICANT | Growth.CONTAMINANT):
        return _judge_decided(grew)
    if not grew & Growth.COMMENSAL:
        return _judge_without_commensal(grew)
    if grew & Growth.OTHER:
        return _judge_mixed(culture, world)
    if grew & Growth.UNREAD:
        return SetClass.UNRESOLVED, Reason.UNREAD_ORGANISM
    return _judge_by_partners(culture, world)


def _judge_decided(grew: Growth) -> tuple[SetClass, Reason]:
    """What medical microbiology decided. That an organism outside the list is a contaminant decides nothing here."""
    if grew & Growth.SIGNIFICANT:
        return SetClass.PATHOGEN, Reason.JUDGED_SIGNIFICANT
    if grew & Growth.COMMENSAL:
        return SetClass.CONTAMINATED, Reason.JUDGED_CONTAMINANT
    return _judge_without_commensal(grew)


def _judge_without_commensal(grew: Growth) -> tuple[SetClass, Reason]:
    if not grew & ~Growth.CONTAMINANT:
        return SetClass.NO_GROWTH, Reason.NO_ORGANISM
    if grew & Growth.OTHER:
        return SetClass.PATHOGEN, Reason.PATHOGEN_GREW
    return SetClass.UNRESOLVED, Reason.UNREAD_ORGANISM


def _judge_mixed(culture: CultureSet, world: _World) -> tuple[SetClass, Reason]:
    if world.charter.mixed_growth is MixedGrowth.BY_COMMENSAL:
        return _judge_by_partners(culture, world)
    if world.charter.mixed_growth is MixedGrowth.ADJUDICATE:
        return SetClass.ADJUDICATE, Reason.MIXED
    return SetClass.PATHOGEN, Reason.MIXED


def _judge_by_partners(culture: CultureSet, world: _World) -> tuple[SetClass, Reason]:
    charter, others = world.charter, world.others(culture)
    if not others:
        return {
            SolitaryCommensal.EXCLUDE: (SetClass.OUTSIDE, Reason.SOLITARY_EXCLUDED),
            SolitaryCommensal.COUNT: (SetClass.CONTAMINATED, Reason.SOLITARY),
            SolitaryCommensal.SEPARATE: (SetClass.SOLITARY_COMMENSAL, Reason.SOLITARY),
        }[charter.solitary_commensal]
    if any(_grew_the_same(culture, other, world) for other in others):
        if charter.same_commensal is SameCommensal.ADJUDICATE:
            return SetClass.ADJUDICATE, Reason.SAME_IN_BOTH
        return SetClass.PATHOGEN, Reason.SAME_IN_BOTH
    if any(world.commensals(other) for other in others):
        return {
            DifferentCommensals.CONTAMINATED: SetClass.CONTAMINATED,
            DifferentCommensals.PATHOGEN: SetClass.PATHOGEN,
            DifferentCommensals.ADJUDICATE: SetClass.ADJUDICATE,
        }[charter.different_commensals], Reason.DIFFERENT_IN_BOTH
    return SetClass.CONTAMINATED, Reason.ONE_OF_SEVERAL


def _grew_the_same(culture: CultureSet, other: CultureSet, world: _World) -> bool:
    theirs = world.organisms.get(other.set_id, frozenset())
    return any(world.flora.alike(mine, key) for mine in world.commensals(culture) for key in theirs)
