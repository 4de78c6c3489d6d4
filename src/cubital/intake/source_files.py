"""What kind of file it is, judged by its first bytes and never by its name, and whether it is safe to open."""

from __future__ import annotations

import codecs
import gzip
import hashlib
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.intake.fhir.members import holds_resources
from cubital.intake.fhir.versions import refuse_odd_resources

HEAD_BYTES = 65_536
CHUNK_BYTES = 1 << 20
# A workbook of a million rows unpacks to well under 1 GB. Far beyond that it is a mistake or an attack.
MAX_UNPACKED_BYTES = 2_000_000_000
SUSPICIOUS_RATIO = 300  # real workbooks and CSV exports shrink 5 to 40 times

_KNOWN_FOREIGN = {
    b"%PDF": "PDF",
    b"\x89PNG": "PNG",
    b"\xff\xd8\xff": "JPEG",
    b"SQLite format 3": "SQLite",
    b"PAR1": "Parquet",
    b"7z\xbc\xaf\x27\x1c": "7z",
    b"Rar!": "RAR",
    b"BZh": "bzip2",
    b"\xfd7zXZ": "xz",
    b"\x7fELF": "ELF",
    b"MZ": "EXE",
}


# A message begins with the segment that names its separators; a capture from the wire has a start sign in front.
_MESSAGE = re.compile(rb"(?:\xef\xbb\xbf)?[\x0b\x1c\s\x00]*(?:MSH|FHS|BHS)[^A-Za-z0-9\s]")
_RESOURCE = re.compile(rb"(?:\xef\xbb\xbf)?\s*[\{\[]")


class FileKind(StrEnum):
    """MESSAGES are HL7 v2, RESOURCES are FHIR as JSON: a bundle, or one resource per line."""

    TEXT = "text"
    WORKBOOK = "workbook"
    MESSAGES = "messages"
    RESOURCES = "resources"


@dataclass(frozen=True, kw_only=True)
class SourceFile:
    """A file that may be read: ``path`` is the readable copy (unpacked where it was gzipped), ``name`` as given.

    ``modern`` is true for a zipped workbook, of XML or binary, whose parts can be looked into. ``notes`` are sentences
    to show.
    """

    path: Path
    name: str
    kind: FileKind
    modern: bool = False
    notes: tuple[str, ...] = ()


