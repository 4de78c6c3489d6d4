"""Scratch folders that hold patients' rows for a moment: closed to others, and swept up when their process was killed.

A folder lives as long as the lock beside it is held. The system lets go of the lock when a process dies, however it
dies, so that the next one can tell what was left behind from what is in use.
"""

from __future__ import annotations

import os
import secrets
import shutil
import stat
import tempfile
import weakref
from pathlib import Path
from types import TracebackType

from filelock import BaseFileLock, FileLock, Timeout

PREFIX = "cubital-"


class ScratchFolder:
    """A new empty folder in the system's place for temporary files, for this user only; ``close`` removes it.

    A context manager that gives the folder.
    """

    def __init__(self) -> None:
        parent = Path(tempfile.gettempdir())
        sweep_abandoned(parent)
        self.folder = parent / f"{PREFIX}{secrets.token_hex(8)}"
        lock = _lock_beside(self.folder)
        lock.acquire(timeout=0)
        self.folder.mkdir(mode=0o700)
        self.close = weakref.finalize(self, _remove, self.folder, lock)

    def __enter__(self) -> Path:
        return self.folder

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def sweep_abandoned(parent: Path) -> None:
    """Removes this user's scratch folders in ``parent`` whose process is gone; those in use stay."""
    for mark in parent.glob(f"{PREFIX}*.lock"):
        # The place is shared: what somebody else laid there is not touched. A mark without a folder is being made now.
        if not (_is_own_file(mark) and mark.with_suffix("").is_dir()):
            continue
        lock = _lock_beside(mark.with_suffix(""))
        try:
            lock.acquire(timeout=0)
        except (Timeout, OSError):
            continue
        _remove(mark.with_suffix(""), lock)


def _lock_beside(folder: Path) -> BaseFileLock:
    return FileLock(folder.with_name(folder.name + ".lock"), thread_local=False)


def _remove(folder: Path, lock: BaseFileLock) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    lock.release()
    try:
        Path(lock.lock_file).unlink(missing_ok=True)
    except OSError:  # held by a sweep of another process, which removes it
        return


def _is_own_file(path: Path) -> bool:
    try:
        found = path.lstat()
    except OSError:
        return False
    mine = not hasattr(os, "getuid") or found.st_uid == os.getuid()
    return mine and stat.S_ISREG(found.st_mode)
