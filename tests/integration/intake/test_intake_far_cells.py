"""Workbooks with single cells far away: the reader would lay out the whole rectangle up to them."""

from __future__ import annotations

import zipfile

import openpyxl
import pytest

from cubital.domain.errors import FileProblem
from intake_help import read_file

HEADER = ["ACC_NO", "MRN", "LOC", "COLL_DT", "RESULT"]
ROW = ["70001", "ED", "2025-11-01 22:10", "NG 5D"]
LAST_ROW, LAST_COLUMN = 1_048_576, 16_384  # of one sheet, ECMA-376


def workbook_with(tmp_path, *far):
    book = openpyxl.Workbook()
    book.active.append(HEADER)
    for number in range(1, 6):
        book.active.append([str(5000 + number), *ROW])
    for row, column, value in far:
        cell = book.active.cell(row, column, value)
        cell.font = openpyxl.styles.Font(bold=True)
    book.save(tmp_path / "far.xlsx")
    return tmp_path / "far.xlsx"


def test_a_cell_in_the_last_corner_is_refused_with_its_place(tmp_path):
    path = workbook_with(tmp_path, (LAST_ROW, LAST_COLUMN, "x"))
    with pytest.raises(FileProblem, match=r"row 1048576 and column 16384") as caught, read_file(path):
        pass
    assert "new workbook" in caught.value.fix


def test_two_cells_that_span_the_sheet_are_refused(tmp_path):
    path = workbook_with(tmp_path, (1, LAST_COLUMN, "x"), (LAST_ROW, 1, "y"))
    with pytest.raises(FileProblem, match="no table is that large"), read_file(path):
        pass


def test_formatted_but_empty_cells_far_away_do_no_harm(tmp_path):
    with read_file(workbook_with(tmp_path, (LAST_ROW, LAST_COLUMN, None))) as read:
        assert read.sets == 5


def test_a_remark_far_below_a_narrow_table_is_read_over(tmp_path):
    with read_file(workbook_with(tmp_path, (200_000, 1, "end of report"))) as read:
        assert read.sets == 5


def test_another_spelling_of_the_same_sheet_is_refused_too(tmp_path):
    plain = workbook_with(tmp_path, (LAST_ROW, LAST_COLUMN, "x"))
    with zipfile.ZipFile(plain) as read, zipfile.ZipFile(tmp_path / "spelt.xlsx", "w") as written:
        for part in read.namelist():
            content = read.read(part)
            if part.startswith("xl/worksheets/"):
                content = content.replace(b' r="XFD1048576"', b"\n\tr = 'XFD1048576'")
            written.writestr(part, content)
    with pytest.raises(FileProblem, match="no table is that large"), read_file(tmp_path / "spelt.xlsx"):
        pass
