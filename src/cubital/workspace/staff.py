"""Who collects, known by keys and digests only; and whose a set was on a day.

The staff list with the names stays outside. What is kept of it: a key made up for each person, role, unit, days, and a
keyed digest of badge and initials, enough to say of a set "P4821, by badge" and not enough to say a name.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from cubital.domain.cultures import Attribution
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.facilities import facility_key, get_facility
from cubital.workspace.opening import Workspace
from cubital.workspace.staff_lists import StaffRow, read_staff_list
from cubital.workspace.unit_names import unit_key
from cubital.workspace.writing import note_change, one_transaction

KEYS = 10_000  # four digits; more people than that get longer keys


@dataclass(frozen=True, kw_only=True)
class StaffReport:
    """What a staff list brought: people on it, of whom new, and initials that two of them share on some day."""

    people: int
    new: int
    shared_initials: int
    without_badge: int


@dataclass(frozen=True, kw_only=True)
class Stay:
    """One person's time in one role. ``badge`` and ``writings`` are digests."""

    key: str
    role: str
    unit: str
    from_day: date | None
    to_day: date | None
    badge: str
    writings: frozenset[str]

    def there_on(self, day: date | None) -> bool:
        """Whether it covers that day. A set without a day is covered only by a stay that is open at both ends."""
        if day is None:
            return self.from_day is None and self.to_day is None
        return (self.from_day is None or self.from_day <= day) and (self.to_day is None or day <= self.to_day)


def import_roster(workspace: Workspace, *, file: Path, facility: str) -> StaffReport:
    """Takes a hospital's staff list in: whole, or not at all where a row is wrong (``FileProblem``).

    A person who stood on an earlier list is found again by badge, or by name where there is none, and gets the stays of
    this list; whoever is not on it stays as known. Names, badges and initials are not kept.
    """
    rows = read_staff_list(file)
    name = get_facility(workspace, facility).name
    with one_transaction(workspace) as database:
        place = records.Facility.objects.using(database).get(key=facility_key(name))
        people = _by_person(workspace, rows, facility=name)
        new = 0
        for identity, found in people.items():
            member = records.StaffMember.objects.using(database).filter(identity=identity).first()
            if member is None:
                member = records.StaffMember.objects.using(database).create(
                    key=_new_key(database, identity), facility=place, identity=identity, listed_at=datetime.now(UTC)
                )
                new += 1
            member.stays.using(database).all().delete()
            records.StaffStay.objects.using(database).bulk_create(
                _stay_of(workspace, member, one, facility=name) for one in found
            )
        report = StaffReport(
            people=len(people), new=new, shared_initials=_shared_initials(rows),
            without_badge=sum(not any(one.badge for one in found) for found in people.values()),
        )  # fmt: skip
        note_change(workspace, action="import_roster", subject=name, people=report.people, new=report.new)
    return report


def names_of(workspace: Workspace, rows: Sequence[StaffRow], *, facility: str | None = None) -> dict[str, str]:
    """The name of each known key that stands on this list, for the screen only."""
    known = records.StaffMember.objects.using(workspace.alias).select_related("facility")
    places = sorted({member.facility.name for member in known} if facility is None else {facility})
    keys = {member.identity: member.key for member in known}
    found = {}
    for place in places:
        for identity, same in _by_person(workspace, rows, facility=place).items():
            if identity in keys:
                found[keys[identity]] = same[0].name
    return found


def list_stays(workspace: Workspace) -> dict[str, tuple[Stay, ...]]:
    """Every stay by the name of its facility."""
    found: dict[str, list[Stay]] = {}
    entries = records.StaffStay.objects.using(workspace.alias).select_related("member__facility").order_by("pk")
    for entry in entries:
        found.setdefault(entry.member.facility.name, []).append(
            Stay(
                key=entry.member.key, role=entry.role, unit=entry.unit_key, from_day=entry.from_day,
                to_day=entry.to_day, badge=entry.badge, writings=frozenset(entry.writings),
            )
        )  # fmt: skip
    return {facility: tuple(stays) for facility, stays in found.items()}


