"""Puts a backup back onto an empty machine or into an empty folder: everything, checked twice, or nothing.

The archive is checked bit by bit first. It is unpacked beside the wanted folder, the records are written as they were
at their schema, an older workspace is brought forward, the whole is verified, and only then does the folder get its
name.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from filelock import FileLock, Timeout

from cubital.domain.errors import CubitalError, MachineProblem, RequestProblem, WorkspaceProblem
from cubital.domain.words import _
from cubital.store.delta import settle
from cubital.workspace.accepting import Progress
from cubital.workspace.archive import README, RECORDS_FOLDER, ArchiveReader, Manifest, newer_backup
from cubital.workspace.migrating import Say, mark_schema, migrate_records, whole_on_server
from cubital.workspace.opening import (
    RECORDS,
    SCHEMA,
    SECRET,
    Workspace,
    open_workspace,
    prepare_django,
    read_schema,
    register_records,
)
from cubital.workspace.record_rows import from_lines, known_migrations, write_records
from cubital.workspace.records_address import find_address
from cubital.workspace.verifying import verify_workspace
from cubital.workspace.writing import FULL, identity_of, note_change, one_transaction, said_plainly

DRAFT = "restoring"


@dataclass(frozen=True, kw_only=True)
class RestoreReport:
    """What was put back: the folder, the last accepted file in it, how many files, and when the backup was made."""

    folder: Path
    batch: int
    files: int
    made_at: str
    code_version: str


def restore(
    backup: Path | str, *, to: Path | str, progress: Progress | None = None, say: Say | None = None
) -> RestoreReport:
    """Restores ``backup`` into ``to``, which must not exist or be an empty folder.

    ``FileProblem`` where the backup is damaged, forged or of a newer Cubital, and says which part; ``RequestProblem``
    where the folder holds something; ``MachineProblem`` where it cannot be written. Then nothing is restored.
    """
    show, tell = progress or _nothing, say or _unheard
    target = _checked_target(Path(to).expanduser().absolute())
    place = identity_of(target.parent)
    show(_("Checking the backup"), 0.0)
    with ArchiveReader(Path(backup).expanduser().absolute()) as archive:
        manifest = archive.manifest
        _refuse_newer(archive.path, manifest)
        with _putting(target), _draft_beside(target) as draft:
            _check_place_stayed(target, place)
            _unpack(archive, draft, show=show)
            with _records_put_back(archive, draft):
                _finish(draft, manifest, show=show, say=tell)
            _check_place_stayed(target, place)
            _take_place(draft, target)
    return RestoreReport(
        folder=target,
        batch=manifest.batch,
        files=len(manifest.files),
        made_at=manifest.made_at,
        code_version=manifest.code_version,
    )


def _checked_target(target: Path) -> Path:
    with _putting(target):
        if target.exists() and not target.is_dir():
            raise RequestProblem(_("this is a file."), where=str(target), fix=_("Name a folder."))
        if target.is_dir() and any(target.iterdir()):
            raise RequestProblem(
                _("this folder is not empty, and restoring never writes over anything."),
                where=str(target),
                fix=_("Name a new folder."),
            )
        target.parent.mkdir(parents=True, exist_ok=True)
    return target


def _check_place_stayed(target: Path, place: tuple[int, int] | None) -> None:
    """A drive that vanished may leave an empty folder of the same name, on a disk that nobody meant."""
    if identity_of(target.parent) != place:
        raise MachineProblem(
            _("the drive vanished. Nothing was restored."), where=str(target), fix=_("Connect it and try again.")
        )


def _refuse_newer(path: Path, manifest: Manifest) -> None:
    if manifest.schema > SCHEMA or manifest.migration not in known_migrations():
        raise newer_backup(path)


def _unpack(archive: ArchiveReader, draft: Path, *, show: Progress) -> None:
    """Every file but the rows of the records, written through to the disk."""
    files = [file for file in archive.manifest.files if not _is_of_archive(file.name)]
    for place, file in enumerate(files):
        show(_("Restoring"), 0.1 + 0.6 * place / len(files))
        path = draft / file.name
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as stream:
            for chunk in archive.chunks(file.name):
                stream.write(chunk)
            stream.flush()
            os.fsync(stream.fileno())
    if not (draft / SECRET).is_file():
        raise WorkspaceProblem(_("this backup holds no secret."), where=str(archive.path), fix=_("Use another backup."))


def _is_of_archive(name: str) -> bool:
    return name == README or name.startswith(f"{RECORDS_FOLDER}/")


@contextmanager
def _records_put_back(archive: ArchiveReader, draft: Path) -> Iterator[None]:
    """The records as they were, for the block; where it fails, a server forgets them again."""
    prepare_django()
    server = find_address(draft)
    workspace = Workspace(draft, register_records(draft, server), server)
    if read_schema(workspace):
        raise WorkspaceProblem(
            _("the server holds the records of this workspace already."),
            where=server.words() if server else str(draft),
            fix=_("Take the variable CUBITAL_RECORDS away, or name another schema with ?schema=NAME."),
        )
    try:
        with said_plainly(draft), whole_on_server(workspace):
            migrate_records(workspace, to=archive.manifest.schema)
            _write_rows(archive, workspace)
            mark_schema(workspace, archive.manifest.schema)
        yield
    except BaseException:
        if server is not None:
            from cubital.workspace.postgres.server import forget_records

            forget_records(workspace)
        raise
    finally:
        workspace.close()


def _write_rows(archive: ArchiveReader, workspace: Workspace) -> None:
    from django.core.exceptions import ValidationError
    from django.db import DataError, IntegrityError

    names = [file.name for file in archive.manifest.files if file.name.startswith(f"{RECORDS_FOLDER}/")]
    try:
        tables = {Path(name).stem: from_lines(archive.read(name)) for name in names}
        if {name: len(rows) for name, rows in tables.items()} != archive.manifest.records:
            raise ValueError("the rows are not as many as the manifest says")
        write_records(workspace, tables, migration=archive.manifest.migration)
    except (ValueError, LookupError, TypeError, AttributeError, ValidationError, DataError, IntegrityError) as error:
        raise WorkspaceProblem(
            _("the records in this backup do not fit their tables. Nothing was restored."),
            where=str(archive.path),
            fix=_("Use another backup."),
        ) from error


def _finish(draft: Path, manifest: Manifest, *, show: Progress, say: Say) -> None:
    """Brings an older workspace forward, verifies the whole, and notes that it was restored."""
    show(_("Verifying"), 0.7)
    with open_workspace(draft, create=False, say=say) as workspace:
        found = verify_workspace(workspace)
        if found.findings:
            raise WorkspaceProblem(
                _("what was restored does not verify: {finding} Nothing was restored.").format(
                    finding=found.findings[0].sentence()
                ),
                where=str(draft),
                fix=_("Use another backup."),
            )
        with one_transaction(workspace):
            note_change(
                workspace, action="restore", subject=f"backup of {manifest.made_at}", batch=manifest.batch,
                files=len(manifest.files),
            )  # fmt: skip


def _take_place(draft: Path, target: Path) -> None:
    """Gives the finished folder its name. An empty folder that is there already makes room."""
    (draft / f"{RECORDS}-journal").unlink(missing_ok=True)
    settle([path for path in draft.rglob("*") if path.is_file()], top=draft)
    if target.exists():
        target.rmdir()
    draft.replace(target)
    settle([target])


@contextmanager
def _draft_beside(target: Path) -> Iterator[Path]:
    """A new folder beside ``target``; what an interrupted run left there goes, and so does this in the end."""
    draft = target.with_name(f".{target.name}.{DRAFT}")
    lock = FileLock(draft.with_name(f"{draft.name}.lock"))
    try:
        lock.acquire(timeout=0)
    except Timeout:
        raise RequestProblem(
            _("something is being restored here already."), where=str(target), fix=_("Wait until it is done.")
        ) from None
    try:
        if draft.exists():
            shutil.rmtree(draft)
        draft.mkdir(mode=0o700)
        try:
            yield draft
        finally:
            shutil.rmtree(draft, ignore_errors=True)
    finally:
        lock.release()
        Path(lock.lock_file).unlink(missing_ok=True)


@contextmanager
def _putting(target: Path) -> Iterator[None]:
    """Trouble with the place to restore to as a sentence, and the sentences of the workspace as they are."""
    try:
        yield
    except CubitalError:
        raise
    except OSError as error:
        if error.errno in FULL:
            raise MachineProblem(
                _("the disk is full. Nothing was restored."),
                where=str(target),
                fix=_("Make room, or name another place."),
            ) from error
        raise MachineProblem(
            _("nothing can be restored here ({reason}).").format(reason=error.strerror),
            where=str(target),
            fix=_("Check that the drive is connected and that you may write there, or name another place."),
        ) from error


def _nothing(_step: str, _fraction: float) -> None:
    """Progress that nobody watches."""


def _unheard(_sentence: str) -> None:
    """Where nobody listens."""
