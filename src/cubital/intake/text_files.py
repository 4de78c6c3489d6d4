"""A text file in any common encoding becomes one UTF-8 copy in the scratch folder, checked on the way.

The copy also protects against a file that changes while it is being read.
"""

from __future__ import annotations

import codecs
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.intake.source_files import HEAD_BYTES, SourceFile

CHUNK_BYTES = 1 << 20
# The engine holds one line in memory; a laboratory row is a few hundred characters.
MAX_LINE_BYTES = 2 * CHUNK_BYTES
SHOWN_LINES = 5
_UNDEFINED_IN_CP1252 = (0x81, 0x8D, 0x8F, 0x90, 0x9D)
_WESTERN = frozenset("ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕÖØÙÚÛÜßàáâãäåæçèéêëìíîïñòóôõöøùúûüœŒ€°±²³µ–—‘’“”…·ºª¿¡«»§½\u00a0")

_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# Encodings that laboratory systems and spreadsheets write, in order of preference when several explain the bytes.
_CANDIDATES = ("cp1252", "latin_1", "iso8859_15", "cp1250", "iso8859_2", "mac_roman", "cp850", "cp437", "cp1251")


@dataclass(frozen=True, kw_only=True)
class TextCopy:
    """The UTF-8 copy: where it lies, what it was, how many line ends it has, whether ``=`` or ``#`` occurs in it."""

    path: Path
    encoding: str
    lines: int
    marked: bool


def copy_as_utf8(source: SourceFile, scratch: Path) -> TextCopy:
    """Copies ``source`` to UTF-8 with ``\\n`` or ``\\r\\n`` line ends.

    Raises ``FileProblem`` for binary content, for lines written in two encodings (names them), and for a line too long
    to be a row, which is refused after two chunks without reading on.
    """
    with source.path.open("rb") as stream:
        head = stream.read(HEAD_BYTES)
    encoding = _encoding_by_marks(head)
    if encoding is None:
        _refuse_binary(head, source.name)
        encoding = "utf-8"
    target = scratch / "text.csv"
    try:
        return _copy(source, target, encoding)
    except UnicodeDecodeError as error:
        if encoding != "utf-8":
            raise FileProblem(
                _("the text says that it is {encoding}, but it is not.").format(encoding=encoding),
                where=source.name,
                fix=_("Save it again as CSV UTF-8."),
            ) from error
    guessed = _guess_encoding(source)
    try:
        return _copy(source, target, guessed)
    except UnicodeDecodeError as error:
        raise FileProblem(
            _("it holds signs of no common encoding ({encoding} came nearest).").format(encoding=guessed),
            where=source.name,
            fix=_("Save it again as CSV UTF-8."),
        ) from error


def _encoding_by_marks(head: bytes) -> str | None:
    for mark, encoding in _BOMS:
        if head.startswith(mark):
            return encoding
    even, odd = head[0:4000:2].count(0), head[1:4000:2].count(0)
    if odd > 0.3 * min(len(head), 4000) / 2 and even == 0:
        return "utf-16-le"
    if even > 0.3 * min(len(head), 4000) / 2 and odd == 0:
        return "utf-16-be"
    return None


def _refuse_binary(head: bytes, name: str) -> None:
    control = sum(head.count(byte) for byte in (*range(9), *range(14, 27), 28, 29, 30, 31))
    if b"\x00" in head or control > len(head) * 0.01 + 1:
        raise FileProblem(
            _("this is not a table but a binary file."), where=name, fix=_("Export the table as CSV or XLSX.")
        )


def _copy(source: SourceFile, target: Path, encoding: str) -> TextCopy:
    lines = since_line_end = 0
    marked = False
    last = b""
    with target.open("wb") as copy:
        for piece in _pieces(source, encoding):
            since_line_end = 0 if b"\n" in piece else since_line_end + len(piece)
            if since_line_end > MAX_LINE_BYTES:
                raise _long_line(source.name, lines + 1)
            if b"\x00" in piece:
                raise FileProblem(
                    _("there are null bytes in line {line}; this is no text.").format(line=lines + 1),
                    where=source.name,
                    fix=_("Export the table as CSV or XLSX."),
                )
            lines += piece.count(b"\n")
            marked = marked or b"=" in piece or b"#" in piece
            copy.write(piece)
            last = piece or last
        if last and not last.endswith(b"\n"):
            copy.write(b"\n")
            lines += 1
    return TextCopy(path=target, encoding=encoding, lines=lines, marked=marked)