@dataclass(frozen=True)
class WhoDrew:
    """Tells whose a set was: by badge (A), or by initials that one person only had on that day (B); else nobody's.

    A preceptor, the unit or whoever was on duty never gets a set that names nobody.
    """

    stays: Mapping[tuple[str, str], tuple[Stay, ...]]

    def person(
        self, *, facility: str, collector: str | None, attribution: str, day: date | None
    ) -> tuple[str, Attribution] | None:
        """The key and how sure it is, or none."""
        if collector is None or attribution not in (Attribution.BADGE, Attribution.ROSTER_OR_INITIALS):
            return None
        there = {stay.key for stay in self.stays.get((facility, collector), ()) if stay.there_on(day)}
        return (next(iter(there)), Attribution(attribution)) if len(there) == 1 else None


def who_drew(workspace: Workspace, collectors: Iterable[tuple[str, str | None, str]]) -> WhoDrew:
    """Looks the collectors (facility, collector as tidied, attribution) up among the people known."""
    every = list_stays(workspace)
    secret = workspace.secret
    index: dict[str, list[Stay]] = {}
    for stays in every.values():
        for stay in stays:
            for mark in (stay.badge, *stay.writings):
                if mark:
                    index.setdefault(mark, []).append(stay)
    found = {}
    for facility, collector, attribution in set(collectors):
        kind = "badge" if attribution == Attribution.BADGE else "written"
        same = index.get(_digest(secret, facility, kind, collector)) if collector else None
        if collector and same:
            found[facility, collector] = tuple(same)
    return WhoDrew(found)


def _by_person(workspace: Workspace, rows: Sequence[StaffRow], *, facility: str) -> dict[str, list[StaffRow]]:
    found: dict[str, list[StaffRow]] = {}
    for one in rows:
        kind, text = ("person by badge", one.badge) if one.badge else ("person by name", one.name.casefold())
        found.setdefault(_digest(workspace.secret, facility, kind, text), []).append(one)
    return found


def _stay_of(workspace: Workspace, member: records.StaffMember, row: StaffRow, *, facility: str) -> records.StaffStay:
    secret = workspace.secret
    return records.StaffStay(
        member=member,
        role=row.role[:120],
        unit_key=unit_key(row.unit)[:200],
        from_day=row.from_day,
        to_day=row.to_day,
        badge=_digest(secret, facility, "badge", row.badge) if row.badge else "",
        writings=[_digest(secret, facility, "written", text) for text in row.writings],
    )


def _digest(secret: bytes, facility: str, kind: str, text: str) -> str:
    said = "\x1f".join(("staff", facility_key(facility), kind, text))
    return hmac.new(secret, said.encode(), hashlib.sha256).hexdigest()


def _new_key(database: str, identity: str) -> str:
    """A key that says nothing of its person and comes out the same from the same list."""
    number, taken = int(identity[:12], 16), records.StaffMember.objects.using(database)
    for step in range(KEYS):
        key = f"P{(number + step) % KEYS:04d}"
        if not taken.filter(key=key).exists():
            return key
    return f"P{number % 10**12:012d}"


def _shared_initials(rows: Sequence[StaffRow]) -> int:
    """How many writings two people share: what is drawn under them while both are there stays unattributed."""
    owners: dict[str, set[str]] = {}
    for one in rows:
        for text in one.writings:
            owners.setdefault(text, set()).add(one.badge or one.name.casefold())
    return sum(len(each) > 1 for each in owners.values())


def report_words(report: StaffReport) -> str:
    """The report as one sentence."""
    return _(
        "{people} people are known, {new} of them new; {shared} initials are shared and count for nobody while both "
        "people are there. Names, badges and initials were not kept."
    ).format(people=report.people, new=report.new, shared=report.shared_initials)
