"""Counts by month, typed, pasted or read from a table: month, sets, contaminated. Nothing is guessed."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cubital.answers.month_text import next_month, parse_month
from cubital.domain.errors import FileProblem
from cubital.domain.words import _, month_words, ngettext

_HEADERS = {
    "month": ("month", "mes", "period"),
    "sets": ("sets", "draws", "cultures", "blood culture sets", "denominator", "extracciones", "series"),
    "contaminated": ("contaminated", "contaminated sets", "contaminants", "numerator", "contaminadas", "contaminados"),
}
_THOUSANDS = re.compile(r"\d{1,3}(?:[,\u0020\u00a0\u202f'’]\d{3})+")
_WHOLE = re.compile(r"-?\d+(?:[.,]0+)?")
_MOST_PROBLEMS = 8  # a message longer than this is not read


@dataclass(frozen=True, kw_only=True)
class MonthCount:
    """One month (``YYYY-MM``): ``contaminated`` of ``sets``, both whole, ``0 <= contaminated <= sets``."""

    month: str
    sets: int
    contaminated: int

    def __post_init__(self) -> None:
        if parse_month(self.month) != self.month:
            raise ValueError(f"'{self.month}' is not a month such as 2026-03")
        if not 0 <= self.contaminated <= self.sets:
            raise ValueError(f"{self.month}: {self.contaminated} of {self.sets} is impossible")


def parse_counts_text(text: str, *, where: str) -> tuple[MonthCount, ...]:
    """Counts from pasted text with commas, semicolons or tabs (whichever the first line holds most of)."""
    lines = text.lstrip("\ufeff").strip("\r\n \x00")
    first = lines.splitlines()[0] if lines else ""
    separator = max("\t;,", key=first.count)
    if not first.count(separator):
        separator = " "
    try:
        rows = list(csv.reader(io.StringIO(lines, newline=""), delimiter=separator, skipinitialspace=True, strict=True))
    except csv.Error as error:
        raise FileProblem(
            _("the table cannot be read ({reason}).").format(reason=error), where=where, fix=_table_advice()
        ) from None
    return parse_counts(rows, where=where)


def parse_counts(rows: Iterable[Sequence[object]], *, where: str) -> tuple[MonthCount, ...]:
    """Counts from rows of cells, the first of them the headers; months in time order, the last one is asked about.

    Parameters
    ----------
    rows : cells as text or as a spreadsheet's numbers and dates; empty rows are passed over.
    where : the file or field, for messages.

    Raises
    ------
    FileProblem
        A column missing, no data row, or any cell, month or order that cannot be right; every problem at once.
    """
    numbered = [(number, [_cell(cell) for cell in row]) for number, row in enumerate(rows, start=1)]
    filled = [(number, cells) for number, cells in numbered if any(cells)]
    if not filled:
        raise FileProblem(_("there is nothing in it."), where=where, fix=_table_advice())
    places = _columns(filled[0][1], where=where)
    if len(filled) == 1:
        raise FileProblem(_("there are headers but no month."), where=where, fix=_table_advice())
    problems: list[str] = []
    counts = [_parse_row(number, cells, places=places, problems=problems) for number, cells in filled[1:]]
    read = [(filled[index + 1][0], count) for index, count in enumerate(counts) if count is not None]
    problems += _order_problems(read)
    if problems:
        raise FileProblem(_joined(problems), where=where, fix=_table_advice())
    return tuple(count for _number, count in read)


def missing_months(counts: Sequence[MonthCount]) -> tuple[str, ...]:
    """The months between the first and the last that no row speaks of."""
    if not counts:
        return ()
    held, month = {count.month for count in counts}, counts[0].month
    missing: list[str] = []
    while month < counts[-1].month:
        if month not in held:
            missing.append(month)
        month = next_month(month)
    return tuple(missing)


def _table_advice() -> str:
    return _(
        "Give one row per month, oldest first, under the headers month, sets, contaminated; for example 2026-03,498,19."
    )


def _cell(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip().strip("\x00")


def _columns(headers: Sequence[str], *, where: str) -> dict[str, int]:
    tidy = [" ".join(header.casefold().replace("_", " ").split()) for header in headers]
    places: dict[str, int] = {}
    for role, names in _HEADERS.items():
        found = [index for index, header in enumerate(tidy) if header in names]
        if len(found) != 1:
            what = _("no column is called '{role}'.") if not found else _("more than one column may be '{role}'.")
            seen = _("The first row reads: {headers}.").format(headers=", ".join(headers[:12]))
            raise FileProblem(what.format(role=role), where=where, fix=f"{seen} {_table_advice()}")
        places[role] = found[0]
    return places


def _parse_row(number: int, cells: Sequence[str], *, places: dict[str, int], problems: list[str]) -> MonthCount | None:
    def cell(role: str) -> str:
        return cells[places[role]] if places[role] < len(cells) else ""

    start = len(problems)
    month = parse_month(cell("month"))
    if month is None:
        problems.append(
            _("row {row}, column 'month': got '{text}', expected a month such as 2026-03").format(
                row=number, text=cell("month")
            )
        )
    sets = _parse_count(cell("sets"), row=number, column="sets", problems=problems)
    contaminated = _parse_count(cell("contaminated"), row=number, column="contaminated", problems=problems)
    if sets is not None and contaminated is not None and contaminated > sets:
        problems.append(
            _("row {row}: {contaminated} contaminated of {sets} sets is more than all").format(
                row=number, contaminated=contaminated, sets=sets
            )
        )
    if len(problems) > start or month is None or sets is None or contaminated is None:
        return None
    return MonthCount(month=month, sets=sets, contaminated=contaminated)


def _parse_count(text: str, *, row: int, column: str, problems: list[str]) -> int | None:
    if _THOUSANDS.fullmatch(text):
        return int(re.sub(r"\D", "", text))
    if _WHOLE.fullmatch(text):
        count = int(re.split(r"[.,]", text)[0])
        if count >= 0:
            return count
    problems.append(
        _("row {row}, column '{column}': got '{text}', expected a whole number of zero or more").format(
            row=row, column=column, text=text
        )
    )
    return None


def _order_problems(read: Sequence[tuple[int, MonthCount]]) -> list[str]:
    problems: list[str] = []
    rows: dict[str, int] = {}
    latest = ""
    for number, count in read:
        name = month_words(count.month, with_year=True)
        if count.month in rows:
            problems.append(
                _("row {row}: {month} stands already in row {earlier}").format(
                    row=number, month=name, earlier=rows[count.month]
                )
            )
        elif count.month < latest:
            problems.append(
                _("row {row}: {month} comes after {later}, but the last row must be the month asked about").format(
                    row=number, month=name, later=month_words(latest, with_year=True)
                )
            )
        rows.setdefault(count.month, number)
        latest = max(latest, count.month)
    return problems


def _joined(problems: Sequence[str]) -> str:
    shown = "; ".join(problems[:_MOST_PROBLEMS])
    left = len(problems) - _MOST_PROBLEMS
    if left > 0:
        more = ngettext("and {count} more problem", "and {count} more problems", left).format(count=left)
        return f"{shown}; {more}."
    return f"{shown}."
