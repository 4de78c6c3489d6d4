"""Reads a file to the end and stores nothing: what it is, what it would change, what is still open."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING

from cubital.domain.errors import Question, QuestionsOpen
from cubital.domain.reconciliation import Reconciliation
from cubital.store.merging import FileMonth, MergePlan, read_file_months
from cubital.store.moving import MovementPlan
from cubital.workspace.accepting import Arrival, Progress, find_same_batch, open_reading, prepare_arrival
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import committed_versions

if TYPE_CHECKING:
    from cubital.intake.doubtful_names import DoubtfulName
    from cubital.intake.inspection import Inspection

NO_ANSWERS: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, kw_only=True)
class Preview:
    """What taking the file would do. ``questions`` must be settled first; until then the last four are none or empty.

    ``already_taken`` is the batch that took this very file, or none. ``months`` puts the file beside what is stored.
    ``names`` are the organisms that were not simply known, with proposals.
    """

    file_name: str
    facility: str
    timezone: str
    source: str
    already_taken: int | None
    inspection: Inspection
    questions: tuple[Question, ...]
    reconciliation: Reconciliation | None
    plan: MergePlan | None
    months: tuple[FileMonth, ...]
    names: tuple[DoubtfulName, ...]


@dataclass(frozen=True, kw_only=True)
class MovementPreview:
    """What taking a file of ward movements would do; ``reconciliation`` counts stays where others count sets.

    ``questions`` must be settled first; until then ``reconciliation`` and ``plan`` are none.
    """

    already_taken: int | None
    questions: tuple[Question, ...]
    reconciliation: Reconciliation | None
    plan: MovementPlan | None
    notes: tuple[str, ...]


def preview_movements(
    workspace: Workspace,
    *,
    file: Path | str,
    facility: str,
    timezone: str | None = None,
    source: str | None = None,
    accept: bool = True,
    answers: Mapping[str, str] = NO_ANSWERS,
) -> MovementPreview:
    """Reads one file of ward movements as ``take_movements`` would, and leaves the workspace as it is.

    Errors are those of ``preview_file``.
    """
    from cubital.intake.movements import read_movements

    arrival = prepare_arrival(
        workspace, kind="movements", file=file, facility=facility, timezone=timezone, source=source,
        accept=accept, answers=answers,
    )  # fmt: skip
    same = find_same_batch(workspace, arrival)
    number = same.number if same else None
    with open_reading(workspace) as session:
        try:
            intake = read_movements(
                session, arrival.path, facility=arrival.facility, secret=workspace.secret, memory=arrival.memory,
                accept=accept,
            )  # fmt: skip
        except QuestionsOpen as open_now:
            return MovementPreview(
                already_taken=number, questions=open_now.questions, reconciliation=None, plan=None, notes=()
            )
        plan = workspace.cultures.plan_movements(session, versions=committed_versions(workspace))
    return MovementPreview(
        already_taken=number, questions=(), reconciliation=intake.reconciliation, plan=plan, notes=tuple(intake.notes)
    )


def preview_file(
    workspace: Workspace,
    *,
    file: Path | str,
    facility: str,
    timezone: str | None = None,
    source: str | None = None,
    accept: bool = True,
    answers: Mapping[str, str] = NO_ANSWERS,
    progress: Progress | None = None,
) -> Preview:
    """Reads one laboratory file as ``take_file`` would, with the same arguments, and leaves the workspace as it is.

    Raises ``FileProblem`` where the file cannot be used, ``QuestionsOpen`` where its facility's time zone is not known;
    other questions come back in the preview.
    """
    from cubital.intake.inspection import inspect_file

    arrival = prepare_arrival(
        workspace, kind="cultures", file=file, facility=facility, timezone=timezone, source=source,
        accept=accept, answers=answers,
    )  # fmt: skip
    same = find_same_batch(workspace, arrival)
    inspection = inspect_file(arrival.path, memory=arrival.memory)
    questions: tuple[Question, ...] = ()
    try:
        account, plan, months, names = _dry_run(workspace, arrival, accept=accept, progress=progress)
    except QuestionsOpen as still_open:
        questions, account, plan, months = still_open.questions, None, None, ()
        names = ()
    return Preview(
        file_name=arrival.path.name,
        facility=arrival.facility.name,
        timezone=arrival.facility.timezone,
        source=arrival.source,
        already_taken=same.number if same else None,
        inspection=inspection,
        questions=questions,
        reconciliation=account,
        plan=plan,
        months=months,
        names=names,
    )


def _dry_run(
    workspace: Workspace, arrival: Arrival, *, accept: bool, progress: Progress | None
) -> tuple[Reconciliation, MergePlan, tuple[FileMonth, ...], tuple[DoubtfulName, ...]]:
    from cubital.intake.doubtful_names import read_doubtful_names
    from cubital.intake.reading import read_cultures

    with open_reading(workspace) as session:
        intake = read_cultures(
            session, arrival.path, facility=arrival.facility, secret=workspace.secret, memory=arrival.memory,
            accept=accept, progress=progress or (lambda _step, _fraction: None),
        )  # fmt: skip
        plan = workspace.cultures.plan(session, versions=committed_versions(workspace))
        return intake.reconciliation, plan, read_file_months(session), read_doubtful_names(session)
