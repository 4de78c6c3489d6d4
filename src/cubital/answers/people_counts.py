"""Counts of people from a small table: person, draws, contaminated. People stand in it by a code, never by name."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.people_reading import PersonCount
from cubital.domain.errors import FileProblem
from cubital.domain.words import _

HEADERS = {
    "person": ("person", "collector", "code", "persona", "codigo", "código"),
    "draws": ("draws", "sets", "extracciones"),
    "contaminated": ("contaminated", "contaminated sets", "contaminadas"),
}
NOBODY = frozenset({"", "unattributed", "unknown", "not known", "nobody", "sin atribuir", "desconocido"})
_CODE = re.compile(r"[A-Za-z]{0,3}-?\d{1,12}")
_WHOLE = re.compile(r"\d{1,9}(?:\.0+)?")
MOST_PROBLEMS = 8


@dataclass(frozen=True, kw_only=True)
class PeopleCounts:
    """People by code, and what nobody is known for as (contaminated, sets)."""

    people: tuple[PersonCount, ...]
    unattributed: tuple[int, int]


def parse_people_text(text: str, *, where: str) -> PeopleCounts:
    """The same from text with commas, semicolons or tabs, whichever the first line holds most of."""
    lines = text.lstrip("\ufeff")
    delimiter = max("\t;,", key=lines.partition("\n")[0].count)
    return parse_people_rows(list(csv.reader(io.StringIO(lines), delimiter=delimiter)), where=where)


def parse_people_rows(rows: Sequence[Sequence[object]], *, where: str) -> PeopleCounts:
    """Counts from rows, the first filled one the headers; a row without a person, or ``unattributed``, is nobody's.

    ``FileProblem`` with every row that is wrong. A name instead of a code is refused: rates beside names are a list
    that somebody could pass on, and a code is all that the arithmetic needs.
    """
    filled = [
        (number, cells)
        for number, row in enumerate(rows, start=1)
        if any(cells := [_text(cell) for cell in row])
    ]  # fmt: skip
    if not filled:
        raise FileProblem(_("there is nothing in it."), where=where, fix=_advice())
    places = _columns(filled[0][1], where=where)
    problems: list[str] = []
    people: dict[str, PersonCount] = {}
    nobody = [0, 0]
    for number, cells in filled[1:]:
        counts = _counts(number, cells, places=places, problems=problems)
        code = cells[places["person"]] if places["person"] < len(cells) else ""
        if code.casefold() in NOBODY:
            nobody = [nobody[0] + counts[1], nobody[1] + counts[0]] if counts else nobody
        elif not _CODE.fullmatch(code):
            problems.append(
                _("row {row}, column 'person': expected a code such as C07, not a name or initials").format(row=number)
            )
        elif code in people:
            problems.append(_("row {row}: {code} stands there already").format(row=number, code=code))
        elif counts and counts[0]:
            people[code] = PersonCount(key=code, draws=counts[0], contaminated=counts[1])
    if problems:
        raise FileProblem("; ".join(problems[:MOST_PROBLEMS]) + ".", where=where, fix=_advice())
    return PeopleCounts(people=tuple(people.values()), unattributed=(nobody[0], nobody[1]))


def _columns(headers: Sequence[str], *, where: str) -> dict[str, int]:
    tidy = [" ".join(header.casefold().replace("_", " ").split()) for header in headers]
    places = {}
    for role, names in HEADERS.items():
        found = [index for index, header in enumerate(tidy) if header in names]
        if len(found) != 1:
            what = _("no column is called '{role}'.") if not found else _("more than one column may be '{role}'.")
            raise FileProblem(what.format(role=role), where=where, fix=_advice())
        places[role] = found[0]
    return places


def _counts(
    number: int, cells: Sequence[str], *, places: dict[str, int], problems: list[str]
) -> tuple[int, int] | None:
    read = []
    for role in ("draws", "contaminated"):
        text = cells[places[role]] if places[role] < len(cells) else ""
        if not _WHOLE.fullmatch(text):
            problems.append(
                _("row {row}, column '{column}': got '{text}', expected a whole number of zero or more").format(
                    row=number, column=role, text=text
                )
            )
            return None
        read.append(int(text.partition(".")[0]))
    draws, contaminated = read
    if contaminated > draws:
        problems.append(
            _("row {row}: {contaminated} contaminated of {sets} sets is more than all").format(
                row=number, contaminated=contaminated, sets=draws
            )
        )
        return None
    return draws, contaminated


def _advice() -> str:
    return _("Give one row per person under person, draws, contaminated; for example C07,57,0. Nobody's row is empty.")


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip().strip("\x00")
