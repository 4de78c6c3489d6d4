"""One writer at a time, one transaction per change, one audit line each, and machine trouble as a sentence."""

from __future__ import annotations

import errno
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from filelock import BaseFileLock, FileLock, Timeout

from cubital.domain.errors import CubitalError, MachineProblem, WorkspaceProblem
from cubital.domain.words import _
from cubital.workspace.opening import RECORDS, Workspace
from cubital.workspace.records_address import SETTING

LOCK = "writer.lock"
PATIENCE_SECONDS = 600.0  # a million rows take seconds; ten minutes means that the other one hangs
FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
CLOSED = frozenset({errno.EACCES, errno.EROFS, errno.EPERM, errno.ENOTDIR, errno.ENAMETOOLONG, errno.ELOOP})
# A network drive or a memory stick that went away.
GONE = frozenset(
    getattr(errno, name)
    for name in ("EIO", "ENODEV", "ENXIO", "ESTALE", "ENOTCONN", "EHOSTDOWN", "EHOSTUNREACH", "ETIMEDOUT", "ENETDOWN")
    if hasattr(errno, name)
)
FULL_WORDS = ("no space left", "disk is full", "disk full", "disk i/o error", "file too large", "quota exceeded")
MEMORY_WORDS = "out of memory"
BUSY_WORDS = "database is locked"
CLOSED_WORDS = ("permission denied", "read-only", "readonly", "unable to open database file")


@contextmanager
def hold_workspace(
    workspace: Workspace,
    *,
    create: bool = False,
    patience: float = PATIENCE_SECONDS,
    waiting: Callable[[], None] | None = None,
) -> Iterator[None]:
    """Keeps every other writer out of the workspace for as long as the block runs.

    Where a writer is at work, calls ``waiting``, waits up to ``patience`` seconds, then says so in a
    ``WorkspaceProblem``. Trouble of the machine inside the block (disk full, folder not writable) comes out as a
    sentence. Records on a server are held there too: another computer may not see this folder's lock.
    """
    _refuse_pinned(workspace)
    with hold_folder(workspace.folder, create=create, patience=patience, waiting=waiting):
        _check_records_stayed(workspace)
        if workspace.server is None:
            yield
            return
        from cubital.workspace.postgres.server import hold_server

        with hold_server(workspace, patience=patience, waiting=waiting) as held:
            if not held:
                raise _busy_problem(workspace.folder)
            yield


@contextmanager
def hold_folder(
    folder: Path,
    *,
    create: bool = False,
    patience: float = PATIENCE_SECONDS,
    waiting: Callable[[], None] | None = None,
) -> Iterator[None]:
    """The same for a folder whose records are not open yet: only its lock file is held."""
    with said_plainly(folder):
        if create:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)  # patients' results: nobody else's to read
        lock = FileLock(folder / LOCK, preserve_lock_file=True)
        _acquire(lock, folder=folder, patience=patience, waiting=waiting)
        try:
            yield
        finally:
            lock.release()


def _refuse_pinned(workspace: Workspace) -> None:
    """What was asked of an earlier day is read and nothing else."""
    if workspace.pinned is not None:
        raise WorkspaceProblem(
            _("a workspace that is read as it was earlier cannot be written."), where=str(workspace.folder)
        )


def _check_records_stayed(workspace: Workspace) -> None:
    """A program that opened the workspace before its records were moved must not go on writing to the old ones."""
    if (workspace.server is None) == (workspace.folder / SETTING).exists() and _is_made(workspace):
        raise WorkspaceProblem(
            _("the records of this workspace were moved since this program opened it. Nothing was changed."),
            where=str(workspace.folder),
            fix=_("Start it again."),
        )


def _is_made(workspace: Workspace) -> bool:
    return workspace.server is None or (workspace.folder / RECORDS).exists()


