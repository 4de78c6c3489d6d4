"""Writes one file that holds everything a workspace has promised, as it was at one moment.

The workspace is held while it is copied: others go on reading, a writer waits. The records are read in one transaction
and the tables at the versions that these records name, so that both speak of the same commit point.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from cubital import __version__
from cubital.domain.errors import CubitalError, MachineProblem, RequestProblem, WorkspaceProblem
from cubital.domain.words import _
from cubital.store.delta import settle
from cubital.store.shapes import STORED
from cubital.workspace.accepting import Progress
from cubital.workspace.archive import (
    CHUNK,
    FORMAT,
    README,
    RECORDS_FOLDER,
    ArchivedState,
    ArchiveWriter,
    Manifest,
    archive_draft,
    is_safe_name,
)
from cubital.workspace.fingerprints import list_names, read_fingerprints
from cubital.workspace.keeping import KeptFile, KeptState, kept_files, kept_states, standing_still
from cubital.workspace.opening import SCHEMA, Workspace
from cubital.workspace.record_rows import Rows, as_lines, newest_migration, read_records
from cubital.workspace.snapshots import last_batch_number
from cubital.workspace.writing import FULL

README_TEXT = """\
A backup of a Cubital workspace: cultures, their accounts row by row, definitions, policies, and the secret.

To put it back:  cubital restore THIS-FILE NEW-FOLDER
To check it:     cubital verify THIS-FILE

