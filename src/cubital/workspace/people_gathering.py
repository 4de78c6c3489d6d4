"""Gathers whose the draws were: counts per person from the stored cultures, by badge or unique initials on the day."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from cubital.answers.month_text import month_before
from cubital.answers.people_reading import PeoplePolicy, PeopleReading, PersonCount, read_people
from cubital.domain.answer import Receipt
from cubital.domain.charter import SetClass
from cubital.domain.cultures import Attribution
from cubital.domain.errors import RequestProblem
from cubital.domain.policy import Policy
from cubital.domain.words import _, month_words
from cubital.judge.cells import CellCounts, Dimension, count_cells
from cubital.judge.counts import Scope
from cubital.judge.drawn import DrawnSet, drawn_sets
from cubital.workspace import records
from cubital.workspace.charters import current_charter
from cubital.workspace.facilities import get_facility
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.places import list_places
from cubital.workspace.policies import current_policy
from cubital.workspace.policy_rules import individual_keep_months, policy_people
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.staff import WhoDrew, list_stays, who_drew

USUAL_MONTHS = 12
_BY = (Dimension.FACILITY, Dimension.COLLECTOR, Dimension.ATTRIBUTION, Dimension.DAY)


@dataclass(frozen=True, kw_only=True)
class Window:
    """What is asked for: months ``YYYY-MM``, by default the last twelve, and one hospital or all of them."""

    from_month: str | None = None
    to_month: str | None = None
    facility: str | None = None


EVERYTHING = Window()


@dataclass(frozen=True, kw_only=True)
class Period:
    """Months ``YYYY-MM``, both ends inclusive."""

    from_month: str
    to_month: str

    def window(self) -> Window:
        """The same months to ask for again, in every hospital."""
        return Window(from_month=self.from_month, to_month=self.to_month)

    def words(self) -> str:
        """``April 2025 to March 2026``."""
        first, last = (month_words(month, with_year=True) for month in (self.from_month, self.to_month))
        return first if first == last else _("{first} to {last}").format(first=first, last=last)


@dataclass(frozen=True, kw_only=True)
class PersonDraws:
    """One person's draws: by badge and by initials, and every set of theirs (none where sets were not asked for)."""

    count: PersonCount
    by_badge: int
    by_initials: int
    sets: tuple[DrawnSet, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PeopleMaterial:
    """What the private answer is made of. ``roles`` are those of today, by key; ``disputed`` sets count for nobody."""

    period: Period
    facility: str | None
    reading: PeopleReading
    people: tuple[PersonDraws, ...]
    roles: dict[str, str]
    disputed: int
    receipt: Receipt
    policy: Policy
    limits: PeoplePolicy

    def draws_of(self, key: str) -> PersonDraws:
        """One person's draws; ``RequestProblem`` where they have none in these months."""
        for one in self.people:
            if one.count.key == key:
                return one
        raise RequestProblem(
            _("no draws of '{key}' are known in {period}.").format(key=key, period=self.period.words()),
            fix=_("Check the key, or take the staff list in."),
        )


@dataclass
class _Tally:
    draws: int = 0
    contaminated: int = 0
    badge: int = 0
    sets: list[DrawnSet] = field(default_factory=list)

    def add(self, *, draws: int, contaminated: int, badge: bool) -> None:
        self.draws += draws
        self.contaminated += contaminated
        self.badge += draws if badge else 0


def gather_people(
    workspace: Workspace,
    window: Window = EVERYTHING,
    *,
    persons: Collection[str] = (),
    with_disputed: bool = False,
) -> PeopleMaterial:
    """Counts of everybody known; for ``persons`` every set as well.

    ``with_disputed`` counts disputed sets as if nobody had disputed them, to show the old figure beside the new one.
    ``RequestProblem`` where nothing was taken in, or where the policy has locked individual data of those months.
    """
    policy, version = current_policy(workspace), current_charter(workspace)
    place = get_facility(workspace, window.facility).name if window.facility else None
    period = settle_period(workspace, window, policy=policy)
    scope = Scope(from_month=period.from_month, to_month=period.to_month, facility=place)
    with open_snapshot(workspace) as session:
        cells = count_cells(session, version.charter, by=_BY, scope=scope)
        who = who_drew(workspace, zip(*(cells.keys[one] for one in _BY[:3]), strict=True))
        tallies, nobody = _tally(cells, who)
        disputes = {} if with_disputed else open_disputes(workspace)
        wanted = {*disputes.values(), *persons}
        marks = {pair for pair, stays in who.stays.items() if any(stay.key in wanted for stay in stays)}
        listed = drawn_sets(session, version.charter, collectors=marks, scope=scope, judge=False)
    disputed = _take_disputed(listed, who, tallies=tallies, nobody=nobody, disputes=disputes, persons=persons)
    limits = policy_people(policy)
    return PeopleMaterial(
        period=period, facility=place, people=_people(tallies), roles=_roles(workspace), disputed=disputed,
        reading=read_people(
            [one.count for one in _people(tallies)], policy=limits, unattributed=(nobody.contaminated, nobody.draws)
        ),
        receipt=receipt_of(snapshot_words(workspace), version, policy), policy=policy, limits=limits,
    )  # fmt: skip


def settle_period(workspace: Workspace, window: Window, *, policy: Policy) -> Period:
    """The months asked for, within those that the policy still opens for single people."""
    months = list_places(workspace).months
    if not months:
        raise RequestProblem(_("no file has been taken in yet."), fix=_("Take a laboratory file in first."))
    last = window.to_month or months[-1]
    first = window.from_month or month_before(last, USUAL_MONTHS - 1)
    if first > last:
        raise RequestProblem(_("the first month is after the last."), fix=_("Turn them round."))
    kept = individual_keep_months(policy)
    if first < month_before(months[-1], kept - 1):
        raise RequestProblem(
            _("figures of single people are locked after {count} months; {month} is older.").format(
                count=kept, month=month_words(first, with_year=True)
            ),
            fix=_("Ask for {month} or later.").format(
                month=month_words(month_before(months[-1], kept - 1), with_year=True)
            ),
        )
    return Period(from_month=first, to_month=last)


def open_disputes(workspace: Workspace) -> dict[tuple[str, str], str]:
    """Facility and accession of each disputed set, with the key of whose it was said not to be."""
    entries = records.SetDispute.objects.using(workspace.alias).filter(taken_back_at=None).select_related("member")
    return {(one.facility, one.accession): one.member.key for one in entries}


def _tally(cells: CellCounts, who: WhoDrew) -> tuple[dict[str, _Tally], _Tally]:
    tallies: dict[str, _Tally] = {}
    nobody = _Tally()
    columns = zip(
        *(cells.keys[one] for one in _BY), cells.denominator.tolist(), cells.numerator.tolist(), strict=True
    )  # fmt: skip
    for facility, collector, attribution, day, draws, contaminated in columns:
        found = who.person(facility=facility, collector=collector, attribution=attribution, day=day)
        tally = tallies.setdefault(found[0], _Tally()) if found else nobody
        tally.add(
            draws=draws, contaminated=contaminated, badge=found is not None and found[1] is Attribution.BADGE
        )  # fmt: skip
    return tallies, nobody


def _take_disputed(
    listed: Sequence[DrawnSet],
    who: WhoDrew,
    *,
    tallies: dict[str, _Tally],
    nobody: _Tally,
    disputes: dict[tuple[str, str], str],
    persons: Collection[str],
) -> int:
    """Takes disputed sets from their person, gives them to nobody, and lists the sets of the people asked for."""
    count = 0
    for one in listed:
        found = who.person(facility=one.facility, collector=one.collector, attribution=one.attribution, day=one.day)
        if found is None:
            continue
        if disputes.get((one.facility, one.accession)) == found[0]:
            hit, badge = int(one.set_class is SetClass.CONTAMINATED), found[1] is Attribution.BADGE
            tallies[found[0]].add(draws=-1, contaminated=-hit, badge=badge)
            nobody.add(draws=1, contaminated=hit, badge=False)
            count += 1
        elif found[0] in persons:
            tallies[found[0]].sets.append(one)
    return count


def _people(tallies: dict[str, _Tally]) -> tuple[PersonDraws, ...]:
    return tuple(
        PersonDraws(
            count=PersonCount(key=key, draws=tally.draws, contaminated=tally.contaminated),
            by_badge=tally.badge, by_initials=tally.draws - tally.badge, sets=tuple(tally.sets),
        )
        for key, tally in sorted(tallies.items())
        if tally.draws
    )  # fmt: skip


def _roles(workspace: Workspace) -> dict[str, str]:
    """The role of each person's latest stay."""
    found: dict[str, str] = {}
    for stays in list_stays(workspace).values():
        for stay in sorted(stays, key=lambda one: (one.to_day is None, str(one.to_day), str(one.from_day))):
            found[stay.key] = stay.role
    return found
