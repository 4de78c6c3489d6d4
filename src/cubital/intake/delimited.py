"""Where the table starts in a text file and what separates its cells."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from cubital.domain.errors import FileProblem
from cubital.domain.words import _

SAMPLE_BYTES = 1 << 20
SAMPLE_ROWS = 400
HEADER_SEARCH = 40  # exports put a title, a date and a blank line or two above the table, not forty
DELIMITERS = (",", ";", "\t", "|")
_DELIMITER_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}

HeaderScore = Callable[[Sequence[str]], float]


@dataclass(frozen=True, kw_only=True)
class SheetText:
    """One table as UTF-8 CSV without its header.

    ``first_row`` is the number of the first data row as a spreadsheet shows it, ``header_row`` the header's (0 where
    there is none). ``headers`` has one entry per column, ``sample`` the first data rows. ``numbered`` is true when the
    first cell of every line is the row's own number (workbooks: blank rows are left out), ``data_start`` the byte at
    which the rows begin. ``dated_columns`` are columns that hold true dates of a workbook.
    """

    name: str
    path: Path
    delimiter: str
    headers: tuple[str, ...]
    sample: tuple[tuple[str, ...], ...]
    first_row: int
    header_row: int
    numbered: bool = False
    dated_columns: frozenset[int] = frozenset()
    preamble: tuple[str, ...] = ()
    data_start: int = 0

    @property
    def delimiter_words(self) -> str:
        return _DELIMITER_NAMES.get(self.delimiter, self.delimiter)


@dataclass(frozen=True)
class _Record:
    cells: list[str]
    last_line: int


def find_table(path: Path, *, name: str, score: HeaderScore) -> SheetText:
    """Finds delimiter, header row and a sample of rows in a UTF-8 file, and blanks the header in the file.

    ``score`` rates how much a row looks like a header of this trade (0 to 1). The header's bytes are overwritten by
    line ends, which the engine skips: that costs nothing, where leaving lines out would mean a second copy.
    Raises ``FileProblem`` when no delimiter makes a table, or when there is a header and nothing below it.
    """
    with path.open("rb") as stream:
        head = stream.read(SAMPLE_BYTES)
    whole = len(head) < SAMPLE_BYTES
    text = (head if whole else head[: head.rindex(b"\n") + 1]).decode("utf-8", errors="ignore")
    delimiter = _choose_delimiter(text, name, score)
    records = list(_read_records(text, delimiter))
    header = _find_header(records, score)
    data_from = records[header].last_line if header is not None else 0
    body = [record for record in records if record.last_line > data_from and any(cell.strip() for cell in record.cells)]
    if not body:
        raise header_only(name)
    width = max(len(records[header].cells) if header is not None else 0, 1) or max(len(r.cells) for r in body[:100])
    if header is None:
        width = max(len(record.cells) for record in body[:100])
    headers = list(records[header].cells) if header is not None else [""] * width
    preamble = [" ".join(cell for cell in r.cells if cell.strip()) for r in records[: header or 0]]
    data_start = _blank_lines(path, data_from)
    return SheetText(
        name="",
        path=path,
        delimiter=delimiter,
        headers=tuple(headers),
        sample=tuple(tuple(record.cells) for record in body[:SAMPLE_ROWS]),
        first_row=(header + 2) if header is not None else 1,
        header_row=(header + 1) if header is not None else 0,
        preamble=tuple(line for line in preamble if line.strip()),
        data_start=data_start,
    )


def header_only(name: str) -> FileProblem:
    """The refusal of a table without rows."""
    return FileProblem(
        _("there is a header, but no row below it."), where=name, fix=_("Export it again with a longer period.")
    )


def find_header_row(rows: Sequence[Sequence[str]], score: HeaderScore) -> int | None:
    """Index of the header among the first rows; none where the table starts with data."""
    best, best_score = None, 0.0
    for index, row in enumerate(rows[:HEADER_SEARCH]):
        rated = score(row)
        if rated > best_score + 0.01:
            best, best_score = index, rated
    if best is not None and best_score >= 0.15:
        return best
    for index, row in enumerate(rows[:HEADER_SEARCH]):
        cells = [cell.strip() for cell in row if cell.strip()]
        if len(cells) > 1:
            wordy = all(not any(sign.isdigit() for sign in cell) for cell in cells)
            return index if wordy and len(set(cells)) == len(cells) else None
    return None


def _find_header(records: list[_Record], score: HeaderScore) -> int | None:
    return find_header_row([record.cells for record in records[:HEADER_SEARCH]], score)


def _read_records(text: str, delimiter: str) -> Iterator[_Record]:
    """Every record, blank lines too: they count as rows in a spreadsheet."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        for cells in reader:
            yield _Record(cells, reader.line_num)
    except csv.Error:  # an odd quotation mark far down; the whole file is checked when it is staged
        return


def _choose_delimiter(text: str, name: str, score: HeaderScore) -> str:
    start = text[:200_000]
    announced = start[:6].casefold()
    if announced.startswith("sep=") and len(announced) > 4 and announced[4] in DELIMITERS:
        return announced[4]
    best, best_rating = "", 0.0
    for delimiter in DELIMITERS:
        records = [record.cells for record in _read_records(start, delimiter) if record.cells][:200]
        rating = _rate_table(records, score)
        if rating > best_rating:
            best, best_rating = delimiter, rating
    if not best:
        raise FileProblem(
            _("every row is one single cell: nothing separates the columns, or something unusual does."),
            where=name,
            fix=_("Export it with commas, semicolons, tabs or bars between the columns, or as XLSX."),
        )
    return best


def _rate_table(records: list[list[str]], score: HeaderScore) -> float:
    """How steady the number of cells is, how many there are, and whether a header of this trade appears."""
    widths = [len(cells) for cells in records]
    if not widths or max(widths) < 2:
        return 0.0
    usual = max(set(widths), key=lambda width: (widths.count(width), width))
    if usual < 2:
        usual = max(widths)
    steady = widths.count(usual) / len(widths)
    header = max((score(cells) * min(len(cells), 8) for cells in records[:HEADER_SEARCH]), default=0.0)
    return steady * min(usual, 12) / 12 + 2 * header


def _blank_lines(path: Path, lines: int) -> int:
    """Overwrites the first lines by line ends; returns how many bytes they were."""
    with path.open("r+b") as stream:
        for _number in range(lines):
            stream.readline()
        end = stream.tell()
        stream.seek(0)
        stream.write(b"\n" * end)
    return end
