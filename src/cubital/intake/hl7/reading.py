"""Opens a file of HL7 v2 messages as the table that their lines make."""

from __future__ import annotations

import codecs
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from cubital.domain.errors import Question
from cubital.domain.words import _, ngettext
from cubital.intake.delimited import SheetText
from cubital.intake.hl7.batch import BatchCount
from cubital.intake.hl7.lines import LineReader
from cubital.intake.hl7.splitting import Damaged, Message, read_messages
from cubital.intake.message_rows import MessageRow, MessageSheet

ASKED_CODES = 10  # more unknown codes than this are a feed of the whole laboratory: they are listed, not asked
LISTED_CODES = 8
CHUNK_SIGNS = 1 << 20


@dataclass(frozen=True, kw_only=True)
class MessageTable:
    """The lines of a file, what their columns are, and what a person should know or answer."""

    sheet: SheetText
    roles: Mapping[str, str]
    notes: tuple[str, ...]
    questions: tuple[Question, ...]


def read_message_file(path: Path, *, name: str, scratch: Path, answers: Mapping[str, str]) -> MessageTable:
    """Every message becomes at least one line; the lines lie in ``scratch`` and are read on as those of any file.

    A message that cannot be read is a line with that reason and stops nothing. The sender's codes that have no name
    are asked where the file has no blood culture else, and listed where it has; ``answers`` holds what was said of
    them before. Raises ``FileProblem`` for a file without any message.
    """
    reader = LineReader(answers)
    batch = BatchCount()
    recoded = stray = 0
    with MessageSheet(scratch) as sheet:
        for piece in read_messages(_as_bytes(path, scratch)):
            if isinstance(piece, Message):
                batch.add_message()
                recoded += piece.recoded
                stray += piece.stray
                sheet.extend(reader.lines(piece))
                batch.add_segments(piece.batch)
            elif isinstance(piece, Damaged):
                batch.add_message()
                sheet.add(MessageRow(message=piece.number, reference=piece.start, loss="unreadable_message"))
            else:
                batch.add_segments(piece)
        table = sheet.finish(name)
    return MessageTable(
        sheet=table,
        roles=sheet.roles,
        notes=(*batch.notes, *_notes(reader, recoded=recoded, stray=stray)),
        questions=tuple(_questions(reader)),
    )


def _as_bytes(path: Path, scratch: Path) -> Path:
    """The file itself; where every letter takes two bytes, a copy in UTF-8."""
    with path.open("rb") as stream:
        start = stream.read(2)
    if start not in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
        return path
    copy = scratch / "messages-utf8"
    with path.open(encoding="utf-16", errors="replace", newline="") as wide, copy.open("wb") as narrow:
        while signs := wide.read(CHUNK_SIGNS):
            narrow.write(signs.encode("utf-8", errors="replace"))
    return copy


def _questions(reader: LineReader) -> list[Question]:
    """What the file's unknown codes are, when nothing in it is a blood culture and one of them may be."""
    if reader.cultures or len(reader.unknown_tests) + len(reader.unknown_specimens) > ASKED_CODES:
        return []
    asked = [
        Question(
            f"test_code.{code}",
            _("Is the test with the code {code} a blood culture?").format(code=code),
            ("blood-culture", "other"),
        )
        for code in sorted(reader.unknown_tests)
    ]
    return asked + [
        Question(
            f"specimen_code.{code}",
            _("Is the specimen with the code {code} blood?").format(code=code),
            ("blood", "other"),
        )
        for code in sorted(reader.unknown_specimens)
    ]


def _notes(reader: LineReader, *, recoded: int, stray: int) -> list[str]:
    notes = []
    if recoded:
        text = ngettext(
            "{count} message names another character set than it is written in; it was read as it is written.",
            "{count} messages name another character set than they are written in; they were read as they are written.",
            recoded,
        )
        notes.append(text.format(count=recoded))
    if stray:
        text = ngettext(
            "{count} line belongs to no segment and was left out.",
            "{count} lines belong to no segment and were left out.",
            stray,
        )
        notes.append(text.format(count=stray))
    unknown = reader.unknown_tests + reader.unknown_specimens
    if unknown and not _questions(reader):
        text = _("Codes that are not known and have no name, with the number of orders: {codes}.")
        notes.append(text.format(codes=_listed(unknown)))
    if reader.unread:
        text = _("Observations of blood cultures that say nothing about growth were not read: {names}.")
        notes.append(text.format(names=_listed(reader.unread)))
    return notes


def _listed(counts: Counter[str]) -> str:
    shown = [f"{name[:40]} ({count})" for name, count in counts.most_common(LISTED_CODES)]
    return ", ".join(shown) + (", …" if len(counts) > LISTED_CODES else "")