def file_fingerprint(path: Path) -> str:
    """SHA-256 of the file as 64 hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def open_source(path: Path, scratch: Path) -> SourceFile:
    """Looks at the first bytes and says how the file can be read.

    ``scratch`` is a folder for the unpacked copy of a gzipped file. Raises ``FileProblem`` for a missing or empty file,
    a folder, something that is no table (a picture, a PDF, a program), a password-protected workbook, and an archive
    that unpacks to an absurd size.
    """
    name = path.name
    if not path.is_file():
        what = _("this is a folder, not a file.") if path.is_dir() else _("there is no such file.")
        raise FileProblem(what, where=name, fix=_("Check the name and the folder."))
    readable = _unpack(path, scratch) if _head(path)[:2] == b"\x1f\x8b" else path
    head = _head(readable)
    if not head.strip(b"\r\n\t \xef\xbb\xbf\xff\xfe\x00"):
        raise FileProblem(_("the file is empty."), where=name, fix=_("Export it again from the laboratory system."))
    if head.startswith(b"PK\x03\x04"):
        return _look_into_zip(readable, name)
    if head.startswith(b"\xd0\xcf\x11\xe0"):
        return _look_into_compound(readable, name)
    if _MESSAGE.match(head) or _MESSAGE.match(_narrow(head)):
        return SourceFile(path=readable, name=name, kind=FileKind.MESSAGES)
    if _RESOURCE.match(head) and b'"resourceType"' in head:
        return SourceFile(path=readable, name=name, kind=FileKind.RESOURCES)
    _refuse_foreign(head, name)
    return SourceFile(path=readable, name=name, kind=FileKind.TEXT)


def refuse_messages(source: SourceFile) -> None:
    """Refuses messages and exports of resources where only a table kept by hand can be read; says nothing of them."""
    if source.kind in (FileKind.MESSAGES, FileKind.RESOURCES):
        raise FileProblem(
            _("these are messages or resources with results, not a table kept by hand."),
            where=source.name,
            fix=_("Take them in as a laboratory file, with the command take or on the page Files."),
        )


def _narrow(head: bytes) -> bytes:
    """The first signs of a text that takes two bytes for each; empty for any other."""
    if not head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return b""
    return head[:64].decode("utf-16", errors="replace").encode("utf-8")


def _head(path: Path) -> bytes:
    with path.open("rb") as stream:
        return stream.read(HEAD_BYTES)


def _unpack(path: Path, scratch: Path) -> Path:
    target = scratch / "unpacked"
    packed = max(path.stat().st_size, 1)
    written = 0
    try:
        with gzip.open(path, "rb") as source, target.open("wb") as copy:
            while chunk := source.read(CHUNK_BYTES):
                written += len(chunk)
                _refuse_bomb(written, packed, path.name)
                copy.write(chunk)
    except (EOFError, zlib.error, gzip.BadGzipFile) as error:
        raise FileProblem(
            _("the gzip archive is damaged or was cut short."), where=path.name, fix=_("Copy or export it again.")
        ) from error
    return target


def _refuse_bomb(unpacked: int, packed: int, name: str) -> None:
    if unpacked > MAX_UNPACKED_BYTES and unpacked > SUSPICIOUS_RATIO * packed:
        raise FileProblem(
            _("the file unpacks to {size} MB, {ratio} times its size; no real export does that.").format(
                size=unpacked // 1_000_000, ratio=unpacked // packed
            ),
            where=name,
            fix=_("It was not opened. Ask where it comes from, or export it again as CSV."),
        )


def _look_into_zip(path: Path, name: str) -> SourceFile:
    try:
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
    except (zipfile.BadZipFile, NotImplementedError) as error:
        raise _damaged_workbook(name) from error
    names = {part.filename for part in parts}
    _refuse_bomb(sum(part.file_size for part in parts), max(sum(part.compress_size for part in parts), 1), name)
    _refuse_large_parts(parts, name)
    if not names & {"xl/workbook.xml", "xl/workbook.bin", "content.xml"}:
        if holds_resources(names):
            return SourceFile(path=path, name=name, kind=FileKind.RESOURCES)
        raise FileProblem(
            _("this is a zip archive, not a table."), where=name, fix=_("Unpack it and give the file inside.")
        )
    notes = []
    if any(part.flag_bits & 1 for part in parts):
        raise FileProblem(
            _("the workbook is protected by a password."),
            where=name,
            fix=_("Open it, save a copy without a password, and give that copy."),
        )
    if any(part.endswith("vbaProject.bin") for part in names):
        notes.append(_("The workbook carries macros. They were not run; only the values were read."))
    modern = bool(names & {"xl/workbook.xml", "xl/workbook.bin"})
    return SourceFile(path=path, name=name, kind=FileKind.WORKBOOK, modern=modern, notes=tuple(notes))


@contextmanager
def opened_parts(source: SourceFile) -> Iterator[zipfile.ZipFile]:
    """The parts of a zipped workbook; ``FileProblem`` where one of them cannot be unpacked."""
    try:
        with zipfile.ZipFile(source.path) as archive:
            yield archive
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as error:
        raise _damaged_workbook(source.name) from error


def _damaged_workbook(name: str) -> FileProblem:
    return FileProblem(_("the workbook is damaged or was cut short."), where=name, fix=_("Save or export it again."))


def _refuse_large_parts(parts: list[zipfile.ZipInfo], name: str) -> None:
    for part in parts:
        if part.file_size > 100_000_000 and part.file_size > SUSPICIOUS_RATIO * max(part.compress_size, 1):
            _refuse_bomb(MAX_UNPACKED_BYTES + part.file_size, 1, name)


def _look_into_compound(path: Path, name: str) -> SourceFile:
    with path.open("rb") as stream:
        content = stream.read(50_000_000)
    if "EncryptedPackage".encode("utf-16-le") in content or "EncryptionInfo".encode("utf-16-le") in content:
        raise FileProblem(
            _("the workbook is protected by a password."),
            where=name,
            fix=_("Open it, save a copy without a password, and give that copy."),
        )
    if not any(part.encode("utf-16-le") in content for part in ("Workbook", "Book")):
        raise FileProblem(
            _("this is an office document, but not a workbook."), where=name, fix=_("Save the table as CSV or XLSX.")
        )
    notes: tuple[str, ...] = ()
    if "_VBA_PROJECT".encode("utf-16-le") in content:
        notes = (_("The workbook carries macros. They were not run; only the values were read."),)
    return SourceFile(path=path, name=name, kind=FileKind.WORKBOOK, notes=notes)


def _refuse_foreign(head: bytes, name: str) -> None:
    for magic, kind in _KNOWN_FOREIGN.items():
        if head.startswith(magic) and not (magic == b"MZ" and head[:512].isascii() and b"\x00" not in head):
            raise FileProblem(
                _("this is a {kind} file, not a table.").format(kind=kind),
                where=name,
                fix=_("Export the table as CSV or XLSX."),
            )
    refuse_odd_resources(head, name)
    if re.match(rb"\s*(<\?xml|<html|<!doctype|\{|\[)", head, re.IGNORECASE):
        raise FileProblem(
            _("this is a web page or a message, not a table of rows and columns."),
            where=name,
            fix=_("Export the table as CSV or XLSX."),
        )
