"""Reads a staff list: who collects, how laboratory files write them, in which role, from when until when.

A list holds names. It is read where it lies, used, and not kept: see decision 20.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from cubital.domain.errors import FileProblem
from cubital.domain.words import _, ngettext
from cubital.intake.collection_words import read_collector
from cubital.intake.headers import tidy_header
from cubital.workspace.small_tables import read_small_table

MOST_PROBLEMS = 8
HEADERS = {
    "name": ("name", "full name", "person", "nombre"),
    "initials": ("initials", "written as", "signs as", "iniciales"),
    "badge": ("badge", "badge number", "badge no", "employee number", "staff number", "tarjeta"),
    "role": ("role", "post", "profession", "funcion", "función", "puesto"),
    "unit": ("unit", "ward", "department", "unidad", "servicio"),
    "from": ("from", "start", "start date", "since", "desde"),
    "to": ("to", "end", "end date", "until", "hasta"),
}


@dataclass(frozen=True, kw_only=True)
class StaffRow:
    """One row: a person in one role. ``badge`` and ``writings`` are tidied as intake tidies collectors.

    ``badge`` is empty and a day is none where the list says nothing.
    """

    row: int
    name: str
    badge: str
    writings: tuple[str, ...]
    role: str
    unit: str
    from_day: date | None
    to_day: date | None

    def there_on(self, day: date) -> bool:
        """Whether the person was in this role on that day; both ends belong to it."""
        return (self.from_day is None or self.from_day <= day) and (self.to_day is None or day <= self.to_day)


def read_staff_list(path: Path) -> tuple[StaffRow, ...]:
    """Every row of a CSV or a workbook's only filled sheet.

    ``FileProblem`` names every row that is wrong, by number and column and never by the person; nothing is kept.
    """
    table = read_small_table(path, too_large=_("this is too large for a staff list."))
    if table.rows is not None:
        return parse_staff_rows(table.rows, where=table.name)
    text = table.text or ""
    delimiter = max(",;\t", key=text.partition("\n")[0].count)
    return parse_staff_rows(list(csv.reader(io.StringIO(text), delimiter=delimiter)), where=table.name)


def parse_staff_rows(rows: Sequence[Sequence[object]], *, where: str) -> tuple[StaffRow, ...]:
    """The rows below the first filled one, which holds the headers; errors as for ``read_staff_list``."""
    filled = [(number, row) for number, row in enumerate(rows, start=1) if any(_text(cell) for cell in row)]
    if not filled:
        raise FileProblem(_("the staff list is empty."), where=where)
    places = _columns([_text(cell) for cell in filled[0][1]], where=where)
    problems: list[str] = []
    found = [_staff_row(number, row, places=places, problems=problems) for number, row in filled[1:]]
    read = [one for one in found if one is not None]
    problems += _doubled_badges(read)
    if problems:
        shown = "; ".join(problems[:MOST_PROBLEMS])
        left = len(problems) - MOST_PROBLEMS
        if left > 0:
            more = ngettext("and {count} more problem", "and {count} more problems", left).format(count=left)
            shown = f"{shown}; {more}"
        raise FileProblem(f"{shown}.", where=where, fix=_("Nothing was kept. Put the list right and bring it again."))
    if not read:
        raise FileProblem(_("the staff list has headers but no person."), where=where)
    return tuple(read)


def _columns(headers: Sequence[str], *, where: str) -> dict[str, int]:
    tidy = [tidy_header(header) for header in headers]
    places = {}
    for role, names in HEADERS.items():
        found = [index for index, header in enumerate(tidy) if header in names]
        if len(found) > 1:
            raise FileProblem(_("more than one column may be '{role}'.").format(role=role), where=where)
        if found:
            places[role] = found[0]
    if "name" not in places or not {"initials", "badge"} & places.keys():
        raise FileProblem(
            _("a staff list needs the column name, and initials or badge; the first row reads: {headers}.").format(
                headers=", ".join(headers[:12])
            ),
            where=where,
            fix=_("Give one row per person under name, initials, badge, role, unit, from, to."),
        )
    return places


def _staff_row(number: int, row: Sequence[object], *, places: dict[str, int], problems: list[str]) -> StaffRow | None:
    def cell(role: str) -> object:
        return row[places[role]] if role in places and places[role] < len(row) else ""

    start = len(problems)
    name = " ".join(_text(cell("name")).split())
    if not name:
        problems.append(_("row {row}, column 'name': nothing stands there").format(row=number))
    days = {role: _day(cell(role), row=number, column=role, problems=problems) for role in ("from", "to")}
    first, last = days["from"], days["to"]
    if first and last and last < first:
        problems.append(_("row {row}: the day in 'to' is before the day in 'from'").format(row=number))
    badge = _badge(_text(cell("badge")), row=number, problems=problems)
    writings = _writings(_text(cell("initials")), row=number, problems=problems)
    whole = read_collector(name).key
    if len(problems) > start:
        return None
    return StaffRow(
        row=number, name=name, badge=badge, writings=tuple(sorted({*writings, *((whole,) if whole else ())})),
        role=_text(cell("role")), unit=_text(cell("unit")), from_day=first, to_day=last,
    )  # fmt: skip


def _badge(text: str, *, row: int, problems: list[str]) -> str:
    if not text:
        return ""
    key = read_collector(text, badge=True).key
    if key is None:
        problems.append(
            _("row {row}, column 'badge': a log-in that many use names nobody; leave it empty").format(row=row)
        )
    return key or ""


def _writings(text: str, *, row: int, problems: list[str]) -> list[str]:
    found = []
    for part in text.replace("/", ";").split(";"):
        if not part.strip():
            continue
        key = read_collector(part).key
        if key is None:
            problems.append(
                _("row {row}, column 'initials': a log-in that many use names nobody; leave it empty").format(row=row)
            )
        else:
            found.append(key)
    return found


def _day(value: object, *, row: int, column: str, problems: list[str]) -> date | None:
    """A day as ISO text or a workbook's own date; a day written otherwise is not guessed."""
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    text = _text(value)
    if not text:
        return None
    try:
        return date.fromisoformat(text[:10])
    except ValueError:
        problems.append(
            _("row {row}, column '{column}': got '{text}', expected a day such as 2025-06-30").format(
                row=row, column=column, text=text
            )
        )
        return None


def _doubled_badges(rows: Sequence[StaffRow]) -> list[str]:
    """Two people with one badge on one day: neither could be told apart."""
    problems = []
    by_badge: dict[str, list[StaffRow]] = {}
    for one in rows:
        if one.badge:
            by_badge.setdefault(one.badge, []).append(one)
    for same in by_badge.values():
        for place, one in enumerate(same):
            for other in same[place + 1 :]:
                if other.name.casefold() != one.name.casefold() and _overlap(one, other):
                    problems.append(
                        _("rows {first} and {second}: two people have one badge at the same time").format(
                            first=one.row, second=other.row
                        )
                    )
    return problems


def _overlap(one: StaffRow, other: StaffRow) -> bool:
    starts = max(one.from_day or date.min, other.from_day or date.min)
    return starts <= min(one.to_day or date.max, other.to_day or date.max)


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip().strip("\x00")
