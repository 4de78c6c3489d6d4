"""The doubtful sets: listed blind, decided, taken from a filled list, withdrawn; nothing is ever written over."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import UTC, date, datetime
from pathlib import Path

import cubital
from cubital.answers.doubtful import DoubtfulCounts, DoubtfulSet, Partner, build_doubtful_answer
from cubital.answers.doubtful_file import LONGEST_WHY, Saying, good_initials, list_columns, parse_decisions
from cubital.domain.answer import Answer, Receipt
from cubital.domain.charter import SetClass
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.judge.api import Scope, count_months, judged_sets
from cubital.judge.counts import JudgedSet
from cubital.papers.doubtful_table import build_doubtful_table
from cubital.papers.table_files import Export, check_name, write_export
from cubital.workspace import records
from cubital.workspace.charters import current_charter
from cubital.workspace.decided import SetSaid, list_decisions
from cubital.workspace.exports import charter_line, common_about, line_list_words
from cubital.workspace.facilities import facility_key, get_facility
from cubital.workspace.opening import Workspace
from cubital.workspace.small_tables import read_rows
from cubital.workspace.snapshots import (
    committed_versions,
    last_batch_number,
    open_snapshot,
    open_versions,
    snapshot_words,
)
from cubital.workspace.writing import note_change, one_transaction

LETTERS = 120  # of a role


def list_doubtful(workspace: Workspace, *, from_month: str, to_month: str) -> tuple[DoubtfulSet, ...]:
    """The doubtful sets of these months with what was decided about them, in an order that tells nothing.

    A set is doubtful if the charter in force leaves it to medical microbiology before any decision. The sets of one
    series stand together.
    """
    scope = Scope(from_month=from_month, to_month=to_month)
    with open_versions(workspace, committed_versions(workspace), undecided=True) as session:
        found = judged_sets(session, current_charter(workspace).charter, scope=scope, classes=[SetClass.ADJUDICATE])
    said = {(one.facility, one.accession): one for one in list_decisions(workspace) if one.stands(None)}
    ordered = sorted(found, key=lambda one: (_shuffled(one), one.set_id))
    return tuple(_doubtful(one, said.get((one.facility, one.accession))) for one in ordered)


def doubtful_answer(workspace: Workspace, *, from_month: str, to_month: str) -> Answer:
    """How many sets wait, and how far the decisions can move the rate of these months."""
    charter = current_charter(workspace)
    doubtful = list_doubtful(workspace, from_month=from_month, to_month=to_month)
    with open_snapshot(workspace) as session:
        months = count_months(session, charter.charter, scope=Scope(from_month=from_month, to_month=to_month))
    counts = DoubtfulCounts(
        contaminated=sum(one.numerator for one in months), sets=sum(one.denominator for one in months),
        doubtful=doubtful,
    )  # fmt: skip
    receipt = Receipt(
        data=snapshot_words(workspace), charter=charter_line(charter), policy=_("no limits of the policy are used"),
        code=cubital.__version__,
    )  # fmt: skip
    return build_doubtful_answer(counts, first=from_month, last=to_month, receipt=receipt)


def decide_sets(
    workspace: Workspace, *, sayings: Sequence[Saying], initials: str, role: str, on: date
) -> tuple[SetSaid, ...]:
    """Notes what medical microbiology decided, all of it or nothing.

    ``RequestProblem`` where a set is not doubtful under the charter in force, is decided already, or where initials,
    role or reason are missing. The same decision a second time changes nothing.
    """
    signer, position = " ".join(initials.split()), " ".join(role.split())
    _check_signer(signer, position, on)
    with one_transaction(workspace) as database:
        standing = {(one.facility, one.accession): one for one in list_decisions(workspace) if one.stands(None)}
        fresh = [one for one in sayings if not _known(one, standing)]
        doubtful = _doubtful_now(workspace) if fresh else {}
        number = records.SetDecision.objects.using(database).count()
        for place, saying in enumerate(fresh, start=1):
            _note(workspace, saying, doubtful, number=number + place, initials=signer, role=position, on=on)
        if fresh:
            months = sorted({doubtful[_place(workspace, one)].month for one in fresh})
            note_change(
                workspace, action="decide_sets", subject=f"{len(fresh)} sets", role=position, months=months,
                on=on.isoformat(),
            )  # fmt: skip
    noted = {_place(workspace, one) for one in sayings}
    return tuple(
        one for one in list_decisions(workspace) if one.stands(None) and (one.facility, one.accession) in noted
    )


def withdraw_decision(workspace: Workspace, *, number: int, why: str) -> SetSaid:
    """Takes a decision back: it stays in the records with its day and ``why``, and the set waits again."""
    reason = " ".join(why.split())
    if not reason or len(reason) > LONGEST_WHY:
        raise RequestProblem(_("taking a decision back needs a reason."), fix=_("Say it in one sentence."))
    with one_transaction(workspace) as database:
        entry = records.SetDecision.objects.using(database).filter(number=number, withdrawn_at=None).first()
        if entry is None:
            raise RequestProblem(
                _("there is no decision {number} that stands.").format(number=number),
                fix=_("The list of doubtful sets shows the numbers."),
            )
        entry.withdrawn_at, entry.withdrawn_why = datetime.now(UTC), reason
        entry.save(using=database)
        note_change(workspace, action="withdraw_decision", subject=f"decision {number}", months=[entry.seen["month"]])
    return next(one for one in list_decisions(workspace) if one.number == number)


def export_doubtful(
    workspace: Workspace, *, from_month: str, to_month: str, out: Path, today: date | None = None
) -> int:
    """Writes the blind list of these months for the laboratory to fill in; gives the number of sets."""
    check_name(out)
    sets = list_doubtful(workspace, from_month=from_month, to_month=to_month)
    about = (
        (
            _("what"),
            _("sets that the charter leaves to medical microbiology; fill in decision and why, and send it back"),
        ),
        (_("blind"), _("no unit, no collector and no hour: nobody should see whom a decision hurts")),
        (_("for whom"), line_list_words()),
        (_("months"), f"{from_month} {to_month}"),
        (_("charter"), charter_line(current_charter(workspace))),
        (_("data"), snapshot_words(workspace)),
        *common_about(today),
    )
    return write_export(Export(tables=(build_doubtful_table(sets),), about=about), out)


def take_decisions(workspace: Workspace, *, file: Path, initials: str, role: str, on: date) -> tuple[SetSaid, ...]:
    """Takes the list that the laboratory filled in, whole or not at all; the same list again changes nothing."""
    name, rows = read_rows(file, advice=list_columns().advice)
    return decide_sets(workspace, sayings=parse_decisions(rows, where=name), initials=initials, role=role, on=on)


def _check_signer(initials: str, role: str, on: date) -> None:
    if not good_initials(initials):
        raise RequestProblem(
            _("'{text}' are no initials.").format(text=initials[:20]), fix=_("Write one to six letters, such as BR.")
        )
    if not role or len(role) > LETTERS:
        raise RequestProblem(_("a decision needs the role of who decides."), fix=_("Such as: medical microbiology."))
    if on > datetime.now(UTC).date():
        raise RequestProblem(_("this day has not come yet."), fix=_("Give today or an earlier day."))


def _known(saying: Saying, standing: dict[tuple[str, str], SetSaid]) -> bool:
    """Whether exactly that was decided before; another decision about the set has to be withdrawn first."""
    before = next((one for key, one in standing.items() if _same_place(saying, key)), None)
    if before is None:
        return False
    if before.decision is saying.decision:
        return True
    raise RequestProblem(
        _("set {accession} was decided already, by {initials} on {day}.").format(
            accession=saying.accession, initials=before.initials, day=before.on.isoformat()
        ),
        fix=_("Take decision {number} back first, with the reason.").format(number=before.number),
    )


def _same_place(saying: Saying, key: tuple[str, str]) -> bool:
    return facility_key(saying.facility) == facility_key(key[0]) and saying.accession == key[1]


def _place(workspace: Workspace, saying: Saying) -> tuple[str, str]:
    return get_facility(workspace, saying.facility).name, saying.accession


def _doubtful_now(workspace: Workspace) -> dict[tuple[str, str], JudgedSet]:
    with open_versions(workspace, committed_versions(workspace), undecided=True) as session:
        found = judged_sets(session, current_charter(workspace).charter, classes=[SetClass.ADJUDICATE])
    return {(one.facility, one.accession): one for one in found}


def _note(
    workspace: Workspace,
    saying: Saying,
    doubtful: dict[tuple[str, str], JudgedSet],
    *,
    number: int,
    initials: str,
    role: str,
    on: date,
) -> None:
    facility, accession = _place(workspace, saying)
    seen = doubtful.get((facility, accession))
    if seen is None:
        raise RequestProblem(
            _("set {accession} of {facility} is not doubtful under the charter in force.").format(
                accession=accession[:40], facility=facility
            ),
            fix=_("Decide the sets that the list of doubtful sets shows."),
        )
    why = " ".join(saying.why.split())
    if not why or len(why) > LONGEST_WHY:
        raise RequestProblem(
            _("the decision about set {accession} has no reason.").format(accession=accession),
            fix=_("Say it in one sentence."),
        )
    records.SetDecision.objects.using(workspace.alias).create(
        number=number, facility=records.Facility.objects.using(workspace.alias).get(name=facility),
        accession=accession, decision=saying.decision, initials=initials, role=role, why=why, decided_on=on,
        seen={"month": seen.month, "class": seen.set_class, "reason": seen.reason},
        batch=last_batch_number(workspace), noted_at=datetime.now(UTC),
    )  # fmt: skip


def _shuffled(one: JudgedSet) -> str:
    """An order of series that is always the same and tells neither unit nor hour."""
    return hashlib.sha256(f"{one.facility} {one.series_id}".encode()).hexdigest()


def _doubtful(one: JudgedSet, said: SetSaid | None) -> DoubtfulSet:
    return DoubtfulSet(
        facility=one.facility, accession=one.accession, month=one.month, day=one.day, reason=one.reason,
        organisms=one.organisms,
        partners=tuple(Partner(accession=other.accession, organisms=other.organisms) for other in one.companions),
        decision=said.decision if said else None, number=said.number if said else 0,
        by=f"{said.initials}, {said.role}" if said else "", why=said.why if said else "",
    )  # fmt: skip
