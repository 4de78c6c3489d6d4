"""The form of a backup: one ZIP file that any system can look into, with a list of what is in it and a seal.

Every file is stored as it is, so that nothing can grow on unpacking. ``manifest.json`` names each one with its size and
SHA-256. The seal, the last 64 characters of the archive, is the SHA-256 of everything before them: not one bit of a
backup can change unseen.
"""

from __future__ import annotations

import hashlib
import json
import os
import struct
import unicodedata
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

from cubital.domain.errors import FileProblem
from cubital.domain.words import _

FORMAT = 1
MANIFEST = "manifest.json"
README = "README.txt"
RECORDS_FOLDER = "records"
SEAL = b"cubital backup, sha256 of all before: "
DIGITS = 64
MOST_MANIFEST_BYTES = 256_000_000  # about a million files
CHUNK = 1 << 20
_BINARY = getattr(os, "O_BINARY", 0)
_BROKEN = (
    zipfile.BadZipFile, zlib.error, struct.error, OSError, EOFError, NotImplementedError, RuntimeError, KeyError,
    ValueError, TypeError, OverflowError,
)  # fmt: skip
_NO_NAMES = {"con", "prn", "aux", "nul", *(f"{name}{n}" for name in ("com", "lpt") for n in range(1, 10))}


@dataclass(frozen=True, kw_only=True)
class ArchivedFile:
    """One file of a backup. ``rows`` is none for a file that holds no rows; ``month`` is the month of its rows."""

    name: str
    bytes: int
    sha256: str
    rows: int | None = None
    month: str = ""


@dataclass(frozen=True, kw_only=True)
class ArchivedState:
    """A state of the cultures that can be opened again: of each table its version (-1: none) and its rows."""

    batch: int
    versions: dict[str, int]
    rows: dict[str, int]


@dataclass(frozen=True, kw_only=True)
class Manifest:
    """What a backup holds. ``migration`` is where its records stood, ``records`` the rows of each of their tables."""

    format: int
    made_at: str
    code_version: str
    schema: int
    migration: str
    batch: int
    records: dict[str, int]
    states: tuple[ArchivedState, ...]
    files: tuple[ArchivedFile, ...]


class ArchiveWriter:
    """Writes the files of a backup one after the other; ``close`` adds the manifest and the seal, and settles all."""

    def __init__(self, draft: Path) -> None:
        # For its owner only: the secret is in it.
        self._stream = os.fdopen(os.open(draft, os.O_RDWR | os.O_CREAT | os.O_EXCL | _BINARY, 0o600), "w+b")
        self._zip = zipfile.ZipFile(self._stream, "w", compression=zipfile.ZIP_STORED)
        self.files: list[ArchivedFile] = []

    def add(self, name: str, chunks: Iterable[bytes], *, size: int, rows: int | None = None, month: str = "") -> str:
        """Adds a file of about ``size`` bytes and gives its fingerprint."""
        digest, written = hashlib.sha256(), 0
        entry = zipfile.ZipInfo(name)
        entry.external_attr = 0o600 << 16
        with self._zip.open(entry, "w", force_zip64=size > 1_000_000_000) as stream:
            for chunk in chunks:
                digest.update(chunk)
                written += len(chunk)
                stream.write(chunk)
        fingerprint = digest.hexdigest()
        self.files.append(ArchivedFile(name=name, bytes=written, sha256=fingerprint, rows=rows, month=month))
        return fingerprint

    def close(self, manifest: Manifest) -> str:
        """Ends the archive and gives its seal."""
        self._zip.writestr(zipfile.ZipInfo(MANIFEST), json.dumps(asdict(manifest), indent=1, ensure_ascii=False))
        self._zip.comment = SEAL + b"0" * DIGITS
        self._zip.close()
        seal = _seal_of(self._stream)
        self._stream.seek(-DIGITS, os.SEEK_END)
        self._stream.write(seal.encode())
        self._stream.flush()
        os.fsync(self._stream.fileno())
        return seal

    def give_up(self) -> None:
        """Lets go of the unfinished file, whatever can no longer be written to it."""
        self._zip.fp = None  # or it would try to end the archive
        with suppress(OSError):  # what is still to be written; the first failure was told already
            self._stream.close()


