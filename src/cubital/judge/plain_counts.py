"""The readable judge's counts: what ``MonthCounts`` says, added up one set after the other."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from cubital.domain.charter import Charter, Reason, SetClass, UnitOfCount
from cubital.domain.cultures import Bottle, CultureSet, Isolate, SetStatus
from cubital.judge.counts import MonthCounts, Scope
from cubital.judge.flora import Flora
from cubital.judge.plain import PlainVerdict, judge_plainly, place_in_time

Place = tuple[str, str, str]  # month, facility, current unit
LAST = datetime(9999, 12, 31)  # noqa: DTZ001 - behind every set that has a time


@dataclass(frozen=True)
class _Row:
    culture: CultureSet
    verdict: PlainVerdict
    place: Place
    when: datetime

    @property
    def hit(self) -> bool:
        return self.verdict.set_class is SetClass.CONTAMINATED


@dataclass
class _Tally:
    numbers: Counter[str] = field(default_factory=Counter)
    classes: Counter[SetClass] = field(default_factory=Counter)


def count_plainly(
    sets: Iterable[CultureSet],
    isolates: Iterable[Isolate],
    bottles: Iterable[Bottle],
    charter: Charter,
    *,
    scope: Scope,
    flora: Flora | None = None,
    current_units: Mapping[tuple[str, str], str] | None = None,
) -> tuple[MonthCounts, ...]:
    """Counts per month, facility and unit; unit names are the units' keys."""
    sets, isolates, current = list(sets), list(isolates), current_units or {}
    grown = {isolate.set_id for isolate in isolates if not isolate.negated}
    verdicts = judge_plainly(sets, isolates, charter, flora=flora, current_units=current)
    when = place_in_time(sets, charter)
    rows = [
        _Row(one, verdicts[one.set_id], _place(one, current), when.get(one.set_id, LAST))
        for one in sets
        if one.set_id in verdicts
    ]
    tallies: dict[Place, _Tally] = defaultdict(_Tally)
    for row in rows:
        _add_set(tallies[row.place], row, row.culture.set_id in grown)
    for row in _first_of_each(rows, _series_of, _is_paired):
        tallies[row.place].numbers["episodes"] += 1
    for place, hit in _things(rows, list(bottles), charter):
        tallies[place].numbers["numerator"] += hit
        tallies[place].numbers["denominator"] += 1
    return tuple(_counts(place, tallies[place]) for place in sorted(tallies) if _is_inside(place, scope))


def _place(culture: CultureSet, current: Mapping[tuple[str, str], str]) -> Place:
    return culture.month, culture.facility, current.get((culture.facility, culture.unit_key), culture.unit_key)


def _is_inside(place: Place, scope: Scope) -> bool:
    month, facility, unit = place
    return scope.holds_month(month) and scope.facility in (None, facility) and scope.unit in (None, unit)


def _is_paired(row: _Row) -> bool:
    return row.verdict.in_population and not row.verdict.unpairable


def _add_set(tally: _Tally, row: _Row, grown: bool) -> None:
    verdict, inside = row.verdict, row.verdict.in_population
    tally.classes[verdict.set_class] += 1
    tally.numbers.update(
        sets=inside,
        positives=inside and grown,
        preliminary=inside and row.culture.status is SetStatus.PRELIMINARY,
        solitary_excluded=verdict.reason is Reason.SOLITARY_EXCLUDED,
        unpairable=inside and verdict.unpairable,
        solitary=_is_paired(row) and verdict.series_size == 1,
        eligible=inside and verdict.series_size >= 2,
    )


def _first_of_each(
    rows: Iterable[_Row], group: Callable[[_Row], Hashable], wanted: Callable[[_Row], bool]
) -> list[_Row]:
    first: dict[Hashable, _Row] = {}
    for row in sorted((row for row in rows if wanted(row)), key=lambda row: (row.when, row.culture.set_id)):
        first.setdefault(group(row), row)
    return list(first.values())


def _things(rows: list[_Row], bottles: list[Bottle], charter: Charter) -> list[tuple[Place, bool]]:
    """Where every counted thing (set, bottle, series, patient) stands, and whether it is contaminated."""
    counted = [row for row in rows if row.verdict.counted]
    if charter.unit_of_count is UnitOfCount.SET:
        return [(row.place, row.hit) for row in counted]
    if charter.unit_of_count is UnitOfCount.BOTTLE:
        by_set = {row.culture.set_id: row for row in counted}
        known = [bottle for bottle in bottles if bottle.grew is not None and bottle.set_id in by_set]
        return [(by_set[b.set_id].place, bool(b.grew) and by_set[b.set_id].hit) for b in known]
    group = _series_of if charter.unit_of_count is UnitOfCount.SERIES else _patient_month_of
    hits = {group(row) for row in counted if row.hit}
    return [(row.place, group(row) in hits) for row in _first_of_each(counted, group, lambda _row: True)]


def _series_of(row: _Row) -> Hashable:
    return row.verdict.series_id


def _patient_month_of(row: _Row) -> Hashable:
    alone = row.culture.set_id if row.verdict.unpairable else None
    patient = None if row.verdict.unpairable else row.culture.patient_key
    return row.culture.facility, row.culture.month, patient, alone


def _counts(place: Place, tally: _Tally) -> MonthCounts:
    month, facility, unit = place
    names = (
        "numerator", "denominator", "sets", "positives", "preliminary", "solitary_excluded", "unpairable", "solitary",
        "episodes", "eligible",
    )  # fmt: skip
    return MonthCounts(
        month=month, facility=facility, unit=unit, unit_name=unit,
        classes={set_class: tally.classes[set_class] for set_class in SetClass},
        **{name: tally.numbers[name] for name in names},
    )  # fmt: skip