def _acquire(lock: BaseFileLock, *, folder: Path, patience: float, waiting: Callable[[], None] | None) -> None:
    try:
        lock.acquire(timeout=0)
    except Timeout:
        if waiting:
            waiting()
        try:
            lock.acquire(timeout=patience)
        except Timeout:
            raise _busy_problem(folder) from None


@contextmanager
def one_transaction(workspace: Workspace) -> Iterator[str]:
    """One change of the records, whole or not at all; gives the name of the database to use."""
    from django.db import transaction

    _refuse_pinned(workspace)
    with said_plainly(workspace.folder), transaction.atomic(using=workspace.alias):
        if workspace.server is not None:
            from cubital.workspace.postgres.server import lock_changes

            lock_changes(workspace)
        yield workspace.alias


def note_change(workspace: Workspace, *, action: str, subject: str, **detail: Any) -> None:
    """Adds the audit line of a change, inside that change's own transaction."""
    from cubital.workspace.records import AuditLine

    AuditLine.objects.using(workspace.alias).create(
        at=datetime.now(UTC), action=action, subject=subject[:200], detail=detail
    )


@contextmanager
def said_plainly(folder: Path) -> Iterator[None]:
    """Turns a full disk, a folder that cannot be written or one that is gone into the sentence for it.

    Other errors pass.
    """
    was = identity_of(folder)
    try:
        yield
    except (WorkspaceProblem, MachineProblem) as error:
        gone = gone_problem(error, folder=folder, was=was)
        if gone is None:
            raise
        raise gone from error
    except CubitalError:
        raise
    except Exception as error:
        problem = gone_problem(error, folder=folder, was=was) or _machine_problem(error, folder)
        if problem is None:
            raise
        raise problem from error


def identity_of(folder: Path) -> tuple[int, int] | None:
    """What tells this folder from another one of the same name; none where it cannot be reached."""
    try:
        found = folder.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def gone_problem(error: Exception, *, folder: Path, was: tuple[int, int] | None) -> MachineProblem | None:
    """The sentence where an error came from a folder that went away; none for any other.

    ``was`` is the identity of the folder before: a drive that vanishes may leave an empty folder of the same name.
    """
    number = error.errno if isinstance(error, OSError) else None
    if number not in GONE and (was is None or identity_of(folder) == was):
        return None
    return MachineProblem(
        _("the folder can no longer be reached. What was accepted before is as it was."),
        where=str(folder),
        fix=_("Connect the drive again, then see with 'cubital batches' whether the last file is in."),
    )


def _machine_problem(error: Exception, folder: Path) -> CubitalError | None:
    if "django.db" in sys.modules and "psycopg" in sys.modules:
        from cubital.workspace.postgres.trouble import server_problem

        of_server = server_problem(error)
        if of_server:
            return of_server
    text = str(error).casefold()
    number = error.errno if isinstance(error, OSError) else None
    if number in FULL or any(words in text for words in FULL_WORDS):
        return MachineProblem(
            _("the disk is full or does not answer. Nothing was changed."),
            where=str(folder),
            fix=_("Make room, or move the workspace to a larger disk, and take the file again."),
        )
    if number in CLOSED or any(words in text for words in CLOSED_WORDS):
        return WorkspaceProblem(
            _("this folder cannot be written. Nothing was changed."),
            where=str(folder),
            fix=_("Ask for write permission, or copy the workspace to a folder of your own."),
        )
    if isinstance(error, MemoryError) or MEMORY_WORDS in text:
        return MachineProblem(
            _("this computer has too little free memory for it. Nothing was changed."),
            where=str(folder),
            fix=_("Close other programs, or take the file in parts, month by month."),
        )
    return _busy_problem(folder) if BUSY_WORDS in text else None


def _busy_problem(folder: Path) -> WorkspaceProblem:
    return WorkspaceProblem(
        _("another run of Cubital is writing to this workspace."),
        where=str(folder),
        fix=_("Wait until it has finished, or close it, and try again. Nothing was changed."),
    )
