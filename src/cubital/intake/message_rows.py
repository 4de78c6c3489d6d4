"""The lines that messages become, whatever kind they are: one table with fixed columns, read on like any other file.

A reader of messages makes a ``MessageRow`` for every result of a blood culture, and one with a ``loss`` for every
message or order that holds none. Everything after that (dates, patients, organisms, sets, the account of every row) is
the way of a laboratory file.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import NamedTuple, Self

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.intake.delimited import SAMPLE_ROWS, SheetText
from cubital.intake.roles import Role

LONGEST_CELL = 20_000  # characters; a report of a culture has a few hundred
BATCH_ROWS = 4_000
WITHDRAWN = "withdrawn"  # a status: what earlier messages said of this order, bottle and isolate never held


class MessageRow(NamedTuple):
    """One line. Every field is text as the engine reads it; empty where the message says nothing.

    ``message`` is the number of the message (or resource) in its file, from 1: people are shown it as the row.
    ``collected`` and ``received`` are wall clock as ISO (``2025-11-03 10:50``; only the day where no hour was given);
    where the message wrote an offset from UTC, that wall clock stands as written and ``collected_offset`` or
    ``received_offset`` holds the minutes east of UTC, so that the instant stays exact; see ``message_times``. What
    cannot be read as a time stands as it was written.
    ``birth`` is ISO. ``result`` is the text of the result or the organism's name, ``isolate`` tells the isolates of one
    bottle apart, ``status`` is a word or letter of ``status_words`` or ``WITHDRAWN``.
    ``otherwise`` is another organism than ``result`` that the same element names: its code and its words disagree.
    ``version`` numbers the reports of one order as they came: what a later one says of the same bottle and isolate with
    the same status replaces the earlier one; empty where the file holds one state of everything.
    ``reference`` names the message to people (its control ID, its test) and is kept beside the row's fate; it must not
    identify the patient. ``loss`` is a key of ``reasons.loss_words``: the line is no blood culture, and why; then only
    ``message`` and ``reference`` need be filled beside it.
    """

    message: int
    accession: str = ""
    patient: str = ""
    birth: str = ""
    unit: str = ""
    collected: str = ""
    collected_offset: str = ""
    received: str = ""
    received_offset: str = ""
    bottle: str = ""
    fill_ml: str = ""
    collector: str = ""
    site: str = ""
    method: str = ""
    status: str = ""
    result: str = ""
    isolate: str = ""
    antibiotic: str = ""
    reject_reason: str = ""
    loaded: str = ""
    positive: str = ""
    otherwise: str = ""
    version: str = ""
    reference: str = ""
    loss: str = ""


# The heading of each column and its role, in the order of MessageRow without ``message``.
COLUMNS: tuple[tuple[str, Role], ...] = (
    ("Accession", Role.ACCESSION),
    ("Patient", Role.PATIENT),
    ("Birth date", Role.BIRTH),
    ("Unit", Role.UNIT),
    ("Collected", Role.COLLECTED),
    ("Collected offset", Role.COLLECTED_OFFSET),
    ("Received", Role.RECEIVED),
    ("Received offset", Role.RECEIVED_OFFSET),
    ("Bottle", Role.BOTTLE),
    ("Fill mL", Role.FILL),
    ("Collector", Role.COLLECTOR),
    ("Site", Role.SITE),
    ("Method", Role.METHOD),
    ("Status", Role.STATUS),
    ("Result", Role.RESULT),
    ("Isolate", Role.ISOLATE),
    ("Antibiotic", Role.ANTIBIOTIC),
    ("Reject reason", Role.REJECT),
    ("Loaded", Role.LOADED),
    ("Positive", Role.POSITIVE),
    ("Said otherwise", Role.OTHERWISE),
    ("Version", Role.VERSION),
    ("Message", Role.REFERENCE),
    ("Why not counted", Role.LOSS),
)
HEADERS = tuple(header for header, _role in COLUMNS)
_ALWAYS = frozenset({Role.ACCESSION, Role.RESULT, Role.REFERENCE})
_LINE_SIGNS = str.maketrans({"\n": " ", "\r": " ", "\x00": " ", "\x0b": " ", "\x0c": " ", "\x85": " ", "\u2028": " "})


class MessageSheet:
    """Writes the lines of one file into the scratch folder, fast; a context manager.

    ``rows`` is how many were written. After the last one ``finish`` gives the table, ``roles`` what its columns are:
    a column without a single value is left out, as a file without that column would be.
    """

    def __init__(self, scratch: Path) -> None:
        self.rows = 0
        self._path = scratch / "messages.csv"
        self._stream = self._path.open("wb")
        self._waiting: list[MessageRow] = []
        self._sample: list[tuple[str, ...]] = []
        self._empty = set(range(1, len(COLUMNS) + 1))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        self._stream.close()

    def add(self, row: MessageRow) -> None:
        """Adds one line."""
        self._waiting.append(row)
        if len(self._waiting) >= BATCH_ROWS:
            self._write()

    def extend(self, rows: Iterable[MessageRow]) -> None:
        """Adds several lines."""
        self._waiting.extend(rows)
        if len(self._waiting) >= BATCH_ROWS:
            self._write()

    def finish(self, name: str) -> SheetText:
        """The table of everything written. ``name`` is the file's, for the refusal of a file without any message."""
        self._write()
        self._stream.close()
        if not self.rows:
            raise FileProblem(
                _("there is no message in it."), where=name, fix=_("Export it again with a longer period.")
            )
        return SheetText(
            name="",
            path=self._path,
            delimiter=",",
            headers=HEADERS,
            sample=tuple(self._sample),
            first_row=1,
            header_row=0,
            numbered=True,
        )

    @property
    def roles(self) -> MappingProxyType[str, str]:
        """Heading to role for every column that holds something; the others have the role of what is not read."""
        return MappingProxyType(
            {
                header: (Role.OTHER if place in self._empty and role not in _ALWAYS else role).value
                for place, (header, role) in enumerate(COLUMNS, start=1)
            }
        )

    def _write(self) -> None:
        rows, self._waiting = self._waiting, []
        if not rows:
            return
        for place in tuple(self._empty):
            if any(row[place] for row in rows):
                self._empty.discard(place)
        text = _as_csv(rows)
        if _needs_cleaning(text, len(rows)):
            rows = [_clean(row) for row in rows]
            text = _as_csv(rows)
        if len(self._sample) < SAMPLE_ROWS:
            self._sample += [row[1:] for row in rows[: SAMPLE_ROWS - len(self._sample)]]
        self._stream.write(text.encode("utf-8", errors="replace"))
        self.rows += len(rows)


def _as_csv(rows: Iterable[MessageRow]) -> str:
    stream = io.StringIO(newline="")
    csv.writer(stream, lineterminator="\n").writerows(rows)
    return stream.getvalue()


def _needs_cleaning(text: str, rows: int) -> bool:
    odd = text.count("\n") != rows or "\r" in text or "\x00" in text
    return odd or len(max(text.split("\n"), key=len)) > LONGEST_CELL


def _clean(row: MessageRow) -> MessageRow:
    """The row without signs that end a line or a text, and with no cell longer than any report is."""
    return MessageRow(row.message, *(cell.translate(_LINE_SIGNS)[:LONGEST_CELL] for cell in row[1:]))