class ArchiveReader:
    """A backup whose every bit was checked. A context manager."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.manifest, self._zip = _open_checked(path)

    def __enter__(self) -> ArchiveReader:
        return self

    def __exit__(self, *_error: object) -> None:
        self._zip.close()

    def read(self, name: str) -> bytes:
        """A small file whole."""
        return b"".join(self.chunks(name))

    def chunks(self, name: str) -> Iterator[bytes]:
        """A file piece by piece; ``FileProblem`` at its end where it is no longer what was checked."""
        expected = next(file for file in self.manifest.files if file.name == name)
        if not _is_whole(self._zip, expected):
            raise _damaged(self.path, [name])
        with self._zip.open(name) as stream:
            yield from _pieces(stream)


def is_safe_name(name: str) -> bool:
    """Whether a file of this name stays inside the folder it is put into, on every system."""
    if "\\" in name or ":" in name or not name.isprintable():
        return False
    return all(_is_safe_part(part) for part in name.split("/"))


def _is_safe_part(part: str) -> bool:
    if part in ("", ".", "..") or part != part.strip().rstrip("."):
        return False
    return part.split(".", maxsplit=1)[0].casefold() not in _NO_NAMES


def pieces_of(path: Path) -> Iterator[bytes]:
    """The bytes of a file, piece by piece."""
    with path.open("rb") as stream:
        yield from _pieces(stream)


def _pieces(stream: IO[bytes]) -> Iterator[bytes]:
    while chunk := stream.read(CHUNK):
        yield chunk


def _open_checked(path: Path) -> tuple[Manifest, zipfile.ZipFile]:
    """The manifest of a backup and its opened archive, every bit checked; ``FileProblem`` names what is damaged."""
    sealed = _is_sealed(path)
    try:
        archive = zipfile.ZipFile(path)
    except _BROKEN as error:
        raise _damaged(path, [_("its list of contents")]) from error
    try:
        manifest = _checked(path, archive, sealed=sealed)
    except BaseException:
        archive.close()
        raise
    return manifest, archive


def _checked(path: Path, archive: zipfile.ZipFile, *, sealed: bool) -> Manifest:
    manifest = _read_manifest(path, archive)
    _check_names(path, archive, manifest)
    damaged = [file.name for file in manifest.files if not _is_whole(archive, file)]
    if damaged or not sealed:
        raise _damaged(path, damaged or [_("its list of contents")])
    return manifest


def _is_sealed(path: Path) -> bool:
    """Whether the seal fits; ``FileProblem`` where there is none."""
    try:
        with path.open("rb") as stream:
            stream.seek(0, os.SEEK_END)
            end = len(SEAL) + DIGITS
            stream.seek(max(0, stream.tell() - end))
            tail = stream.read()
            if not _looks_sealed(tail):
                raise _cut_short(path)
            return tail[:-DIGITS] == SEAL and _seal_of(stream) == tail[-DIGITS:].decode("ascii", errors="replace")
    except OSError as error:
        raise FileProblem(
            _("the backup cannot be read ({reason}).").format(reason=error.strerror),
            where=str(path),
            fix=_("Check its name, and that the drive is connected."),
        ) from error


def _looks_sealed(tail: bytes) -> bool:
    """Whether a seal stood there, with a bit or two of it changed."""
    return sum(one == other for one, other in zip(tail, SEAL, strict=False)) > len(SEAL) // 2


def _seal_of(stream: IO[bytes]) -> str:
    """The SHA-256 of all but the last 64 bytes."""
    stream.seek(0, os.SEEK_END)
    left = stream.tell() - DIGITS
    stream.seek(0)
    digest = hashlib.sha256()
    while left > 0 and (chunk := stream.read(min(CHUNK, left))):
        digest.update(chunk)
        left -= len(chunk)
    return digest.hexdigest()


def _read_manifest(path: Path, archive: zipfile.ZipFile) -> Manifest:
    try:
        entry = archive.getinfo(MANIFEST)
        if entry.compress_type != zipfile.ZIP_STORED or entry.file_size > MOST_MANIFEST_BYTES:
            raise ValueError("this manifest was not written by Cubital")
        plain = json.loads(archive.read(entry))
        number = int(plain["format"])
    except (*_BROKEN, RecursionError) as error:
        raise _damaged(path, [MANIFEST]) from error
    if number > FORMAT:
        raise newer_backup(path)
    try:
        return _built(plain)
    except (*_BROKEN, AttributeError) as error:
        raise _damaged(path, [MANIFEST]) from error


def _built(plain: dict[str, Any]) -> Manifest:
    states = tuple(ArchivedState(**state) for state in plain.pop("states"))
    files = tuple(ArchivedFile(**file) for file in plain.pop("files"))
    return Manifest(**plain, states=states, files=files)


def _check_names(path: Path, archive: zipfile.ZipFile, manifest: Manifest) -> None:
    """Refuses names that would leave the folder, or that fall together on some systems, and files that nobody lists."""
    names = [entry.filename for entry in archive.infolist()]
    listed = [file.name for file in manifest.files]
    if unsafe := sorted(name for name in {*names, *listed} if not is_safe_name(name)):
        raise FileProblem(
            _("it holds a file whose name leads out of the folder ({name}). It cannot be restored.").format(
                name=ascii(unsafe[0])
            ),
            where=str(path),
            fix=_("Cubital never writes such a name: somebody changed this backup. Use another."),
        )
    alike = {unicodedata.normalize("NFC", name).casefold() for name in names}
    odd = set(names).symmetric_difference({*listed, MANIFEST})
    if odd or len(alike) < len(names) or len(names) != len(listed) + 1:
        raise _damaged(path, sorted(odd) or [_("its list of contents")])


def _is_whole(archive: zipfile.ZipFile, expected: ArchivedFile) -> bool:
    digest, size = hashlib.sha256(), 0
    try:
        entry = archive.getinfo(expected.name)
        if entry.compress_type != zipfile.ZIP_STORED or entry.file_size != expected.bytes:
            return False
        with archive.open(entry) as stream:
            for chunk in _pieces(stream):
                digest.update(chunk)
                size += len(chunk)
    except _BROKEN:
        return False
    return size == expected.bytes and digest.hexdigest() == expected.sha256


def _damaged(path: Path, names: list[str]) -> FileProblem:
    shown = ", ".join(names[:5]) + (" …" if len(names) > 5 else "")
    return FileProblem(
        _("this backup is damaged: {names}. It cannot be restored.").format(names=shown),
        where=str(path),
        fix=_("Use another backup; copy this one again from where it was made, if it is still there."),
    )


def _cut_short(path: Path) -> FileProblem:
    return FileProblem(
        _("this is no backup of Cubital, or its end is missing. It cannot be restored."),
        where=str(path),
        fix=_("Name the file that cubital backup wrote; copy it again if it was cut short."),
    )


def newer_backup(path: Path) -> FileProblem:
    """The sentence for a backup that this version cannot know."""
    return FileProblem(
        _("this backup was made by a newer Cubital. It cannot be restored."),
        where=str(path),
        fix=_("Use that version."),
    )


@contextmanager
def archive_draft(draft: Path) -> Iterator[ArchiveWriter]:
    """A writer whose unfinished file is let go whatever happens."""
    writer = ArchiveWriter(draft)
    try:
        yield writer
    finally:
        writer.give_up()
