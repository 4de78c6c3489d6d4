"""Everything counted for a committee's pack, from one snapshot: months, the quarter with its company, units, hours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from cubital.answers.month_text import month_before, parse_month
from cubital.answers.span_words import span_months, span_words
from cubital.domain.answer import Receipt
from cubital.domain.charter import UnitOfCount
from cubital.domain.cultures import TimeQuality
from cubital.domain.errors import RequestProblem
from cubital.domain.policy import Policy
from cubital.domain.words import _
from cubital.engine import QuerySession
from cubital.indicators.span import add_counts, add_process
from cubital.judge.api import count_months, count_process
from cubital.judge.cells import CellCounts, Dimension, count_cells
from cubital.judge.counts import MonthCounts, ProcessCounts
from cubital.judge.times import count_time_qualities
from cubital.store.places import read_facility_months
from cubital.workspace.asked_places import AskedPlace, find_place
from cubital.workspace.baseline_records import baseline_in_force
from cubital.workspace.charters import CharterVersion, current_charter
from cubital.workspace.month_gathering import fill_months, receipt_of
from cubital.workspace.month_surroundings import grouping_of
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.policy_rules import policy_limits
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.unit_counts import count_unit_months

MONTHS_BEFORE = 24  # a baseline needs 20 by the example policy; more would only be more months that can be hidden
MOST_MONTHS = 12
DAY_PARTS = (0, 6, 12, 18)


@dataclass(frozen=True, kw_only=True)
class PackAsk:
    """Which months (``YYYY-MM``, both included) of which hospital; no facility is all of them together."""

    from_month: str
    to_month: str
    facility: str | None = None

    def __post_init__(self) -> None:
        for month in (self.from_month, self.to_month):
            if parse_month(month) != month:
                raise RequestProblem(_("'{month}' is no month.").format(month=month), fix=_("Write it as 2026-03."))
        if self.from_month > self.to_month:
            raise RequestProblem(_("the first month comes after the last."), fix=_("Swap the two months."))
        if len(span_months(self.from_month, self.to_month)) > MOST_MONTHS:
            raise RequestProblem(
                _("a pack of more than {most} months is no quarter any more.").format(most=MOST_MONTHS),
                fix=_("Ask for fewer months; the chart shows the two years before them anyway."),
            )

    @property
    def months(self) -> tuple[str, ...]:
        return span_months(self.from_month, self.to_month)


@dataclass(frozen=True, kw_only=True)
class UnitSpan:
    """One unit over the span: counts and process added up, and how many people are known to have drawn there."""

    counts: MonthCounts
    process: ProcessCounts
    people: int


@dataclass(frozen=True, kw_only=True)
class PackMaterial:
    """What was counted. ``history`` are the place's months up to the last asked, ``unit_months`` the same by unit.

    ``span`` and ``process`` are the asked months of the place; ``hours`` counts (contaminated, sets) by hospital and
    part of the day, none where the hour is not known. ``locked`` are the first and last month of a baseline that was
    locked for the place and does not reach into the span.
    """

    ask: PackAsk
    place: AskedPlace
    locked: tuple[str, str] | None
    charter: CharterVersion
    policy: Policy
    history: tuple[MonthCounts, ...]
    unit_months: tuple[MonthCounts, ...]
    span: tuple[MonthCounts, ...]
    process: tuple[ProcessCounts, ...]
    units: tuple[UnitSpan, ...]
    hours: Mapping[tuple[str, int | None], tuple[int, int]]
    times: Mapping[TimeQuality, int]
    receipt: Receipt


def gather_pack(workspace: Workspace, ask: PackAsk) -> PackMaterial:
    """Counts everything once. ``RequestProblem`` for an unknown place, a charter that does not count sets, or months
    of which not one has a set or the last has none.
    """
    version, policy = current_charter(workspace), current_policy(workspace)
    _check_counts_sets(version)
    with open_snapshot(workspace) as session:
        place = find_place(workspace, facility=ask.facility, unit=None)
        return _gather(workspace, session, ask, place=place, version=version, policy=policy)


def _gather(
    workspace: Workspace, session: QuerySession, ask: PackAsk, *, place: AskedPlace, version: CharterVersion,
    policy: Policy,
) -> PackMaterial:  # fmt: skip
    charter, by = version.charter, grouping_of(place)
    baseline = baseline_in_force(workspace, place, ask.to_month)
    locked = baseline.span if baseline is not None and baseline.last < ask.from_month else None
    first = min(month_before(ask.from_month, MONTHS_BEFORE), locked[0] if locked else ask.from_month)
    unit_months = count_unit_months(session, version, scope=place.scope(from_month=first, to_month=ask.to_month))
    asked = place.scope(from_month=ask.from_month, to_month=ask.to_month)
    units = count_months(session, charter, scope=asked, by="unit")
    unit_process = count_process(session, charter, scope=asked, by="unit", limits=policy_limits(policy), judge=False)
    process = count_process(session, charter, scope=asked, by=by, limits=policy_limits(policy), judge=False)
    _check_months(ask, place, [one.month for one in process])
    return PackMaterial(
        ask=ask, place=place, locked=locked, charter=version, policy=policy,
        history=fill_months(_place_months(unit_months, place), filed=read_facility_months(session), place=place),
        unit_months=unit_months,
        span=_place_months(units, place), process=process,
        units=_units(units, unit_process, people=_people(session, version, place, ask)),
        hours=_hours(count_cells(
            session, charter, by=(Dimension.FACILITY, Dimension.HOUR), scope=asked, judge=False
        )),
        times=count_time_qualities(session),
        receipt=receipt_of(snapshot_words(workspace), version, policy),
    )  # fmt: skip


def _check_counts_sets(version: CharterVersion) -> None:
    if version.charter.unit_of_count is not UnitOfCount.SET:
        raise RequestProblem(
            _("charter '{name}' does not count sets, so units do not add up to their hospital.").format(
                name=version.charter.name
            ),
            fix=_("Choose a charter that counts sets."),
        )


def _check_months(ask: PackAsk, place: AskedPlace, held: Sequence[str]) -> None:
    missing = [month for month in ask.months if month not in held]
    if missing:
        raise RequestProblem(
            _("{place} has no sets in {months}.").format(
                place=place.name, months=", ".join(span_words(month, month) for month in missing)
            ),
            fix=_("Ask for months that have sets: the pack would speak of a quarter that is not whole."),
        )


def _place_months(rows: Sequence[MonthCounts], place: AskedPlace) -> tuple[MonthCounts, ...]:
    """The units' months added up to the place's, in time order."""
    by_month: dict[str, list[MonthCounts]] = {}
    for row in rows:
        by_month.setdefault(row.month, []).append(row)
    return tuple(
        _at_place(add_counts(by_month[month]), place) for month in sorted(by_month) if month != "undated"
    )  # fmt: skip


def _at_place(counts: MonthCounts, place: AskedPlace) -> MonthCounts:
    return replace(counts, facility=place.facility, unit=None, unit_name="")


def _units(
    counts: Sequence[MonthCounts], process: Sequence[ProcessCounts], *, people: Mapping[tuple[str, str], int]
) -> tuple[UnitSpan, ...]:
    months: dict[tuple[str, str], list[MonthCounts]] = {}
    drawn: dict[tuple[str, str], list[ProcessCounts]] = {}
    for one in counts:
        months.setdefault((one.facility or "", one.unit or ""), []).append(one)
    for row in process:
        drawn.setdefault((row.facility or "", row.unit or ""), []).append(row)
    return tuple(
        UnitSpan(counts=add_counts(months[key]), process=add_process(drawn[key]), people=people.get(key, 0))
        for key in sorted(months)
        if key in drawn
    )


def _people(
    session: QuerySession, version: CharterVersion, place: AskedPlace, ask: PackAsk
) -> Mapping[tuple[str, str], int]:
    """How many known people drew in each unit: where it is one, the unit's share would be a person's."""
    cells = count_cells(
        session, version.charter, by=(Dimension.FACILITY, Dimension.UNIT, Dimension.COLLECTOR),
        scope=place.scope(from_month=ask.from_month, to_month=ask.to_month), judge=False,
    )  # fmt: skip
    found: dict[tuple[str, str], int] = {}
    for facility, unit, collector in zip(*cells.keys.values(), strict=True):
        if collector:
            found[facility, unit] = found.get((facility, unit), 0) + 1
    return found


def _hours(cells: CellCounts) -> Mapping[tuple[str, int | None], tuple[int, int]]:
    found: dict[tuple[str, int | None], tuple[int, int]] = {}
    rows = zip(*cells.keys.values(), cells.numerator.tolist(), cells.denominator.tolist(), strict=True)
    for facility, hour, contaminated, sets in rows:
        part = None if hour is None else max(start for start in DAY_PARTS if start <= hour)
        held = found.get((facility, part), (0, 0))
        found[facility, part] = (held[0] + contaminated, held[1] + sets)
    return found
