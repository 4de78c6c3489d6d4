"""The files of an export: the one given, or every NDJSON and JSON file of an archive, in the order of their names.

Nothing of an archive is ever written under a name that it carries; names that lead out of a folder are refused all the
same, because no export has them.
"""

from __future__ import annotations

import gzip
import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from typing import IO, Any, BinaryIO, NamedTuple, cast

from cubital.domain.errors import FileProblem
from cubital.domain.words import _

_WANTED = re.compile(r"\.(nd)?json(\.gz)?$", re.IGNORECASE)
MAX_MEMBERS = 20_000
MAX_UNPACKED_BYTES = 20_000_000_000
SUSPICIOUS_RATIO = 300  # JSON shrinks 10 to 60 times


class Member(NamedTuple):
    """One file of the export; ``name`` is empty for a file on its own."""

    name: str
    where: str
    stream: BinaryIO


def open_members(path: Path, *, name: str) -> Iterator[Member]:
    """Opens each file of the export in turn; an archive's gzipped files are unpacked on the way.

    Raises ``FileProblem`` for a damaged or locked archive, names that lead elsewhere, and absurd sizes.
    """
    if not zipfile.is_zipfile(path):
        with path.open("rb", buffering=1 << 20) as stream:
            yield Member("", name, stream)
        return
    with zipfile.ZipFile(path) as archive:
        for part in checked_parts(archive, name):
            with archive.open(part) as stream:
                yield Member(part.filename, f"{name}: {part.filename}", _unpacked(stream, part, name))


@contextmanager
def refusing_damage(name: str) -> Iterator[None]:
    """Names what goes wrong while an archive is unpacked, which happens while its lines are read."""
    try:
        yield
    except (zipfile.BadZipFile, gzip.BadGzipFile, EOFError, zlib.error, NotImplementedError) as error:
        raise FileProblem(
            _("the archive is damaged or was cut short."), where=name, fix=_("Copy or export it again.")
        ) from error


def _unpacked(stream: IO[bytes], part: zipfile.ZipInfo, name: str) -> BinaryIO:
    if part.filename.lower().endswith(".gz"):
        return io.BufferedReader(_Measured(gzip.GzipFile(fileobj=stream), name), 1 << 20)
    return io.BufferedReader(cast(io.RawIOBase, stream), 1 << 20)


class _Measured(io.RawIOBase):
    """A gzipped file on its way out that stops at an absurd size: what it will become is not written in front."""

    def __init__(self, source: gzip.GzipFile, name: str) -> None:
        self._source = source
        self._name = name
        self._left = MAX_UNPACKED_BYTES

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: Any) -> int:
        piece = self._source.read(len(buffer))
        self._left -= len(piece)
        if self._left < 0:
            raise _too_large(MAX_UNPACKED_BYTES, self._name)
        buffer[: len(piece)] = piece
        return len(piece)


def holds_resources(names: set[str]) -> bool:
    """An archive with these file names looks like an export: it has NDJSON or JSON files."""
    return any(_WANTED.search(name) for name in names)


def checked_parts(archive: zipfile.ZipFile, name: str) -> list[zipfile.ZipInfo]:
    """The wanted files of an archive by name; refuses what no export has."""
    every = archive.infolist()
    if len(every) > MAX_MEMBERS:
        raise _absurd(_("the archive holds {count} files; no export does.").format(count=len(every)), name)
    for part in every:
        if leads_elsewhere(part.filename):
            raise _absurd(_("the archive holds a file whose name leads out of its folder."), name)
        if part.flag_bits & 1:
            raise FileProblem(
                _("the archive is protected by a password."), where=name, fix=_("Send it without a password.")
            )
    unpacked, packed = sum(part.file_size for part in every), sum(part.compress_size for part in every)
    if unpacked > MAX_UNPACKED_BYTES or (unpacked > 1_000_000_000 and unpacked > SUSPICIOUS_RATIO * max(packed, 1)):
        raise _absurd(_("the archive unpacks to {size} MB; no export does.").format(size=unpacked // 1_000_000), name)
    wanted = [part for part in every if _WANTED.search(part.filename) and not _hidden(part.filename)]
    return sorted(wanted, key=lambda part: part.filename)


def _hidden(name: str) -> bool:
    """Leftovers of desktop systems: ``__MACOSX/._Patient.ndjson``."""
    return any(piece.startswith((".", "__MACOSX")) for piece in PurePosixPath(name).parts)


def leads_elsewhere(name: str) -> bool:
    """The name is absolute, climbs out, or hides a drive or a null byte."""
    path = name.replace("\\", "/")
    return path.startswith("/") or ".." in path.split("/") or "\x00" in path or bool(re.match(r"[A-Za-z]:", path))


def _too_large(unpacked: int, name: str) -> FileProblem:
    return _absurd(_("the archive unpacks to {size} MB; no export does.").format(size=unpacked // 1_000_000), name)


def _absurd(what: str, name: str) -> FileProblem:
    return FileProblem(what, where=name, fix=_("It was not opened. Ask where it comes from, or export it again."))
