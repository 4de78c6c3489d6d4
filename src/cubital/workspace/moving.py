"""Takes a file of ward movements in: each exactly timed set then belongs to the unit where its patient was."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from cubital.domain.reconciliation import Tally
from cubital.domain.words import _
from cubital.workspace.accepting import (
    READING_SHARE,
    Arrival,
    Change,
    Progress,
    accept_batch,
    find_batch_of,
    find_same_batch,
    open_reading,
    prepare_arrival,
    recover,
)
from cubital.workspace.batches import BatchReport
from cubital.workspace.compacting import compact_if_crowded
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import last_batch_number
from cubital.workspace.taking import NO_ANSWERS
from cubital.workspace.writing import hold_workspace


@dataclass(frozen=True, kw_only=True)
class MovementReport:
    """What became of a file of movements. ``rows == stays + sum of losses``.

    ``added``, ``changed`` and ``unchanged`` count stays by patient and start; ``moved_sets`` the stored sets that now
    belong to another unit, in ``changed_months`` (``YYYY-MM``). Later files are placed by the same movements.
    """

    rows: int
    stays: int
    losses: tuple[Tally, ...]
    doubts: tuple[Tally, ...]
    batch: int
    already_taken: bool
    added: int
    changed: int
    unchanged: int
    moved_sets: int
    changed_months: tuple[str, ...]
    facility: str
    file_name: str
    notes: tuple[str, ...]


def take_movements(
    workspace: Workspace,
    *,
    file: Path | str,
    facility: str,
    timezone: str | None = None,
    source: str | None = None,
    accept: bool = False,
    answers: Mapping[str, str] = NO_ANSWERS,
    progress: Progress | None = None,
) -> MovementReport:
    """Takes one file of ward movements (patient, unit, from, to) for one facility.

    Arguments and errors are those of ``take_file``. The patients must be keyed by the same numbers as in the
    laboratory's files.
    """
    show: Progress = progress or (lambda _step, _fraction: None)
    with hold_workspace(workspace, waiting=lambda: show(_("Waiting for another run to finish"), 0.0)):
        arrival = prepare_arrival(
            workspace, kind="movements", file=file, facility=facility, timezone=timezone, source=source,
            accept=accept, answers=answers,
        )  # fmt: skip
        same = find_same_batch(workspace, arrival)
        report = (
            _report(same, already_taken=True, moved_sets=0)
            if same
            else _take(workspace, arrival, accept=accept, show=show)
        )
    show(_("Done"), 1.0)
    return report


def _take(workspace: Workspace, arrival: Arrival, *, accept: bool, show: Progress) -> MovementReport:
    from cubital.intake.movements import read_movements

    versions = recover(workspace)
    number = last_batch_number(workspace) + 1
    with open_reading(workspace) as session:
        intake = read_movements(
            session, arrival.path, facility=arrival.facility, secret=workspace.secret, memory=arrival.memory,
            accept=accept,
        )  # fmt: skip
        show(_("Comparing with what is stored"), READING_SHARE)
        outcome = workspace.cultures.merge_movements(session, versions=versions, batch=number)
        known = find_batch_of(workspace, arrival, intake.fingerprint)
        if known and not (outcome.added or outcome.changed or outcome.moved_sets):
            return _report(known, already_taken=True, moved_sets=0)
        workspace.rows.write(session, batch=number, fates="movement_fates")
    batch = accept_batch(
        workspace,
        arrival=arrival,
        number=number,
        fingerprint=intake.fingerprint,
        reconciliation=intake.reconciliation,
        memory=intake.memory,
        notes=tuple(intake.notes),
        change=Change(
            versions=outcome.versions,
            added=outcome.added,
            changed=outcome.changed,
            unchanged=outcome.unchanged,
            outdated=0,
            changed_months=outcome.changed_months,
        ),
    )
    report = _report(batch, already_taken=False, moved_sets=outcome.moved_sets)
    return replace(report, notes=(*report.notes, *compact_if_crowded(workspace)))


def _report(batch: BatchReport, *, already_taken: bool, moved_sets: int) -> MovementReport:
    account = batch.reconciliation
    return MovementReport(
        rows=account.rows,
        stays=account.sets,
        losses=account.losses,
        doubts=account.doubts,
        batch=batch.number,
        already_taken=already_taken,
        added=0 if already_taken else batch.added,
        changed=0 if already_taken else batch.changed,
        unchanged=batch.added + batch.changed + batch.unchanged if already_taken else batch.unchanged,
        moved_sets=moved_sets,
        changed_months=() if already_taken else batch.changed_months,
        facility=batch.facility,
        file_name=batch.file_name,
        notes=batch.notes,
    )
