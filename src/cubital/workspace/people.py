"""Questions about people, for the private page and the private command: who gains most from support, fairly.

Nothing here writes a file with names and rates, and nothing above can ask for one: names are put beside keys on the
screen only, from a staff list that is not kept.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path

import cubital
from cubital.answers.people import build_people_answer
from cubital.answers.people_counts import PeopleCounts, parse_people_rows, parse_people_text
from cubital.answers.people_dispute import build_dispute_answer, without
from cubital.answers.people_reading import PeoplePolicy, PeopleReading, read_people
from cubital.domain.answer import Answer, Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.opening import Workspace
from cubital.workspace.people_gathering import EVERYTHING, PeopleMaterial, Window, gather_people
from cubital.workspace.small_tables import read_small_table
from cubital.workspace.writing import note_change, one_transaction

OPENED = "open_people"


class Purpose(StrEnum):
    """What private figures may be opened for. There is no other purpose, and pay or discipline is none of them."""

    SUPPORT = "support"
    LETTERS = "letters"
    REPLY = "reply"
    CORRECTION = "correction"


@dataclass(frozen=True, kw_only=True)
class Opening:
    """One time that private figures were opened: when, for what, by page or command, over how many people."""

    at: datetime
    purpose: Purpose
    by: str
    people: int


def purpose_name(purpose: Purpose) -> str:
    """The purpose as a person chooses it."""
    return {
        Purpose.SUPPORT: _("to offer support"),
        Purpose.LETTERS: _("to make private letters"),
        Purpose.REPLY: _("to answer somebody about their own draws"),
        Purpose.CORRECTION: _("to put something right"),
    }[purpose]


def people_answer(
    workspace: Workspace, *, from_month: str | None = None, to_month: str | None = None, facility: str | None = None
) -> Answer:
    """Who should be offered support first, over months ``YYYY-MM`` (the last twelve by default); private.

    ``RequestProblem`` where nothing was taken in, or the policy has locked individual figures of those months.
    """
    material = gather_people(workspace, Window(from_month=from_month, to_month=to_month, facility=facility))
    return build_people_answer(material.reading, receipt=material.receipt)


def read_people_counts(path: Path) -> PeopleCounts:
    """Counts of people by code from a small table; ``FileProblem`` names what is wrong in it."""
    table = read_small_table(path, too_large=_("this is too large for a table of counts by person."))
    if table.rows is not None:
        return parse_people_rows(table.rows, where=table.name)
    return parse_people_text(table.text or "", where=table.name)


def counts_reading(counts: PeopleCounts, *, policy: PeoplePolicy | None = None) -> PeopleReading:
    """The reading of counts alone; needs no workspace and stores nothing."""
    return read_people(counts.people, policy=policy or PeoplePolicy(), unattributed=counts.unattributed)


def people_answer_from_counts(counts: PeopleCounts, *, policy: PeoplePolicy | None = None) -> Answer:
    """The same answer from counts alone."""
    return build_people_answer(counts_reading(counts, policy=policy), receipt=counts_receipt())


def dispute_in_counts(counts: PeopleCounts, *, key: str, draws: int, contaminated: int) -> Answer:
    """Old and new figures of one person had so many of their draws not been theirs, from counts alone."""
    try:
        fewer = without(counts.people, key=key, draws=draws, contaminated=contaminated)
    except ValueError as problem:
        raise RequestProblem(str(problem)) from None
    nobody = counts.unattributed[0] + contaminated, counts.unattributed[1] + draws
    old, new = counts_reading(counts), counts_reading(PeopleCounts(people=fewer, unattributed=nobody))
    return _dispute(old, new, key=key, receipt=counts_receipt())


def counts_receipt() -> Receipt:
    """What an answer from counts alone rests on."""
    return Receipt(
        data=_("counts alone"), charter=_("no charter: counts were given ready made"), policy="",
        code=cubital.__version__,
    )  # fmt: skip


def record_opening(workspace: Workspace, *, purpose: Purpose, by: str, people: int) -> None:
    """Notes that private figures were opened. Counts and the purpose only; whose they were is not written down."""
    with one_transaction(workspace):
        note_change(workspace, action=OPENED, subject=purpose.value, by=by, people=people)


def list_openings(workspace: Workspace, *, limit: int = 50) -> tuple[Opening, ...]:
    """The last times private figures were opened, newest first."""
    found = records.AuditLine.objects.using(workspace.alias).filter(action=OPENED).order_by("-id")[:limit]
    return tuple(
        Opening(at=line.at, purpose=Purpose(line.subject), by=line.detail["by"], people=line.detail["people"])
        for line in found
    )


def dispute_sets(workspace: Workspace, window: Window = EVERYTHING, *, key: str, accessions: Collection[str]) -> Answer:
    """Notes that these sets were not this person's, and shows the figures with and without all disputed ones.

    Always allowed, whoever says so. ``RequestProblem`` where a set is not counted as theirs; nothing is noted then.
    """
    before = gather_people(workspace, window, persons=(key,), with_disputed=True)
    theirs = {one.accession: one for one in before.draws_of(key).sets}
    unknown = sorted(set(accessions) - theirs.keys())
    if unknown:
        raise RequestProblem(
            _("not counted as drawn by {key} in these months: {accessions}.").format(
                key=key, accessions=", ".join(unknown[:8])
            ),
            fix=_("Their own list of sets shows the numbers."),
        )
    with one_transaction(workspace) as database:
        member = find_member(workspace, key)
        for accession in sorted(set(accessions)):
            records.SetDispute.objects.using(database).get_or_create(
                member=member, facility=theirs[accession].facility, accession=accession, taken_back_at=None,
                defaults={"noted_at": datetime.now(UTC)},
            )  # fmt: skip
        note_change(workspace, action="dispute_sets", subject="people", sets=len(set(accessions)))
    return dispute_answer(workspace, window, key=key)


def take_back_disputes(workspace: Workspace, *, key: str, accessions: Collection[str] = ()) -> int:
    """Takes disputes of a person back, all of them where no set is named; gives how many."""
    with one_transaction(workspace) as database:
        found = records.SetDispute.objects.using(database).filter(
            member=find_member(workspace, key), taken_back_at=None
        )
        if accessions:
            found = found.filter(accession__in=list(accessions))
        count = int(found.update(taken_back_at=datetime.now(UTC)))
        note_change(workspace, action="take_back_disputes", subject="people", sets=count)
    return count


def dispute_answer(workspace: Workspace, window: Window = EVERYTHING, *, key: str) -> Answer:
    """The person's figures with and without what is disputed now."""
    old = gather_people(workspace, window, with_disputed=True)
    new = gather_people(workspace, window)
    return _dispute(old.reading, new.reading, key=key, receipt=new.receipt)


def _dispute(old: PeopleReading, new: PeopleReading, *, key: str, receipt: Receipt) -> Answer:
    try:
        return build_dispute_answer(old, new, key=key, receipt=receipt)
    except KeyError:
        raise RequestProblem(_("nobody here has the key '{key}'.").format(key=key)) from None


def find_member(workspace: Workspace, key: str) -> records.StaffMember:
    """The person of that key; ``RequestProblem`` where there is none."""
    member = records.StaffMember.objects.using(workspace.alias).filter(key=key).first()
    if member is None:
        raise RequestProblem(
            _("nobody here has the key '{key}'.").format(key=key), fix=_("The private list shows the keys.")
        )
    return member


def open_people(workspace: Workspace, window: Window = EVERYTHING, *, purpose: Purpose, by: str) -> PeopleMaterial:
    """Gathers private figures and records that they were opened, in that order: what fails was not opened."""
    material = gather_people(workspace, window)
    record_opening(workspace, purpose=purpose, by=by, people=len(material.people))
    return material
