"""Rows of a small table kept by hand, by the role of each column; every problem of the file is said at once."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from cubital.domain.errors import FileProblem
from cubital.domain.words import _, ngettext

_WHOLE = re.compile(r"\d+(?:[.,]0+)?")
_MOST_PROBLEMS = 8  # a message longer than this is not read


@dataclass(frozen=True, kw_only=True)
class Columns:
    """What the columns may be called, which must be there, and what to tell somebody whose table is different."""

    names: Mapping[str, tuple[str, ...]]
    needed: tuple[str, ...]
    advice: str


@dataclass(kw_only=True)
class HandRow:
    """One row below the headers: text by role, empty where the table has no such column. Problems are collected."""

    number: int
    cells: Mapping[str, str]
    problems: list[str] = field(default_factory=list)

    def text(self, role: str, *, needed: bool = False) -> str:
        """The text of that column; empty is a problem where it is needed."""
        found = self.cells.get(role, "")
        if needed and not found:
            self._complain(_("row {row}, column '{column}': is empty"), role)
        return found

    def day(self, role: str, *, needed: bool = False) -> date | None:
        """The day, written year first; anything else is a problem, because day and month are never guessed."""
        found = self.text(role, needed=needed)
        if not found:
            return None
        try:
            return datetime.fromisoformat(found.replace("/", "-")).date()
        except ValueError:
            self._complain(_("row {row}, column '{column}': got '{text}', expected a day such as 2026-03-05"), role)
            return None

    def count(self, role: str, *, default: int | None = None) -> int | None:
        """A whole number of zero or more; ``default`` where the cell is empty and a default is given."""
        found = self.cells.get(role, "")
        if not found and default is not None:
            return default
        if _WHOLE.fullmatch(found):
            return int(re.split(r"[.,]", found)[0])
        self._complain(_("row {row}, column '{column}': got '{text}', expected a whole number of zero or more"), role)
        return None

    def complain(self, words: str) -> None:
        """One more problem of this row, in words that end without a full stop."""
        self.problems.append(_("row {row}: {words}").format(row=self.number, words=words))

    def _complain(self, words: str, role: str) -> None:
        self.problems.append(words.format(row=self.number, column=role, text=self.cells.get(role, "")[:40]))


def text_rows(text: str, *, where: str, advice: str) -> list[list[object]]:
    """Cells of a text with commas, semicolons or tabs, whichever the first line holds most of."""
    lines = text.lstrip("\ufeff").strip("\r\n \x00")
    first = lines.splitlines()[0] if lines else ""
    separator = max("\t;,", key=first.count)
    try:
        return [
            list(row)
            for row in csv.reader(
                io.StringIO(lines, newline=""), delimiter=separator, skipinitialspace=True, strict=True
            )
        ]
    except csv.Error as error:
        raise FileProblem(
            _("the table cannot be read ({reason}).").format(reason=error), where=where, fix=advice
        ) from None


def hand_rows(rows: Iterable[Sequence[object]], columns: Columns, *, where: str) -> list[HandRow]:
    """The filled rows below the headers. ``FileProblem`` where a needed column is missing or nothing stands below."""
    numbered = [(number, [_cell(cell) for cell in row]) for number, row in enumerate(rows, start=1)]
    filled = [(number, cells) for number, cells in numbered if any(cells)]
    if not filled:
        raise FileProblem(_("there is nothing in it."), where=where, fix=columns.advice)
    places = _places(filled[0][1], columns, where=where)
    if len(filled) == 1:
        raise FileProblem(_("there are headers but no row below them."), where=where, fix=columns.advice)
    return [
        HandRow(number=n, cells={role: cells[i] for role, i in places.items() if i < len(cells)})
        for n, cells in filled[1:]
    ]


def refuse_problems(rows: Sequence[HandRow], *, where: str, advice: str) -> None:
    """Raises one ``FileProblem`` with every problem of the rows; nothing where there is none."""
    problems = [words for row in rows for words in row.problems]
    if not problems:
        return
    shown = "; ".join(problems[:_MOST_PROBLEMS])
    left = len(problems) - _MOST_PROBLEMS
    if left > 0:
        shown += "; " + ngettext("and {count} more problem", "and {count} more problems", left).format(count=left)
    raise FileProblem(f"{shown}.", where=where, fix=advice)


def _places(headers: Sequence[str], columns: Columns, *, where: str) -> dict[str, int]:
    tidy = [" ".join(header.casefold().replace("_", " ").split()) for header in headers]
    places: dict[str, int] = {}
    for role, names in columns.names.items():
        found = [index for index, header in enumerate(tidy) if header == role or header in names]
        if len(found) > 1 or (not found and role in columns.needed):
            what = _("more than one column may be '{role}'.") if found else _("no column is called '{role}'.")
            seen = _("The first row reads: {headers}.").format(headers=", ".join(headers[:12]))
            raise FileProblem(what.format(role=role), where=where, fix=f"{seen} {columns.advice}")
        if found:
            places[role] = found[0]
    return places


def _cell(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, datetime | date):
        return cell.isoformat()[:10]
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return " ".join(str(cell).strip().strip("\x00").split())
