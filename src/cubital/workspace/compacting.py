"""Joins the many small files of a month into one: the same rows, read faster. One record makes it count.

The record of a compaction is a commit point like that of a batch: until it is there, readers open the versions that the
batch named, and what an interrupted compaction left is undone by the next writer.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from cubital.domain.errors import MachineProblem, WorkspaceProblem
from cubital.domain.words import _
from cubital.store.compacting import CompactionOutcome, FilesOfMonth
from cubital.workspace import records
from cubital.workspace.accepting import recover
from cubital.workspace.fingerprints import compaction_list, note_fingerprints
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import committed_versions, last_batch_number, last_compaction_number
from cubital.workspace.writing import hold_workspace, note_change, one_transaction, said_plainly

CROWDED = 12  # small files of one month, from which on they are joined without being asked


@dataclass(frozen=True, kw_only=True)
class CompactionReport:
    """What was joined, or would be: months (of any table), and how many files become how many.

    ``number`` is none where nothing was done: there was nothing to join, or only the plan was asked for; then
    ``files_after`` is the least that is possible.
    """

    number: int | None
    months: tuple[str, ...]
    files_before: int
    files_after: int


def plan_compaction(workspace: Workspace, *, at_least: int = 2) -> CompactionReport:
    """What ``compact_workspace`` would join now; nothing is changed."""
    crowded = workspace.cultures.crowded_months(committed_versions(workspace), at_least=at_least)
    return _report(crowded, None)


def compact_workspace(workspace: Workspace, *, at_least: int = 2) -> CompactionReport:
    """Joins the files of every month that lies in ``at_least`` small files or more; nothing where there is none.

    No row changes, no answer changes, no set gets another number, and the old files stay until they are let go.
    """
    with hold_workspace(workspace):
        recover(workspace)
        return _compact(workspace, at_least=at_least)


def compact_if_crowded(workspace: Workspace) -> tuple[str, ...]:
    """Joins only months that lie in many files; for a writer that holds the workspace and has just committed.

    Trouble of the machine cannot touch what was committed: it comes back as a note, and the next writer tries again.
    """
    try:
        with said_plainly(workspace.folder):
            _compact(workspace, at_least=CROWDED)
    except (MachineProblem, WorkspaceProblem) as problem:
        note = _("The file is in. Joining the small files of its months was put off: {problem}")
        return (note.format(problem=problem.sentence()),)
    return ()


def _compact(workspace: Workspace, *, at_least: int) -> CompactionReport:
    versions = committed_versions(workspace)
    crowded = workspace.cultures.crowded_months(versions, at_least=at_least)
    if not crowded:
        return _report(crowded, None)
    number = last_compaction_number(workspace) + 1
    outcome = workspace.cultures.compact(crowded, versions=versions, number=number)
    _record(workspace, outcome, number=number)
    report = _report(crowded, number)
    return CompactionReport(
        number=number, months=report.months, files_before=report.files_before, files_after=outcome.files_after
    )


def _record(workspace: Workspace, outcome: CompactionOutcome, *, number: int) -> None:
    note_fingerprints(workspace, name=compaction_list(number), versions=outcome.versions)
    with one_transaction(workspace) as database:
        records.Compaction.objects.using(database).create(
            number=number,
            batch=last_batch_number(workspace),
            compacted_at=datetime.now(UTC),
            files_before=outcome.files_before,
            files_after=outcome.files_after,
            sets_version=outcome.versions.sets,
            bottles_version=outcome.versions.bottles,
            isolates_version=outcome.versions.isolates,
            movements_version=outcome.versions.movements,
        )
        note_change(
            workspace, action="compact", subject=f"compaction {number}", files_before=outcome.files_before,
            files_after=outcome.files_after,
        )  # fmt: skip


def _report(crowded: tuple[FilesOfMonth, ...], number: int | None) -> CompactionReport:
    return CompactionReport(
        number=number,
        months=tuple(sorted({found.month for found in crowded})),
        files_before=sum(len(found.files) for found in crowded),
        files_after=len(crowded),
    )
