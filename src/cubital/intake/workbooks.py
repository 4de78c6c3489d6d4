"""Workbooks: every sheet becomes CSV in the scratch folder, so that one way of reading serves all files."""

from __future__ import annotations

import csv
import itertools
import re
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.intake.delimited import HEADER_SEARCH, SAMPLE_ROWS, SheetText, find_header_row, header_only
from cubital.intake.headers import tidy_header
from cubital.intake.roles import header_score
from cubital.intake.sheet_size import refuse_far_cells, refuse_far_records
from cubital.intake.source_files import SourceFile, opened_parts

SPARE_CELLS = 4  # beyond the header, to see that a row has too many
DATED_ROWS = 2000
PRECISE_DIGITS = 15  # a spreadsheet keeps fifteen digits of a number and turns the rest into zeros

Row = list[Any]


def read_workbook(source: SourceFile, scratch: Path) -> tuple[tuple[SheetText, ...], tuple[tuple[str, int], ...]]:
    """The sheets with the main table's header first, and the names and row counts of the others.

    True dates are written as ``2025-11-01 22:10:00`` (without the time at midnight), whole numbers without ``.0``. Rows
    carry their own number, so blank rows shift nothing. Raises ``FileProblem`` when no sheet has a table, for a
    password, and for a workbook that cannot be read.
    """
    found = []
    damaged = _damaged_cells(source) if source.modern else {}
    for number, (name, rows) in enumerate(_load(source)):
        _put_back(rows, damaged.get(number, {}))
        sheet = _write_sheet(name, rows, scratch / f"sheet-{number}.csv")
        filled = sum(1 for row in rows if any(_text(cell).strip() for cell in row))
        found.append((name, filled, sheet))
    usable = [(sheet, header_score(sheet.headers)) for _name, _filled, sheet in found if sheet is not None]
    if not usable:
        if any(filled for _name, filled, _sheet in found):
            raise header_only(source.name)
        raise FileProblem(_("the workbook is empty."), where=source.name, fix=_("Export it again."))
    # The surest header decides; among equals the sheet with more rows, then the first.
    main = max(usable, key=lambda pair: (round(pair[1], 1), len(pair[0].sample)))[0]
    alike = [sheet for sheet, _score in usable if sheet is not main and _same_table(main, sheet)]
    kept = {id(main), *(id(sheet) for sheet in alike)}
    left_out = [(n, filled) for n, filled, sheet in found if id(sheet) not in kept and filled]
    ordered = [sheet for _n, _f, sheet in found if sheet is not None and id(sheet) in kept]
    return tuple(ordered), tuple(left_out)


def _load(source: SourceFile) -> list[tuple[str, list[Row]]]:
    import python_calamine as calamine

    try:
        book = calamine.load_workbook(str(source.path))
        return [
            (name, book.get_sheet_by_name(name).to_python(skip_empty_area=False))
            for name, kind in zip(book.sheet_names, book.sheets_metadata, strict=True)
            if kind.typ is calamine.SheetTypeEnum.WorkSheet
        ]
    except calamine.PasswordError as error:
        raise FileProblem(
            _("the workbook is protected by a password."),
            where=source.name,
            fix=_("Open it, save a copy without a password, and give that copy."),
        ) from error
    except calamine.CalamineError as error:
        raise FileProblem(
            _("the workbook cannot be read ({reason}).").format(reason=str(error)[:100]),
            where=source.name,
            fix=_("Open it in a spreadsheet program and save it again, or export CSV."),
        ) from error


def _write_sheet(name: str, rows: Sequence[Row], path: Path) -> SheetText | None:
    head = list(itertools.islice(_filled(rows, after=-1), HEADER_SEARCH))
    header = find_header_row([row for _number, row in head], header_score)
    if header is None or len([cell for cell in head[header][1] if cell.strip()]) < 2:
        return None
    place, headers = head[header]
    while headers and not headers[-1].strip():
        headers = headers[:-1]
    sample = list(itertools.islice(_filled(rows, after=place), SAMPLE_ROWS))
    if not sample:
        return None
    width = len(headers) + SPARE_CELLS
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerows([number + 1, *row[:width]] for number, row in _filled(rows, after=place))
    looked_at = [number for number, _row in itertools.islice(_filled(rows, after=place), DATED_ROWS)]
    dated = {i for i in range(len(headers)) if any(isinstance(rows[n][i], date) for n in looked_at)}
    return SheetText(
        name=name,
        path=path,
        delimiter=",",
        headers=tuple(headers),
        sample=tuple(tuple(row) for _number, row in sample),
        first_row=sample[0][0] + 1,
        header_row=place + 1,
        numbered=True,
        dated_columns=frozenset(dated),
    )


