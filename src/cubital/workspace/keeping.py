"""What a workspace has promised to keep: the states that can be opened again, and every file that they rest on."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from cubital.domain.errors import WorkspaceProblem
from cubital.domain.snapshots import TableVersions
from cubital.domain.words import _
from cubital.store.delta import NO_VERSION, DeltaFolder
from cubital.store.shapes import STORED
from cubital.workspace import records
from cubital.workspace.opening import CULTURES, ROWS, SECRET, Workspace
from cubital.workspace.snapshots import last_batch_number, last_compaction_number, state_of
from cubital.workspace.writing import hold_workspace, said_plainly

LOG = "_delta_log"
FROZEN = "fingerprints.txt"  # what the folder of a frozen month is known by


@dataclass(frozen=True, kw_only=True)
class KeptState:
    """A state that can be opened again: the batch that left it, and the versions that hold it now."""

    batch: int
    versions: TableVersions


@dataclass(frozen=True, kw_only=True)
class KeptFile:
    """One file that the workspace rests on. ``name`` is relative to the workspace, with slashes.

    ``bytes`` and ``rows`` are what was noted when the file was accepted, none where that was not noted; ``month`` is
    the month that its rows belong to, or nothing.
    """

    name: str
    bytes: int | None = None
    rows: int | None = None
    month: str = ""


def kept_states(workspace: Workspace) -> tuple[KeptState, ...]:
    """Every state that is still promised, oldest first."""
    entries = records.Batch.objects.using(workspace.alias).filter(released_at=None).order_by("number")
    return tuple(KeptState(batch=entry.number, versions=state_of(workspace, entry)) for entry in entries)


def kept_files(workspace: Workspace) -> tuple[KeptFile, ...]:
    """Every file that the promised states, the accounts of the batches and the secret rest on, by name."""
    found = [KeptFile(name=SECRET), *_row_files(workspace), *frozen_files(workspace)]
    states = kept_states(workspace)
    for table in STORED:
        versions = {getattr(state.versions, table) for state in states} - {NO_VERSION}
        found += table_files(workspace.cultures.table(table), versions)
    return tuple(sorted(found, key=lambda file: file.name))


def table_files(table: DeltaFolder, versions: set[int]) -> list[KeptFile]:
    """The files of these versions of a table, with the log up to the newest of them."""
    if not versions:
        return []
    stored = {file.path: file for version in versions for file in table.files(version)}
    place = f"{CULTURES}/{table.table}"
    files = [
        KeptFile(name=f"{place}/{file.path}", bytes=file.size, rows=file.rows, month=file.month)
        for file in stored.values()
    ]
    return files + [KeptFile(name=f"{place}/{LOG}/{path.name}") for path in log_files(table, max(versions))]


def log_files(table: DeltaFolder, newest: int) -> list[Path]:
    """The log of a table up to a version. The note of the last checkpoint only saves time, and is made anew."""
    entries = (path for path in (table.folder / LOG).iterdir() if path.name[:20].isdigit())
    return sorted(path for path in entries if int(path.name[:20]) <= newest and path.suffix in (".json", ".parquet"))


def row_file_names(workspace: Workspace, batch: int) -> list[str]:
    """The two files that say what became of every row of a batch."""
    return [f"{ROWS}/{workspace.rows.path(batch, kind).name}" for kind in ("fates", "doubts")]


def _row_files(workspace: Workspace) -> Iterator[KeptFile]:
    for entry in records.Batch.objects.using(workspace.alias).order_by("number"):
        fates, doubts = row_file_names(workspace, entry.number)
        yield KeptFile(name=fates, rows=entry.reconciliation["rows"])
        yield KeptFile(name=doubts)


def frozen_files(workspace: Workspace) -> Iterator[KeptFile]:
    """Frozen months that somebody laid into the workspace folder itself."""
    for mark in sorted(workspace.folder.glob(f"*/{FROZEN}")):
        for path in sorted(mark.parent.iterdir()):
            if path.is_file():
                yield KeptFile(name=f"{mark.parent.name}/{path.name}")


@contextmanager
def standing_still(workspace: Workspace) -> Iterator[None]:
    """Keeps writers out. Where the folder cannot be written, looks afterwards whether another computer wrote to it."""
    if os.access(workspace.folder, os.W_OK):
        with hold_workspace(workspace):
            yield
        return
    with said_plainly(workspace.folder):
        before = (last_batch_number(workspace), last_compaction_number(workspace))
        yield
        if before != (last_batch_number(workspace), last_compaction_number(workspace)):
            raise WorkspaceProblem(
                _("somebody wrote to this workspace meanwhile."), where=str(workspace.folder), fix=_("Try again.")
            )