KEEP IT AS SAFE AS THE WORKSPACE ITSELF. No patient's number, name or day of birth is in it, but secret.key is. Whoever
has that file and a list of patient numbers can tell whose results these are. Without it no backup could be continued.
"""


@dataclass(frozen=True, kw_only=True)
class BackupReport:
    """What was written: the file with its size in bytes and its seal (SHA-256 of all but its last 64 bytes).

    ``batch`` is the last accepted file in it (0: none), ``files`` and ``states`` how many it holds, ``records`` the
    rows of all tables of records, ``rows`` those of the newest state of each table of cultures.
    """

    path: Path
    bytes: int
    seal: str
    batch: int
    files: int
    states: int
    records: int
    rows: dict[str, int]


def back_up(workspace: Workspace, *, to: Path | str, progress: Progress | None = None) -> BackupReport:
    """Backs the workspace up into the new file ``to``, or into a file with the day in its name in the folder ``to``.

    Written under another name, settled, and renamed at the very end. ``RequestProblem`` where ``to`` is there already
    or lies in the workspace, ``MachineProblem`` where it cannot be written, ``WorkspaceProblem`` where a file of the
    workspace is missing or no longer what was accepted: a backup never takes the place of a better one unseen.
    """
    target = _settle_target(workspace, Path(to).expanduser().absolute())
    draft = target.with_name(f".{target.name[:60]}.{_mark(workspace)}.part")
    with standing_still(workspace):
        _sweep_drafts(workspace, target)
        try:
            report = _write(workspace, draft, target=target, show=progress or _nothing)
            with _putting(target):
                draft.replace(target)
                settle([target])
        finally:
            with _putting(target):
                draft.unlink(missing_ok=True)
    return report


def _write(workspace: Workspace, draft: Path, *, target: Path, show: Progress) -> BackupReport:
    tables = read_records(workspace)
    states = tuple(_archived_state(workspace, state) for state in kept_states(workspace))
    kept = (*kept_files(workspace), *(KeptFile(name=name) for name in list_names(workspace)))
    with _putting(target), archive_draft(draft) as archive:
        archive.add(README, [README_TEXT.encode()], size=len(README_TEXT))
        _add_records(archive, tables)
        _add_files(workspace, archive, kept, show=show)
        manifest = Manifest(
            format=FORMAT,
            made_at=datetime.now(UTC).isoformat(timespec="seconds"),
            code_version=__version__,
            schema=SCHEMA,
            migration=newest_migration(workspace),
            batch=last_batch_number(workspace),
            records={name: len(rows) for name, rows in tables.items()},
            states=states,
            files=tuple(archive.files),
        )
        seal = archive.close(manifest)
        size = draft.stat().st_size
    return BackupReport(
        path=target,
        bytes=size,
        seal=seal,
        batch=manifest.batch,
        files=len(manifest.files),
        states=len(states),
        records=sum(manifest.records.values()),
        rows=states[-1].rows if states else {},
    )


def _add_records(archive: ArchiveWriter, tables: dict[str, Rows]) -> None:
    for name, rows in tables.items():
        content = as_lines(rows)
        archive.add(f"{RECORDS_FOLDER}/{name}.jsonl", [content], size=len(content), rows=len(rows))


def _add_files(workspace: Workspace, archive: ArchiveWriter, kept: tuple[KeptFile, ...], *, show: Progress) -> None:
    noted = read_fingerprints(workspace)
    for place, file in enumerate(kept):
        show(_("Copying"), place / len(kept))
        if not is_safe_name(file.name):
            raise RequestProblem(
                _("a file of this name cannot be put back on every system."),
                where=file.name,
                fix=_("Rename it, or move it out of the workspace."),
            )
        size = _size_of(workspace, file)
        chunks = _chunks(workspace, file)
        found = archive.add(file.name, chunks, size=size, rows=file.rows, month=file.month)
        if noted.get(file.name, found) != found:
            raise _not_as_accepted(workspace, file)


def _archived_state(workspace: Workspace, state: KeptState) -> ArchivedState:
    versions = {table: int(getattr(state.versions, table)) for table in STORED}
    rows = {
        table: sum(file.rows for file in workspace.cultures.table(table).files(version))
        for table, version in versions.items()
    }
    return ArchivedState(batch=state.batch, versions=versions, rows=rows)


def _size_of(workspace: Workspace, file: KeptFile) -> int:
    """The size of a file; ``WorkspaceProblem`` where it is gone or has not the size that was noted."""
    with _reading(workspace, file):
        size = (workspace.folder / file.name).stat().st_size
    if file.bytes is not None and size != file.bytes:
        raise _not_as_accepted(workspace, file)
    return size


def _chunks(workspace: Workspace, file: KeptFile) -> Iterator[bytes]:
    with _reading(workspace, file):
        stream = (workspace.folder / file.name).open("rb")
    with stream:
        while True:
            with _reading(workspace, file):
                chunk = stream.read(CHUNK)
            if not chunk:
                return
            yield chunk


@contextmanager
def _reading(workspace: Workspace, file: KeptFile) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise WorkspaceProblem(
            _("the file {name} cannot be read ({reason}). No backup was made.").format(
                name=file.name, reason=error.strerror
            ),
            where=str(workspace.folder),
            fix=_("Check that the drive is connected; cubital verify says what else is damaged."),
        ) from error


def _not_as_accepted(workspace: Workspace, file: KeptFile) -> CubitalError:
    return WorkspaceProblem(
        _("the file {name} is no longer what was accepted. No backup was made.").format(name=file.name),
        where=str(workspace.folder),
        fix=_("cubital verify says what is damaged. Put it back from an earlier backup."),
    )


@contextmanager
def _putting(target: Path) -> Iterator[None]:
    """Trouble with the place of the backup as a sentence."""
    try:
        yield
    except OSError as error:
        raise _place_problem(error, target) from error


def _place_problem(error: OSError, target: Path) -> MachineProblem:
    if error.errno in FULL:
        return MachineProblem(
            _("the disk is full. No backup was made."), where=str(target), fix=_("Make room, or name another place.")
        )
    return MachineProblem(
        _("the backup cannot be written here ({reason}). No backup was made.").format(reason=error.strerror),
        where=str(target),
        fix=_("Check that the drive is connected and that you may write there, or name another place."),
    )


def _settle_target(workspace: Workspace, to: Path) -> Path:
    with _putting(to):
        day = datetime.now(UTC)
        target = to / f"cubital-{workspace.folder.name[:60]}-{day:%Y-%m-%d-%H%M%S}.zip" if to.is_dir() else to
        if target.exists():
            raise RequestProblem(
                _("it is there already, and a backup never replaces another."), where=str(to), fix=_("Name another.")
            )
        if not target.parent.is_dir():
            raise RequestProblem(
                _("there is no folder '{folder}'.").format(folder=target.parent),
                where=target.name,
                fix=_("Create it, connect the drive, or name another place."),
            )
        if target.resolve().is_relative_to(workspace.folder.resolve()):
            raise RequestProblem(
                _("this place lies in the workspace itself."),
                where=str(to),
                fix=_("Name one outside it, at best on another disk."),
            )
    return target


def _mark(workspace: Workspace) -> str:
    """Tells the drafts of this workspace from those of others without giving anything away."""
    return hashlib.sha256(b"drafts of " + workspace.secret).hexdigest()[:12]


def _sweep_drafts(workspace: Workspace, target: Path) -> None:
    """Removes what a killed backup of this workspace left there: while it is held no other one can be writing."""
    with _putting(target):
        for path in target.parent.glob(f".*.{_mark(workspace)}.part"):
            path.unlink(missing_ok=True)


def _nothing(_step: str, _fraction: float) -> None:
    """Progress that nobody watches."""
