"""Writes tidy tables as a workbook (tables, codebook, about) or as CSV files with their codebook beside them.

No merged cells, no colours that carry data, no formulas, one header row; text is text and numbers are numbers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from cubital.domain.errors import RequestProblem
from cubital.domain.scratch import ScratchFolder
from cubital.domain.words import _, grouped_words
from cubital.papers.out_files import replacing
from cubital.papers.safe_text import neutral_text
from cubital.papers.tidy_table import TidyCell, TidyTable, codebook_lines

MOST_SHEET_ROWS = 1_048_575  # a worksheet of the open spreadsheet format has 1,048,576 rows; one is the header
MOST_CELL_LETTERS = 32_767  # the same format's limit for one cell
WHOLE_SHEET = "A1:XFD1048576"
WIDEST, NARROWEST = 60, 8
SUFFIXES = (".xlsx", ".csv")
_BOOK_OPTIONS = {
    "constant_memory": True,  # rows go to the file one by one, so that a large export needs no large memory
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
}


@dataclass(frozen=True, kw_only=True)
class Export:
    """What one file holds: tables, the first of them the main one, and lines (label, text) about where it is from."""

    tables: tuple[TidyTable[Any], ...]
    about: tuple[tuple[str, str], ...]

    def about_lines(self) -> list[list[str]]:
        """The lines with their header."""
        return [[_("about"), _("text")], *(list(line) for line in self.about)]


def check_name(out: Path) -> None:
    """``RequestProblem`` unless ``out`` is named as a table that Cubital can write."""
    if out.suffix.casefold() not in SUFFIXES:
        raise RequestProblem(
            _("'{suffix}' is no kind of table that Cubital writes.").format(suffix=out.suffix),
            where=out.name,
            fix=_("Name the file .xlsx or .csv."),
        )


def write_export(export: Export, out: Path) -> int:
    """Writes ``out`` by its suffix and gives the number of rows of the main table.

    A CSV brings ``NAME.codebook.csv``, ``NAME.about.csv`` and one file per further table along. Each file is written
    whole or not at all. ``RequestProblem`` for another suffix, or for more rows than a sheet holds; ``MachineProblem``
    where a file cannot be written.
    """
    check_name(out)
    if out.suffix.casefold() == ".csv":
        return _write_csv_files(export, out)
    for table in export.tables:
        _check_length(table, out)
    with replacing(out) as draft:
        return _write_workbook(export, draft)


def _check_length(table: TidyTable[Any], out: Path) -> None:
    if table.count > MOST_SHEET_ROWS:
        raise RequestProblem(
            _("{count} rows are more than one sheet can hold ({most}).").format(
                count=grouped_words(table.count), most=grouped_words(MOST_SHEET_ROWS)
            ),
            where=out.name,
            fix=_("Name the file .csv, or export fewer months at a time."),
        )


def _write_csv_files(export: Export, out: Path) -> int:
    main, *others = export.tables
    count = _write_csv_table(main, out)
    for table in others:
        _write_csv_table(table, out.with_suffix(f".{table.name}.csv"))
    _write_csv_lines(codebook_lines(export.tables), out.with_suffix(".codebook.csv"))
    _write_csv_lines(export.about_lines(), out.with_suffix(".about.csv"))
    return count


def _write_csv_table(table: TidyTable[Any], out: Path) -> int:
    count = 0
    # The byte order mark and the quotes make a spreadsheet read accents and separators right; missing is empty.
    with replacing(out) as draft, draft.open("w", encoding="utf-8-sig", newline="") as stream:
        writer = csv.writer(stream, quoting=csv.QUOTE_NONNUMERIC)
        writer.writerow(table.header())
        for row in table.rows:
            writer.writerow([neutral_text(cell) if isinstance(cell, str) else cell for cell in table.cells(row)])
            count += 1
    return count


def _write_csv_lines(lines: Sequence[Sequence[str]], out: Path) -> None:
    with replacing(out) as draft, draft.open("w", encoding="utf-8-sig", newline="") as stream:
        writer = csv.writer(stream, quoting=csv.QUOTE_ALL)
        writer.writerows([neutral_text(cell) for cell in line] for line in lines)


def _write_workbook(export: Export, draft: Path) -> int:
    # The draft is opened first, so that a place that cannot be written is known before the work is done. The rows wait
    # in temporary files that go whatever happens; the packed book, some 60 MB at a million rows, in memory.
    with (
        draft.open("wb") as stream,
        ScratchFolder() as scratch,
    ):
        packed = io.BytesIO()
        count = _fill_workbook(export, packed, str(scratch))
        stream.write(packed.getbuffer())
    return count


def _fill_workbook(export: Export, packed: io.BytesIO, scratch: str) -> int:
    import xlsxwriter
    from xlsxwriter.exceptions import FileCreateError

    book = xlsxwriter.Workbook(packed, {**_BOOK_OPTIONS, "tmpdir": scratch})
    book.set_properties({"created": datetime(2000, 1, 1, tzinfo=UTC)})  # the day is in the about sheet
    try:
        look = _Look(book)
        counts = [_write_table_sheet(book, table, look) for table in export.tables]
        _write_text_sheet(book, "codebook", codebook_lines(export.tables), look)
        _write_text_sheet(book, "about", export.about_lines(), look)
    finally:  # also after a failure: closing the book closes its temporary files
        try:
            book.close()
        except FileCreateError as problem:  # wraps the system's own reason, which is what the person needs
            raise OSError(problem.args[0].errno, problem.args[0].strerror) from problem
    return counts[0]


class _Look:
    """The formats of a workbook; bold marks the header row and nothing else."""

    def __init__(self, book: Any) -> None:
        self.header = book.add_format({"bold": True})
        self.text = book.add_format({"num_format": "@"})
        self.wrapped = book.add_format({"num_format": "@", "text_wrap": True, "valign": "top"})


def _write_table_sheet(book: Any, table: TidyTable[Any], look: _Look) -> int:
    sheet = book.add_worksheet(table.name)
    sheet.freeze_panes(1, 0)
    sheet.ignore_errors({"number_stored_as_text": WHOLE_SHEET})
    for place, column in enumerate(table.columns):
        width = max(NARROWEST, len(column.key) + 2)
        sheet.set_column(place, place, width, None if column.is_number else look.text)
    sheet.write_row(0, 0, table.header(), look.header)
    count = 0
    for row in table.rows:
        count += 1
        _write_cells(sheet, count, table.cells(row), look)
    sheet.autofilter(0, 0, count, len(table.columns) - 1)
    return count


def _write_cells(sheet: Any, place: int, cells: Sequence[TidyCell], look: _Look) -> None:
    for column, cell in enumerate(cells):
        if isinstance(cell, str):
            if cell:
                sheet.write_string(place, column, neutral_text(cell)[:MOST_CELL_LETTERS], look.text)
        elif cell is not None:
            sheet.write_number(place, column, cell)


def _write_text_sheet(book: Any, name: str, lines: Sequence[Sequence[str]], look: _Look) -> None:
    sheet = book.add_worksheet(name)
    sheet.freeze_panes(1, 0)
    sheet.ignore_errors({"number_stored_as_text": WHOLE_SHEET})
    for place in range(len(lines[0])):
        longest = max(len(line[place]) for line in lines)
        sheet.set_column(place, place, min(max(longest + 2, NARROWEST), WIDEST))
    for number, line in enumerate(lines):
        for place, cell in enumerate(line):
            form = look.header if number == 0 else look.wrapped
            sheet.write_string(number, place, neutral_text(cell)[:MOST_CELL_LETTERS], form)
