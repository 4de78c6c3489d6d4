"""Cuts a file into messages and a message into segments, without holding more than one message in memory."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from cubital.intake.hl7.charsets import decode_message
from cubital.intake.hl7.delimiters import Delimiters, read_delimiters

CHUNK_BYTES = 4 << 20
MAX_MESSAGE_BYTES = 64 << 20  # a report with a picture in it has a few megabytes
OBX_STATUS = 11
BATCH_SEGMENTS = frozenset({"FHS", "BHS", "BTS", "FTS"})
_HEADER = re.compile(rb"MSH[^\w\s]")
# Separators as a header names them: no text holds these unescaped, so a header is one even in the middle of a line.
_SURE_HEADER = re.compile(rb"MSH([^\w\s])[^\w\s]{3,5}\1")
_BEFORE = b" \t\x00"
_BREAKS = b"\r\n\x0b\x1c"
_EDGE = b"\r\n\x0b\x1c\x00 \t"
_WIRE = re.compile(rb"[\x0b\x1c]+")
_NAME = re.compile(r"[A-Z][A-Z0-9]{2}")

Segment = list[str]


class Message(NamedTuple):
    """One message: ``segments`` as lists of fields, number *n* at place *n*, the name at place 0; MSH-1 at place 1.

    ``batch`` holds the segments of the batch around it that stood in its block, ``recoded`` says that MSH-18 was wrong,
    ``stray`` counts lines that begin no segment and go on no text.
    """

    number: int
    signs: Delimiters
    segments: list[Segment]
    batch: list[Segment]
    recoded: bool = False
    stray: int = 0


class Damaged(NamedTuple):
    """A message that cannot be read: ``start`` is its beginning, for its reference."""

    number: int
    start: str


def field(segment: Segment, number: int) -> str:
    """Field ``number`` as written; empty where the segment is shorter."""
    return segment[number] if number < len(segment) else ""


def cut_file(path: Path) -> Iterator[bytes]:
    """The blocks of a file, each from one message header to the next; first whatever stands before the first.

    A block beyond ``MAX_MESSAGE_BYTES`` is cut there and its rest left out.
    """
    with path.open("rb") as stream:
        held, searched, started, spilled = b"", 0, 0, False
        while chunk := stream.read(CHUNK_BYTES):
            held += chunk
            start = 0
            for at in _starts(held, searched):
                if not spilled:
                    yield held[start:at]
                start, started, spilled = at, 1, False
            held = held[start:]
            searched = max(len(held) - len(b"MSH|") + 1, started)  # a header may still be half read
            if len(held) > MAX_MESSAGE_BYTES:
                if not spilled:
                    yield held[:MAX_MESSAGE_BYTES]
                held, spilled, searched = held[-8:], True, 5
        if not spilled:
            yield held


def _starts(held: bytes, searched: int) -> Iterator[int]:
    """Where a header begins a line, or cannot be anything else. The very first byte counts as a beginning of a line."""
    for found in _HEADER.finditer(held, searched):
        at = found.start()
        before = at - 1
        while before >= 0 and held[before] in _BEFORE:
            before -= 1
        begins_line = before < 0 or held[before] in _BREAKS or (at <= 3 and held[:3] == b"\xef\xbb\xbf")
        if begins_line or _SURE_HEADER.match(held, at):
            yield at


def read_messages(path: Path) -> Iterator[Message | Damaged | list[Segment]]:
    """Every message of a file in order, readable or not, numbered from 1.

    What stands in front of the first message comes as a list of the segments of a batch, empty where there are none.
    """
    blocks = cut_file(path)
    yield _batch_segments(next(blocks, b""))
    number = 0
    for block in blocks:
        first, *others = (part for part in _WIRE.split(block) if part.strip(_EDGE))
        number += 1
        yield split_message(first, number)
        for other in others:
            if _only_batch(other):
                yield _batch_segments(other)
            else:
                number += 1
                yield Damaged(number, _beginning(other))


def split_message(data: bytes, number: int = 1) -> Message | Damaged:
    """One message from its bytes. Segments may end in CR, LF or both; a line that begins no segment goes on the one
    before where that can hold a text. Damaged where the header names no separators or nothing follows it."""
    text, recoded = decode_message(data.strip(_EDGE))
    signs = read_delimiters(text[:12])
    if signs is None:
        return Damaged(number, _beginning(data))
    segments, batch = [], []
    lines, stray = _lines(text, signs.field)
    for line in lines:
        name = line[:3]
        if name in BATCH_SEGMENTS:
            batch.append(line.split(line[3:4] or signs.field))
        elif name == "MSH":
            segments.append(["MSH", signs.field, *line[4:].split(signs.field)])
        else:
            segments.append(line.split(signs.field))
    if len(segments) < 2 or segments[0][0] != "MSH":
        return Damaged(number, _beginning(data))
    return Message(number, signs, segments, batch, recoded, stray)


def _lines(text: str, sign: str) -> tuple[list[str], int]:
    """Segment by segment, and how many lines belong to none."""
    lines: list[str] = []
    stray = 0
    for line in text.replace("\n", "\r").split("\r"):
        if not line:
            continue
        if line[3:4] == sign and _NAME.match(line):
            lines.append(line)
        elif _begins_segment(line.strip(), sign):
            lines.append(line.strip())
        elif lines and _can_go_on(lines[-1], sign):
            lines[-1] += f" {line.strip()}"
        elif line.strip():
            stray += 1
    return lines, stray


def _can_go_on(segment: str, sign: str) -> bool:
    """Texts stand in NTE and in OBX-5; an OBX that has its status already is at its end."""
    return segment.startswith("NTE") or (segment.startswith("OBX") and segment.count(sign) < OBX_STATUS)


def _begins_segment(line: str, sign: str) -> bool:
    """A segment with its separator; those of a batch may have separators of their own, or stand bare: ``FTS``."""
    if _NAME.match(line) is None:
        return False
    return line[3:4] == sign or (line[:3] in BATCH_SEGMENTS and not line[3:4].isalnum())


def _batch_segments(block: bytes) -> list[Segment]:
    found = []
    for line in decode_message(block.strip(_EDGE))[0].replace("\n", "\r").split("\r"):
        name = line[:3]
        if name in BATCH_SEGMENTS:
            found.append(line.split(line[3:4]) if line[3:4] else [name])
    return found


def _only_batch(block: bytes) -> bool:
    lines = block.replace(b"\n", b"\r").strip(_EDGE).split(b"\r")
    return all(not line.strip(_EDGE) or line[:3].decode("latin-1") in BATCH_SEGMENTS for line in lines)


def _beginning(data: bytes) -> str:
    """No content: a damaged message may begin with the patient. Only the name of its first segment."""
    name = data.strip(_EDGE)[:3].decode("latin-1")
    return name if _NAME.fullmatch(name) else ""
