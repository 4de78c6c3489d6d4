"""The files of a watched folder: which are waiting, which have landed whole, and how one is moved aside.

A file has landed when nothing about it has changed between two looks that lie a settling time apart, when it is not
empty, and when nobody holds a lock on it. Its date alone says nothing: many copying programs set it before the end.
"""

from __future__ import annotations

import errno
import os
import shutil
import sys
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

TAKEN = "taken"
REFUSED = "refused"
SETTINGS = "watch.toml"
UNFINISHED = (".part", ".partial", ".filepart", ".crdownload", ".download", ".tmp", ".temp", ".lock", ".swp", "~")
ACCOUNTS = (".account.txt", ".account.json")
_OURS = ".cubital-"


class Landing(Enum):
    """Whether a file is whole, by all that can be seen from outside."""

    WHOLE = "whole"
    CHANGING = "changing"
    EMPTY = "empty"
    HELD = "held"


Sight = tuple[int, int, int]  # size, time of the last change, number of the file in its file system


@dataclass(frozen=True, kw_only=True)
class LandingPlace:
    """One folder in which files of one facility land, and what they are read with."""

    folder: Path
    facility: str
    timezone: str | None = None
    source: str | None = None
    answers: tuple[tuple[str, str], ...] = ()


def waiting_files(place: LandingPlace) -> list[Path]:
    """The files of a place that may be taken, the oldest first; ``OSError`` where the folder cannot be read."""
    found = []
    with os.scandir(place.folder) as entries:
        for entry in entries:
            if not is_passed_over(entry.name) and entry.is_file(follow_symlinks=False):
                found.append(Path(entry.path))
    return sorted(found, key=_age)


def is_passed_over(name: str) -> bool:
    """Whether a file of this name is never taken: hidden, unfinished, an office program's lock, or our own."""
    small = name.casefold()
    return small.startswith((".", "~$")) or small == SETTINGS or small.endswith((*UNFINISHED, *ACCOUNTS))


def sight_of(path: Path) -> Sight | None:
    """What is compared between two looks; none where the file is gone."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns, found.st_ino


def is_held(path: Path) -> bool:
    """Whether another program holds the file, as far as the system tells."""
    try:
        with path.open("rb") as stream:
            return sys.platform != "win32" and _is_locked(stream.fileno())
    except OSError:
        return True


def _is_locked(handle: int) -> bool:
    if sys.platform == "win32":
        return False
    import fcntl

    for lock in (fcntl.flock, fcntl.lockf):
        try:
            lock(handle, fcntl.LOCK_SH | fcntl.LOCK_NB)
            lock(handle, fcntl.LOCK_UN)
        except OSError as error:
            if error.errno in (errno.EACCES, errno.EAGAIN):
                return True
    return False


class Looks:
    """Remembers how each file looked, and since when it has looked so. Times are seconds of one steady clock."""

    def __init__(self, settle: float) -> None:
        self.settle = settle
        self._seen: dict[Path, tuple[Sight, float]] = {}

    def landing(self, path: Path, *, now: float) -> Landing:
        """How far the file has landed, from this look and the ones before."""
        sight = sight_of(path)
        if sight is None:
            self._seen.pop(path, None)
            return Landing.CHANGING
        known = self._seen.get(path)
        if known is None or known[0] != sight:
            known = self._seen[path] = (sight, now)
            if self.settle > 0:
                return Landing.CHANGING
        if now - known[1] < self.settle:
            return Landing.CHANGING
        if sight[0] == 0:
            return Landing.EMPTY
        return Landing.HELD if is_held(path) else Landing.WHOLE

    def sight(self, path: Path) -> Sight | None:
        """How the file looked last."""
        return self._seen[path][0] if path in self._seen else None

    def forget(self, path: Path) -> None:
        """Begins anew with this file."""
        self._seen.pop(path, None)

    def keep_only(self, paths: Iterable[Path]) -> None:
        """Forgets files that are no longer there."""
        present = set(paths)
        self._seen = {path: seen for path, seen in self._seen.items() if path in present}


def free_place(folder: Path, name: str) -> Path:
    """Where a file of this name can lie without covering another one: ``name``, else ``name (2)`` and so on."""
    place, number = folder / name, 1
    while place.exists() or place.is_symlink():
        number += 1
        path = Path(name)
        place = folder / f"{path.stem} ({number}){path.suffix}"
    return place


def move_whole(source: Path, target: Path) -> None:
    """Moves a file so that ``target`` is never half there: renamed, or copied, settled and renamed across systems.

    A kill between the copy and the removal leaves the file in both places, never in none.
    """
    try:
        source.rename(target)
    except OSError as error:
        if error.errno != errno.EXDEV:
            raise
        draft = target.with_name(f"{_OURS}{target.name}.part")
        try:
            shutil.copy2(source, draft)
            _settle(draft)
            draft.replace(target)
        finally:
            draft.unlink(missing_ok=True)
        source.unlink()
    _settle(target.parent)


def write_whole(path: Path, text: str) -> None:
    """Writes a small file, whole or not at all."""
    draft = path.with_name(f"{_OURS}{path.name}.part")
    draft.write_text(text, encoding="utf-8")
    _settle(draft)
    draft.replace(path)


def make_room(place: LandingPlace) -> None:
    """Makes the folders for what is taken and refused and tries them; ``OSError`` where one cannot be written."""
    for name in (TAKEN, REFUSED):
        folder = place.folder / name
        folder.mkdir(exist_ok=True)
        probe = folder / f"{_OURS}probe"
        probe.write_bytes(b"")
        probe.unlink()
    if not os.access(place.folder, os.W_OK):
        raise PermissionError(errno.EACCES, "", str(place.folder))


def _age(path: Path) -> tuple[int, str]:
    try:
        return path.stat().st_mtime_ns, path.name
    except OSError:
        return 0, path.name


def _settle(path: Path) -> None:
    """Makes the disk hold what was written; some network drives cannot do it for folders."""
    with suppress(OSError):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
