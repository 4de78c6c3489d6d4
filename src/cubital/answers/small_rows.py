"""Rows of a table of counts that somebody made: named columns, whole numbers checked, nothing guessed."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from cubital.domain.errors import FileProblem
from cubital.domain.words import _

Rows = list[tuple[int, dict[str, str]]]


def split_rows(text: str) -> list[list[str]]:
    """Text with commas, semicolons or tabs (whichever the first line holds most of) as rows of cells."""
    lines = text.lstrip("\ufeff").strip("\r\n \x00")
    first = lines.splitlines()[0] if lines else ""
    return list(csv.reader(io.StringIO(lines, newline=""), delimiter=max("\t;,", key=first.count)))


def named_rows(table: str | Iterable[Sequence[object]], *, needed: Sequence[str], where: str) -> Rows:
    """Every filled row under the headers as header (small letters) to cell, with its number in the file.

    Raises ``FileProblem`` where a column of ``needed`` is missing, one stands twice, or there is no row.
    """
    rows = split_rows(table) if isinstance(table, str) else table
    tidy = [[_text(cell) for cell in row] for row in rows]
    numbered = [(number, row) for number, row in enumerate(tidy, start=1) if any(row)]
    headers = [" ".join(cell.casefold().replace("_", " ").split()) for cell in numbered[0][1]] if numbered else []
    missing = [column for column in needed if column not in headers]
    if missing or len(numbered) < 2:
        raise FileProblem(
            _("it has no column '{column}'.").format(column=missing[0]) if missing else _("there is no row in it."),
            where=where,
            fix=_("Give one row per group under these headers: {columns}.").format(columns=", ".join(needed)),
        )
    filled = [header for header in headers if header]
    if len(set(filled)) != len(filled):
        raise FileProblem(_("two columns carry the same heading."), where=where, fix=_("Give each column its own."))
    return [(number, dict(zip(headers, row, strict=False))) for number, row in numbered[1:]]


def whole(row: dict[str, str], column: str, *, number: int, where: str, most: int = 10**9) -> int:
    """A whole number of zero or more in a named column; ``FileProblem`` otherwise."""
    text = row.get(column, "")
    if not text.isdecimal() or int(text) > most:
        raise FileProblem(
            _("row {row}, column '{column}': got '{text}', expected a whole number of zero or more").format(
                row=number, column=column, text=text
            ),
            where=where,
        )
    return int(text)


def counted(row: dict[str, str], *, number: int, where: str) -> tuple[int, int]:
    """``sets`` and ``contaminated`` of a row; ``FileProblem`` where they cannot be."""
    sets = whole(row, "sets", number=number, where=where)
    contaminated = whole(row, "contaminated", number=number, where=where)
    if contaminated > sets:
        raise FileProblem(
            _("row {row}: {contaminated} contaminated of {sets} sets is more than all").format(
                row=number, contaminated=contaminated, sets=sets
            ),
            where=where,
        )
    return sets, contaminated


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()
