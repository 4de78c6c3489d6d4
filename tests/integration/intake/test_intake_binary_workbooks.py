"""Binary workbooks (.xlsb), written here record by record. Numbers of the records: [MS-XLSB] 2.3.2, from memory."""

from __future__ import annotations

import struct
import zipfile

import pytest

from cubital.domain.errors import FileProblem
from cubital.intake import sheet_size
from intake_help import read_file

ROW, TEXT, BLANK = 0, 6, 1
BEGIN_SHEET, DIMENSION, BEGIN_DATA, END_DATA, END_SHEET = 129, 148, 145, 146, 130
BEGIN_BOOK, BEGIN_SHEETS, SHEET, END_SHEETS, CALCULATION, END_BOOK = 131, 143, 156, 144, 157, 132
RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet"
RELATIONS = (
    '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    f'<Relationship Id="rId1" Type="{RELATION}" Target="worksheets/sheet1.bin"/></Relationships>'
)
TABLE = [
    ["ACC_NO", "MRN", "LOC", "COLL_DT", "RESULT"],
    ["5001", "70001", "ED", "2025-11-01 22:10", "NG 5D"],
    ["5002", "70002", "ED", "2025-11-01 23:10", "CNS"],
]


def record(kind, content=b""):
    numbers = []
    for number in (kind, len(content)):
        left = number
        while left >= 0x80:
            numbers.append(left & 0x7F | 0x80)
            left >>= 7
        numbers.append(left)
    return bytes(numbers) + content


def wide(text):
    return struct.pack("<I", len(text)) + text.encode("utf-16-le")


def cells_of(cells):
    """Sheet rows from (row, column, text) in order; no text makes a cell that is only formatted."""
    sheet, last = record(BEGIN_SHEET) + record(DIMENSION, struct.pack("<4I", 0, 9, 0, 9)) + record(BEGIN_DATA), None
    for row, column, text in cells:
        if row != last:
            sheet += record(ROW, struct.pack("<I", row) + bytes(13))
            last = row
        cell = struct.pack("<II", column, 0)
        sheet += record(BLANK, cell) if text is None else record(TEXT, cell + wide(text))
    return sheet + record(END_DATA) + record(END_SHEET)


def workbook_with(tmp_path, *far):
    cells = [(r, c, text) for r, row in enumerate(TABLE) for c, text in enumerate(row)]
    book = record(BEGIN_BOOK) + record(BEGIN_SHEETS)
    book += record(SHEET, struct.pack("<II", 0, 1) + wide("rId1") + wide("Sheet1"))
    book += record(END_SHEETS) + record(CALCULATION, bytes(26)) + record(END_BOOK)
    with zipfile.ZipFile(tmp_path / "laboratory.xlsb", "w") as archive:
        archive.writestr("xl/workbook.bin", book)
        archive.writestr("xl/_rels/workbook.bin.rels", RELATIONS)
        archive.writestr("xl/worksheets/sheet1.bin", cells_of([*cells, *far]))
    return tmp_path / "laboratory.xlsb"


def test_a_binary_workbook_is_read_like_any_other(tmp_path):
    with read_file(workbook_with(tmp_path)) as read:
        assert read.column("accession") == ["5001", "5002"]


def test_a_far_cell_of_a_binary_workbook_is_refused_with_its_place(tmp_path, monkeypatch):
    monkeypatch.setattr(sheet_size, "MOST_CELLS", 1_000_000)
    path = workbook_with(tmp_path, (2999, 1999, "x"))
    with pytest.raises(FileProblem, match="row 3000 and column 2000"), read_file(path):
        pass


def test_a_cell_in_the_last_corner_of_a_binary_workbook_is_refused(tmp_path):
    path = workbook_with(tmp_path, (1_048_575, 16_383, "x"))  # the last cell of a sheet, ECMA-376
    with pytest.raises(FileProblem, match="row 1048576 and column 16384"), read_file(path):
        pass


def test_a_far_cell_that_is_only_formatted_does_no_harm(tmp_path):
    with read_file(workbook_with(tmp_path, (1_048_575, 16_383, None))) as read:
        assert read.sets == 2
