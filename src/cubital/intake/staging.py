"""Puts the needed columns of a file where the engine can read them again and again, as text, in the order of the file.

They go into Parquet in the scratch folder and not into memory: a file of ten million rows needs no more memory than one
of ten thousand, and a column is read only where it is needed.
"""

from __future__ import annotations

import csv
import io
import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import duckdb

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.engine import Session, load_sql, open_session
from cubital.engine.session import quote_name, quote_text
from cubital.intake.dates import ISO_LENGTH
from cubital.intake.delimited import SheetText
from cubital.intake.headers import label_headers, tidy_header
from cubital.intake.unkept import unkept_case, unwrapped

# Trimming every cell of a large file costs as much as reading it. Only what is compared as it stands is trimmed here;
# everything else is read through its distinct texts.
IDENTIFIERS = frozenset({"accession", "patient"})
LONGEST_CELL = 1 << 30
SPARE_CELLS = 6  # cells beyond the header: an unquoted separator inside a text
_count = itertools.count()


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
    marked: bool = True,
) -> tuple[StagedSheet, ...]:
    """Creates the view ``staged``: one text column per entry of ``columns`` (name to column label), and ``surplus``,
    ``unkept`` (why the row is no specimen), ``sheet_row`` (the row's own number, where it carries one) and ``rowid``.

    ``typed`` names columns that hold nothing but ISO times as far as the sample shows. They are read as times at once,
    with the length of their text beside them as ``NAME_length``; see ``untyped_columns`` for what did not fit.
    ``marked`` is false when no cell can begin with ``=``.

    Empty cells are null. ``rowid`` counts the lines from 0 in the order of the file. Raises ``FileProblem`` for a
    quotation mark that is never closed and for rows that the engine cannot cut.
    """
    unkept = unkept_case(columns, typed=typed)
    staged, parts, line = [], [], 0
    for sheet in sheets:
        query = f"select *, {unkept} as unkept from ({_select(sheet, columns, typed=typed, marked=marked)})"
        # A new name each time: what the engine remembers of a file must not be taken for its successor.
        target = quote_text(str(session.scratch / f"staged-{next(_count)}.parquet"))
        count = _stage(session.scratch, sheet, query=query, target=target, file_name=file_name)
        source = f"read_parquet({target}, file_row_number = true)"
        parts.append(f"select * exclude (file_row_number), file_row_number + {line} as rowid from {source}")
        staged.append(
            StagedSheet(
                name=sheet.name,
                first_line=line,
                last_line=line + count - 1,
                first_row=sheet.first_row,
                numbered=sheet.numbered,
            )
        )
        line += count
    session.do(f"create or replace view staged_lines as {' union all '.join(parts)}")
    session.do("create or replace view staged as from staged_lines")
    return tuple(staged)


def _stage(scratch: Path, sheet: SheetText, *, query: str, target: str, file_name: str) -> int:
    """Writes the rows of one sheet and gives how many there are.

    In a session of its own that keeps the order of the rows: from here on their number says it, and every other step
    is spared the memory that keeping the order costs.
    """
    try:
        with open_session(folders=[scratch, sheet.path.parent], ordered=True) as session:
            session.do(load_sql("cubital.intake", "macros"))
            (count,) = session.one(f"copy ({query}) to {target} (format parquet, compression snappy)")
    except duckdb.InvalidInputException as error:
        raise _cannot_cut(sheet, file_name, error) from error
    return int(count)


def _select(sheet: SheetText, columns: Mapping[str, str], *, typed: frozenset[str], marked: bool) -> str:
    labels = [tidy_header(label) for label in label_headers(list(sheet.headers))]
    first = 1 if sheet.numbered else 0
    cells = []
    for name, label in columns.items():
        place = labels.index(tidy_header(label)) if tidy_header(label) in labels else None
        text = "null::varchar" if place is None else f"c{place + first}"
        cells += _typed_cells(name, text) if name in typed else [_text_cell(name, text, marked=marked)]
    width = len(sheet.headers) + first
    surplus = f"coalesce({', '.join(f'c{width + i}' for i in range(SPARE_CELLS))}) is not null"
    number = "try_cast(c0 as bigint)" if sheet.numbered else "null::bigint"
    shape = ", ".join(f"'c{i}': 'VARCHAR'" for i in range(width + SPARE_CELLS))
    return (
        f"select {', '.join(cells)}, {surplus} as surplus, {number} as sheet_row"
        f" from read_csv({quote_text(str(sheet.path))}, columns={{{shape}}}, header=false, auto_detect=false,"
        f" delim={quote_text(sheet.delimiter)}, quote='\"', escape='\"', null_padding=true, strict_mode=false)"
    )


def _text_cell(name: str, text: str, *, marked: bool) -> str:
    if name in IDENTIFIERS:
        outer = f"starts_with({text}, ' ') or ends_with({text}, ' ')"
        text = f"case when {outer} then nullif(trim({text}), '') else {text} end"
    return f"{unwrapped(text) if marked else text} as {quote_name(name)}"


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