def _long_line(name: str, line: int) -> FileProblem:
    return FileProblem(
        _("line {line} is longer than {size} MB; no row of a table is.").format(line=line, size=MAX_LINE_BYTES >> 20),
        where=name,
        fix=_("The rest was not read. Export the table again with one row per line."),
    )


def _pieces(source: SourceFile, encoding: str) -> Iterator[bytes]:
    """The file as chunks of UTF-8. Plain ASCII chunks, the usual case, pass through untouched."""
    decoder = codecs.getincrementaldecoder(encoding)()
    plain = encoding in ("utf-8", *_CANDIDATES)
    old_line_ends: bool | None = None
    clean = True  # no half character is waiting in the decoder
    with source.path.open("rb") as stream:
        while chunk := stream.read(CHUNK_BYTES):
            if old_line_ends is None:
                old_line_ends = _only_carriage_returns(chunk, encoding)
            if not (plain and clean and chunk.isascii()):
                text = decoder.decode(chunk)
                clean = not decoder.getstate()[0]
                chunk = text.encode("utf-8")
            yield chunk.replace(b"\r", b"\n") if old_line_ends else chunk
    yield decoder.decode(b"", final=True).encode("utf-8")


def _only_carriage_returns(chunk: bytes, encoding: str) -> bool:
    text = chunk.decode(encoding, errors="replace") if encoding.startswith("utf-") else chunk.decode("latin-1")
    return "\r" in text and "\n" not in text


def _guess_encoding(source: SourceFile) -> str:
    """Which single-byte encoding explains the lines that are not UTF-8; refuses a file that mixes both."""
    from charset_normalizer import from_bytes

    foreign, foreign_lines, modern_lines = bytearray(), [], []
    with source.path.open("rb") as stream:
        for number, line in enumerate(iter(lambda: stream.readline(MAX_LINE_BYTES), b""), start=1):
            if line.isascii():
                continue
            try:
                line.decode("utf-8")
                modern_lines.append(number)
            except UnicodeDecodeError:
                foreign_lines.append(number)
                if len(foreign) < HEAD_BYTES:
                    foreign += line
    if modern_lines:
        raise _mixed_encodings(source.name, modern_lines, foreign_lines)
    if _reads_as_western(bytes(foreign)):
        return "cp1252"
    best = from_bytes(bytes(foreign), cp_isolation=list(_CANDIDATES)).best()
    return best.encoding if best and _decodes_all(foreign, best.encoding) else "cp1252"


def _reads_as_western(sample: bytes) -> bool:
    """Few accented letters, and all of them of Western Europe: a few words are too little for statistics to tell."""
    if any(byte in sample for byte in _UNDEFINED_IN_CP1252):
        return False
    foreign = [sign for sign in sample.decode("cp1252") if not sign.isascii()]
    letters = sum(sign.isalpha() for sign in sample.decode("cp1252"))
    return all(sign in _WESTERN for sign in foreign) and len(foreign) <= max(0.4 * letters, 1)


def _decodes_all(sample: bytearray, encoding: str) -> bool:
    try:
        sample.decode(encoding)
    except UnicodeDecodeError:
        return False
    return True


def _mixed_encodings(name: str, modern: list[int], foreign: list[int]) -> FileProblem:
    fewer, more = sorted((modern, foreign), key=len)
    shown = ", ".join(str(number) for number in fewer[:SHOWN_LINES])
    shown += ", …" if len(fewer) > SHOWN_LINES else ""
    return FileProblem(
        _("lines {lines} are written in another encoding than the other {count} lines with accents.").format(
            lines=shown, count=len(more)
        ),
        where=name,
        fix=_("Two exports were probably pasted together. Save each as CSV UTF-8 and join them again."),
    )
