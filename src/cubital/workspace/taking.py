"""Takes a laboratory file in: read, merged, and, in one transaction at the very end, accepted.

Until that transaction the workspace is as it was, whatever happens; after it, everything is in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from cubital.domain.errors import Question, QuestionsOpen
from cubital.domain.reconciliation import Tally
from cubital.domain.words import _, ngettext
from cubital.engine import Session
from cubital.store.cultures import MergeOutcome
from cubital.store.merging import MergePlan
from cubital.workspace.accepting import (
    OTHER_PATIENTS,
    READING_SHARE,
    Arrival,
    Change,
    Progress,
    accept_batch,
    elsewhere_note,
    find_batch_of,
    find_same_batch,
    open_reading,
    prepare_arrival,
    recover,
)
from cubital.workspace.batches import BatchReport
from cubital.workspace.compacting import compact_if_crowded
from cubital.workspace.export_folders import as_one_file
from cubital.workspace.opening import Workspace
from cubital.workspace.previewing import NO_ANSWERS, Preview, preview_file
from cubital.workspace.snapshots import last_batch_number
from cubital.workspace.writing import hold_workspace

if TYPE_CHECKING:
    from cubital.intake.reading import Intake

__all__ = ["NO_ANSWERS", "Preview", "TakeReport", "preview_file", "take_file"]

MANY_OTHER_PATIENTS = 5  # fewer are corrections of single specimens


@dataclass(frozen=True, kw_only=True)
class TakeReport:
    """What became of a file. ``rows == sets + sum of losses``; ``sets`` are the valid sets in the file.

    ``added``, ``changed``, ``unchanged`` and ``outdated`` say what the file meant for the stored sets; all are 0 where
    ``already_taken``. ``changed_months`` (``YYYY-MM``) had figures before and have others now.
    """

    rows: int
    sets: int
    losses: tuple[Tally, ...]
    doubts: tuple[Tally, ...]
    batch: int
    already_taken: bool
    added: int
    changed: int
    unchanged: int
    outdated: int
    changed_months: tuple[str, ...]
    facility: str
    source: str
    file_name: str
    notes: tuple[str, ...]


def take_file(
    workspace: Workspace,
    *,
    file: Path | str,
    facility: str,
    timezone: str | None = None,
    source: str | None = None,
    accept: bool = False,
    answers: Mapping[str, str] = NO_ANSWERS,
    progress: Progress | None = None,
) -> TakeReport:
    """Takes one laboratory file for one facility; a folder of ``*.ndjson`` is taken as one FHIR export.

    ``source`` names the kind of file, so that its columns are recognised again (the facility's name if left out);
    ``accept`` takes what is proposed without rival; ``answers`` settle open questions by key. ``progress`` is called
    with a sentence and a fraction (0 to 1). A file taken before changes nothing and is said to be. Raises
    ``FileProblem``, ``QuestionsOpen`` or ``RequestProblem``, and then nothing is changed.
    """
    show = progress or _nothing
    waiting = _("Waiting for another run to finish")
    with (
        as_one_file(Path(file).expanduser().absolute()) as path,
        hold_workspace(workspace, waiting=lambda: show(waiting, 0.0)),
    ):
        arrival = prepare_arrival(
            workspace, kind="cultures", file=path, facility=facility, timezone=timezone, source=source,
            accept=accept, answers=answers,
        )  # fmt: skip
        same = find_same_batch(workspace, arrival)
        report = _report_again(same) if same else _take(workspace, arrival, accept=accept, show=show)
    show(_("Done"), 1.0)
    return report


def _take(workspace: Workspace, arrival: Arrival, *, accept: bool, show: Progress) -> TakeReport:
    from cubital.intake.reading import read_cultures

    versions = recover(workspace)
    number = last_batch_number(workspace) + 1
    with open_reading(workspace) as session:
        intake = read_cultures(
            session, arrival.path, facility=arrival.facility, secret=workspace.secret, memory=arrival.memory,
            accept=accept, progress=lambda step, fraction: show(step, READING_SHARE * fraction),
        )  # fmt: skip
        show(_("Comparing with what is stored"), READING_SHARE)
        known = find_batch_of(workspace, arrival, intake.fingerprint)
        plan = workspace.cultures.plan(session, versions=versions, taken_as=known.number if known else None)
        _check_patients(plan, arrival)
        outcome = workspace.cultures.merge(session, versions=versions, batch=number, plan=plan)
        if known and not (outcome.added or outcome.changed):
            return _report_again(known)
        report = _accept(workspace, session, arrival=arrival, number=number, intake=intake, outcome=outcome)
    return replace(report, notes=(*report.notes, *compact_if_crowded(workspace)))


def _check_patients(plan: MergePlan, arrival: Arrival) -> None:
    """Asks before the sets of one hospital are overwritten by another's that happen to carry the same numbers."""
    suspicious = plan.other_patients >= MANY_OTHER_PATIENTS and 2 * plan.other_patients > plan.compared_patients
    if not suspicious or arrival.memory.answers.get(OTHER_PATIENTS) == "yes":
        return
    text = _(
        "{count} of the {all} sets of {facility} that this file speaks of again belong to other patients there. "
        "Is it really a file of {facility}, with the same kind of patient number as before?"
    ).format(count=plan.other_patients, all=plan.compared_patients, facility=arrival.facility.name)
    raise QuestionsOpen([Question(OTHER_PATIENTS, text, ("yes",))], where=arrival.path.name)


def _accept(
    workspace: Workspace, session: Session, *, arrival: Arrival, number: int, intake: Intake, outcome: MergeOutcome
) -> TakeReport:
    workspace.rows.write(session, batch=number, fates="row_fates", doubts="row_doubts")
    notes = (
        *intake.notes,
        *_outcome_notes(outcome),
        *elsewhere_note(workspace, arrival, intake.fingerprint),
    )
    batch = accept_batch(
        workspace,
        arrival=arrival,
        number=number,
        fingerprint=intake.fingerprint,
        reconciliation=intake.reconciliation,
        memory=intake.memory,
        notes=notes,
        change=Change(
            versions=outcome.versions,
            added=outcome.added,
            changed=outcome.changed,
            unchanged=outcome.unchanged,
            outdated=outcome.outdated,
            changed_months=outcome.changed_months,
        ),
    )
    return _report(batch)


def _report(batch: BatchReport) -> TakeReport:
    account = batch.reconciliation
    return TakeReport(
        rows=account.rows,
        sets=account.sets,
        losses=account.losses,
        doubts=account.doubts,
        batch=batch.number,
        already_taken=False,
        added=batch.added,
        changed=batch.changed,
        unchanged=batch.unchanged,
        outdated=batch.outdated,
        changed_months=batch.changed_months,
        facility=batch.facility,
        source=batch.source,
        file_name=batch.file_name,
        notes=batch.notes,
    )


def _report_again(batch: BatchReport) -> TakeReport:
    """The report of a file that was taken before: its own account, and no change now."""
    return replace(
        _report(batch),
        already_taken=True,
        added=0,
        changed=0,
        unchanged=batch.added + batch.changed + batch.unchanged,
        changed_months=(),
        notes=(
            _("This file was taken before, as batch {number}: nothing changed.").format(number=batch.number),
            *batch.notes,
        ),
    )


def _outcome_notes(outcome: MergeOutcome) -> tuple[str, ...]:
    notes = []
    if outcome.outdated:
        text = ngettext(
            "{count} preliminary result was left aside: its final result is stored already.",
            "{count} preliminary results were left aside: their final results are stored already.",
            outcome.outdated,
        )
        notes.append(text.format(count=outcome.outdated))
    if outcome.reused:
        text = ngettext(
            "{count} set carries an accession number that an older set has; it is kept as a set of its own.",
            "{count} sets carry an accession number that an older set has; they are kept as sets of their own.",
            outcome.reused,
        )
        notes.append(text.format(count=outcome.reused))
    return tuple(notes)


def _nothing(_step: str, _fraction: float) -> None:
    """Progress that nobody watches."""
