"""How large a rectangle a workbook's sheets would fill: the reader of workbooks lays out every cell of it at once."""

from __future__ import annotations

import re

from cubital.domain.errors import FileProblem
from cubital.domain.words import _

MOST_CELLS = 60_000_000  # a million rows of sixty columns; laid out, these are about 2 GB

# Written for speed: they begin with fixed letters, and ``_tidied`` first brings rare spellings into this one.
_ROW = re.compile(rb"row [^>]*?\br=\"(\d+)")
# Column BA or beyond, or row 1,000,000 or beyond: without them a sheet has at most 52 million cells.
_FAR = re.compile(rb" r=\"(?:[B-Zb-z][A-Za-z]\d|[A-Za-z]{3}|[A-Za-z]{0,2}\d{7})")
_WIDE = re.compile(rb" r=\"([A-Za-z]{2,})\d")
_FILLED = re.compile(rb"<(?:\w+:)?c\b[^>]*?\sr=\"([A-Za-z]+)(\d+)\"(?:[^>]*[^/>])?>")
_RARE_SPELLINGS = (b"r='", b"r =", b"r= ", b"r\t=", b"r\n=", b"\tr=", b"\nr=", b"row\n", b"row\t")
_REFERENCE = re.compile(rb"\sr\s*=\s*[\"'](\w+)[\"']")
_CELL_ROW = re.compile(rb" r=\"[A-Za-z]+(\d{1,9})\"")
MOST_ROWS = 1_048_576  # of a sheet
_NARROW = 26  # columns with a name of one letter
_ROW_RECORD, _VALUE_RECORDS = 0, range(2, 12)  # BrtRowHdr; BrtCellRk to BrtFmlaError, without the blank cell


def refuse_far_cells(part: bytes, name: str) -> None:
    """``FileProblem`` where single cells far from the table make a sheet larger than any table is.

    ``part`` is one XML part of the workbook ``name``. One cell in the last corner of a sheet asks for 17 thousand
    million cells, which no computer has room for.
    """
    xml = _tidied(part)
    if not _FAR.search(xml):
        return
    rows = max((int(row) for row in _ROW.findall(xml)), default=1)
    columns = max((column_number(letters) for letters in set(_WIDE.findall(xml))), default=_NARROW)
    if columns * MOST_ROWS > MOST_CELLS:  # a cell may name another row than the one it stands in
        rows = max([rows, *(int(row) for row in set(_CELL_ROW.findall(xml)))])
    if rows * columns <= MOST_CELLS:
        return
    # Formatted but empty cells reach that far in many workbooks and cost nothing; only filled ones count.
    filled = [(column_number(letters), int(row)) for letters, row in _FILLED.findall(xml)]
    rows, columns = (max((cell[place] for cell in filled), default=1) for place in (1, 0))
    _refuse(rows, columns, name)


def refuse_far_records(part: bytes, name: str) -> None:
    """The same for one sheet of a binary workbook: records of a number, a length and a content.

    Source of the records' numbers: [MS-XLSB] 2.1.4 and 2.3.2.
    """
    place, row, rows, columns = 0, 0, 1, 1
    while place < len(part):
        kind, place = _varint(part, place, most=2)
        length, place = _varint(part, place, most=4)
        if kind == _ROW_RECORD and length >= 4:
            row = int.from_bytes(part[place : place + 4], "little") + 1
        elif kind in _VALUE_RECORDS and length >= 4:
            rows, columns = max(rows, row), max(columns, int.from_bytes(part[place : place + 4], "little") + 1)
        place += length
    _refuse(rows, columns, name)


def _varint(part: bytes, place: int, *, most: int) -> tuple[int, int]:
    """A number of seven bits a byte, the lowest first, and where it ends."""
    number = 0
    for turn, byte in enumerate(part[place : place + most]):
        number |= (byte & 0x7F) << (7 * turn)
        if byte < 0x80:
            return number, place + turn + 1
    return number, place + most


def _refuse(rows: int, columns: int, name: str) -> None:
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