def _filled(rows: Sequence[Row], *, after: int) -> Iterator[tuple[int, list[str]]]:
    """The rows below ``after`` that are not blank, as text, with their place from 0."""
    for number in range(after + 1, len(rows)):
        texts = [cell if type(cell) is str else _text(cell) for cell in rows[number]]
        if any(text.strip() for text in texts):
            yield number, texts


def _same_table(main: SheetText, other: SheetText) -> bool:
    """Most of the main header's columns stand in the other sheet too: one sheet per month, for example."""
    wanted = {tidy_header(header) for header in main.headers if header.strip()}
    there = {tidy_header(header) for header in other.headers if header.strip()}
    return len(wanted & there) >= 0.7 * len(wanted)


def _text(cell: object) -> str:
    if cell is None or isinstance(cell, str | bool):
        return "" if cell is None else str(cell)
    if isinstance(cell, datetime):
        whole_day = not (cell.hour or cell.minute or cell.second or cell.microsecond)
        return cell.date().isoformat() if whole_day else cell.isoformat(" ", "seconds")
    if isinstance(cell, float | int):
        return _number_text(cell)
    if isinstance(cell, date | time):
        return cell.isoformat()
    return _hours_text(cell) if isinstance(cell, timedelta) else str(cell)


def _number_text(number: float) -> str:
    if isinstance(number, float) and number.is_integer() and abs(number) < 1e18:
        whole = str(int(number))
        # Beyond fifteen digits the rest is invented zeros: shown as damaged, the way the spreadsheet itself shows it.
        return whole if len(whole.lstrip("-")) <= PRECISE_DIGITS else f"{number:.2E}"
    return str(number)


def _hours_text(span: timedelta) -> str:
    minutes, seconds = divmod(round(span.total_seconds()), 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}:{seconds:02d}"


def _put_back(rows: Sequence[Row], damaged: dict[tuple[int, int], str]) -> None:
    for (row, column), text in damaged.items():
        if row < len(rows) and column < len(rows[row]) and not rows[row][column]:
            rows[row][column] = text


_CELL = re.compile(rb'<c r="([A-Z]{1,3})(\d{1,7})"([^>]*)>(.*?)</c>', re.DOTALL)
_SHEET_PART = re.compile(r"xl/worksheets/sheet(\d+)\.xml")
_FORMULA = re.compile(rb"<f[^>]*>([^<]*)</f>")
_VALUE = re.compile(rb"<v[^>]*>([^<]+)</v>")


def _damaged_cells(source: SourceFile) -> dict[int, dict[tuple[int, int], str]]:
    """Error cells and formulas that were never computed, by sheet: the reader of workbooks shows both as blank.

    Every part is unpacked once, and refused on the way where its cells lie too far apart.
    """
    damaged = {}
    with opened_parts(source) as archive:
        for name in archive.namelist():
            if name.casefold().endswith(".bin") and "/worksheets/" in name.casefold():
                refuse_far_records(archive.read(name), source.name)
            if not name.casefold().endswith(".xml"):
                continue
            xml = archive.read(name)
            refuse_far_cells(xml, source.name)
            if found := _SHEET_PART.fullmatch(name):
                damaged[int(found[1])] = _damaged_in(xml)
    return {place: damaged[number] for place, number in enumerate(sorted(damaged))}


def _damaged_in(xml: bytes) -> dict[tuple[int, int], str]:
    if b't="e"' not in xml and b"<f" not in xml:
        return {}
    damaged = {}
    for letters, digits, attributes, content in _CELL.findall(xml):
        value, formula = _VALUE.search(content), _FORMULA.search(content)
        if b't="e"' in attributes:
            text = value.group(1).decode() if value else "#REF!"
        elif formula and not value:
            text = "=" + formula.group(1).decode("utf-8", errors="replace")
        else:
            continue
        damaged[(int(digits) - 1, _column_index(letters.decode()))] = text
    return damaged


def _column_index(letters: str) -> int:
    index = 0
    for letter in letters:
        index = index * 26 + ord(letter) - ord("A") + 1
    return index - 1
