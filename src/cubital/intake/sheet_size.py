"""How large a rectangle a workbook's sheets would fill: the reader of workbooks lays out every cell of it at once."""

from __future__ import annotations

import re

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.intake.source_files import SourceFile, opened_parts

MOST_CELLS = 60_000_000  # a million rows of sixty columns; laid out, these are about 2 GB

# Written for speed: they begin with fixed letters, and ``_tidied`` first brings rare spellings into this one.
_ROW = re.compile(rb"row [^>]*?\br=\"(\d+)")
_WIDE = re.compile(rb" r=\"([A-Za-z]{2,})\d")
_FILLED = re.compile(rb"<(?:\w+:)?c\b[^>]*?\sr=\"([A-Za-z]+)(\d+)\"(?:[^>]*[^/>])?>")
_RARE_SPELLINGS = (b"r='", b"r =", b"r= ", b"r\t=", b"r\n=", b"\tr=", b"\nr=", b"row\n", b"row\t")
_REFERENCE = re.compile(rb"\sr\s*=\s*[\"'](\w+)[\"']")
_NARROW = 26  # columns with a name of one letter


def refuse_far_cells(source: SourceFile) -> None:
    """``FileProblem`` where single cells far from the table make a sheet larger than any table is.

    One cell in the last corner of a sheet asks for 17 thousand million cells, which no computer has room for.
    """
    with opened_parts(source) as archive:
        for part in archive.infolist():
            if part.filename.endswith((".xml", ".XML")):
                _check_part(archive.read(part), source.name)


def _check_part(part: bytes, name: str) -> None:
    xml = _tidied(part)
    rows = max((int(row) for row in _ROW.findall(xml)), default=1)
    columns = max((column_number(letters) for letters in set(_WIDE.findall(xml))), default=_NARROW)
    if rows * columns <= MOST_CELLS:
        return
    # Formatted but empty cells reach that far in many workbooks and cost nothing; only filled ones count.
    filled = [(column_number(letters), int(row)) for letters, row in _FILLED.findall(xml)]
    rows, columns = (max((cell[place] for cell in filled), default=1) for place in (1, 0))
    if rows * columns > MOST_CELLS:
        raise FileProblem(
            _("a sheet has cells as far away as row {row} and column {column}; no table is that large.").format(
                row=rows, column=columns
            ),
            where=name,
            fix=_("Delete what stands far from the table, or copy the table into a new workbook."),
        )


def _tidied(xml: bytes) -> bytes:
    if not any(spelling in xml for spelling in _RARE_SPELLINGS):
        return xml
    return _REFERENCE.sub(rb' r="\1"', xml.replace(b"\n", b" ").replace(b"\t", b" "))


def column_number(letters: bytes) -> int:
    """1 for A, 27 for AA."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + letter - ord("A") + 1
    return number
