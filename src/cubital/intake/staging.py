"""Puts the needed columns of a file into one engine table, as text, in the order of the file."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import duckdb

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.engine import Session
from cubital.engine.session import quote_name, quote_text
from cubital.intake.dates import ISO_LENGTH
from cubital.intake.delimited import SheetText
from cubital.intake.headers import label_headers, tidy_header

# Trimming every cell of a large file costs as much as reading it. Only what is compared as it stands is trimmed here;
# everything else is read through its distinct texts.
IDENTIFIERS = frozenset({"accession", "patient"})
LONGEST_CELL = 1 << 30
SPARE_CELLS = 6  # cells beyond the header: an unquoted separator inside a text


@dataclass(frozen=True, kw_only=True)
class StagedSheet:
    """Where the rows of one sheet lie: lines ``first_line`` to ``last_line`` of ``staged``.

    A spreadsheet shows line *n* as row ``n - first_line + first_row``.
    """

    name: str
    first_line: int
    last_line: int
    first_row: int
    numbered: bool = False

    @property
    def offset(self) -> int:
        return self.first_row - self.first_line


def stage_sheets(
    session: Session,
    sheets: Sequence[SheetText],
    columns: Mapping[str, str],
    *,
    file_name: str,
    typed: frozenset[str] = frozenset(),
) -> tuple[StagedSheet, ...]:
    """Creates the table ``staged``: one text column per entry of ``columns`` (name to column label), and ``surplus``.

    ``typed`` names columns that hold nothing but ISO times as far as the sample shows. They are read as times at once,
    with the length of their text beside them as ``NAME_length``; see ``untyped_columns`` for what did not fit.

    Empty cells are null. The line number is the engine's row number, which is the order of the file only in a
    session opened with ``ordered=True``; anything else is a programming error. Raises ``FileProblem`` for a quotation
    mark that is never closed and for rows that the engine cannot cut.
    """
    if session.one("select current_setting('preserve_insertion_order')")[0] is not True:
        raise ValueError("reading a file needs a session opened with ordered=True")
    shape = ", ".join(f"{quote_name(name)} varchar" for name in columns)
    session.do(f"create or replace table staged ({shape}, surplus boolean, sheet_row bigint, unkept tinyint)")
    staged, line = [], 0
    for sheet in sheets:
        session.do(f"insert into staged {_select(sheet, columns, typed)}") if len(sheets) > 1 else _stage_only(
            session, sheet, columns, typed, file_name
        )
        (count,) = session.one("select count(*) from staged")
        staged.append(
            StagedSheet(
                name=sheet.name,
                first_line=line,
                last_line=count - 1,
                first_row=sheet.first_row,
                numbered=sheet.numbered,
            )
        )
        line = count
    return tuple(staged)


def _stage_only(
    session: Session, sheet: SheetText, columns: Mapping[str, str], typed: frozenset[str], file_name: str
) -> None:
    try:
        session.do(f"create or replace table staged as {_select(sheet, columns, typed)}")
    except duckdb.InvalidInputException as error:
        raise _cannot_cut(sheet, file_name, error) from error


def _select(sheet: SheetText, columns: Mapping[str, str], typed: frozenset[str]) -> str:
    labels = [tidy_header(label) for label in label_headers(list(sheet.headers))]
    first = 1 if sheet.numbered else 0
    cells = []
    for name, label in columns.items():
        place = labels.index(tidy_header(label)) if tidy_header(label) in labels else None
        text = "null::varchar" if place is None else f"c{place + first}"
        if place is not None and name in IDENTIFIERS:
            outer = f"starts_with({text}, ' ') or ends_with({text}, ' ')"
            text = f"case when {outer} then nullif(trim({text}), '') else {text} end"
        cells += _typed_cells(name, text) if name in typed else [f"{text} as {quote_name(name)}"]
    width = len(sheet.headers) + first
    surplus = f"coalesce({', '.join(f'c{width + i}' for i in range(SPARE_CELLS))}) is not null"
    number = "try_cast(c0 as bigint)" if sheet.numbered else "null::utinyint"
    shape = ", ".join(f"'c{i}': 'VARCHAR'" for i in range(width + SPARE_CELLS))
    return (
        f"select {', '.join(cells)}, {surplus} as surplus, {number} as sheet_row, null::tinyint as unkept"
        f" from read_csv({quote_text(str(sheet.path))}, columns={{{shape}}}, header=false, auto_detect=false,"
        f" delim={quote_text(sheet.delimiter)}, quote='\"', escape='\"', null_padding=true, strict_mode=false)"
    )


def _typed_cells(name: str, text: str) -> list[str]:
    time = f"try_cast({text} as timestamp)"
    return [
        f"{time} as {quote_name(name)}",
        f"length({text})::integer as {quote_name(name + '_length')}",
    ]


def untyped_columns(session: Session, typed: frozenset[str]) -> frozenset[str]:
    """Those of ``typed`` in which some cell was no plain ISO time after all: the table has to be staged again."""
    if not typed:
        return frozenset()
    names = sorted(typed)
    counted = ", ".join(_odd_cells(quote_name(name), quote_name(name + "_length")) for name in names)
    counts = session.one(f"select {counted} from staged")
    return frozenset(name for name, count in zip(names, counts, strict=True) if count)


def _odd_cells(column: str, length: str) -> str:
    """The SQL that counts cells no plain ISO time was made of, or made wrongly: a short year, an offset applied."""
    wrong = f"{column} < timestamp '1700-01-01' or {length} > {ISO_LENGTH}"
    return f"count({length}) - count({column}) + count(*) filter (where {wrong})"


def _cannot_cut(sheet: SheetText, file_name: str, error: Exception) -> FileProblem:
    row = _odd_row(sheet)
    if row is not None:
        return FileProblem(
            _("the quotation mark that opens in row {row} is never closed.").format(row=row),
            where=file_name,
            fix=_("Remove it, or close it, and give the file again."),
        )
    first_line = str(error).splitlines()[0]
    return FileProblem(
        _("a row cannot be cut into cells ({reason}).").format(reason=first_line.split(". ")[0][:120]),
        where=file_name,
        fix=_("It has far more cells than the header. Export it again, or give it as XLSX."),
    )


def check_quotes(sheet: SheetText, *, lines: int, rows: int, file_name: str) -> None:
    """Refuses a file in which a stray quotation mark swallowed rows into one cell.

    ``lines`` were counted while copying; ``rows`` is what the engine found. Where all lines are accounted for nothing
    was swallowed, and the file is not looked at again.
    """
    if sheet.numbered or lines <= rows:
        return
    row = _odd_row(sheet)
    if row is not None:
        raise FileProblem(
            _("the quotation mark in row {row} opens a cell that runs over whole rows.").format(row=row),
            where=file_name,
            fix=_("Remove it, or double it, and give the file again."),
        )


def number_around_blank_lines(sheet: SheetText, *, lines: int, rows: int) -> tuple[StagedSheet, ...]:
    """The sheet in stretches between blank lines, which the engine leaves out but a spreadsheet counts.

    Lines inside quoted cells are no rows of a spreadsheet, so the file is read once more when the counts differ.
    """
    whole = StagedSheet(
        name=sheet.name, first_line=0, last_line=rows - 1, first_row=sheet.first_row, numbered=sheet.numbered
    )
    if sheet.numbered or lines <= rows:
        return (whole,)
    stretches: list[StagedSheet] = []
    line, shift = 0, None
    csv.field_size_limit(LONGEST_CELL)
    with sheet.path.open("rb") as stream:
        stream.seek(sheet.data_start)
        text = io.TextIOWrapper(stream, encoding="utf-8", newline="")
        for number, cells in enumerate(csv.reader(text, delimiter=sheet.delimiter), start=sheet.first_row):
            if not cells:
                continue
            if number - line != shift:
                shift = number - line
                stretches.append(replace(whole, first_line=line, first_row=number))
            line += 1
    return tuple(stretches) if line == rows else (whole,)


def _odd_row(sheet: SheetText) -> int | None:
    """The first record with a cell that holds whole lines: at least half a row's separators after a line end."""
    separators = max(2, (len(sheet.headers) - 1) // 2)
    with sheet.path.open(encoding="utf-8", newline="") as stream:
        for number, cells in enumerate(_records(stream, sheet.delimiter)):
            for cell in cells:
                if "\n" in cell and cell.split("\n", 1)[1].count(sheet.delimiter) >= separators:
                    return number + sheet.first_row
    return None


def _records(stream: Iterable[str], delimiter: str) -> Iterable[list[str]]:
    csv.field_size_limit(LONGEST_CELL)
    return (cells for cells in csv.reader(stream, delimiter=delimiter) if cells)
