"""Watched draws, sheet by sheet: what was seen of each step. A box that cannot be read is unreadable, never a no."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from cubital.answers.sheet_privacy import refuse_foreign_cells, refuse_long_numbers, refuse_person_columns
from cubital.domain.errors import FileProblem
from cubital.domain.words import _


class Seen(StrEnum):
    """One step on one sheet."""

    YES = "yes"
    NO = "no"
    NOT_SEEN = "not_seen"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One observer's sheet of one draw. ``draw`` ties sheets of the same draw together; without one it stands alone.

    ``marks`` maps each step to what was seen. ``when`` is the wall clock, none where the sheet does not say. No
    patient and no collector is on it; ``role`` is the collector's role where it was written down.
    """

    sheet: str
    draw: str
    observer: str
    marks: Mapping[str, Seen] = field(default_factory=dict)
    when: datetime | None = None
    unit: str = ""
    role: str = ""
    policy: str = ""


_HEADERS = {
    "sheet": ("sheet", "sheet no", "no", "number", "form", "hoja"),
    "draw": ("draw", "draw no", "watched draw", "extraccion"),
    "observer": ("observer", "observed by", "watcher", "observador", "observadora"),
    "when": ("when", "date", "time", "date time", "day", "observed at", "start", "fecha", "fecha hora"),
    "unit": ("unit", "ward", "location", "unidad"),
    "role": ("role", "collector role", "staff group", "funcion"),
    "policy": ("policy", "policy version", "version", "politica"),
}
_YES = frozenset({"y", "yes", "x", "✓", "✔", "1", "true", "t", "s", "si", "sí", "done"})
_NO = frozenset({"n", "no", "0", "false", "f", "✗", "✘", "not done"})
_NOT_SEEN = frozenset({"", "-", "–", "ns", "not seen", "n/s", "na", "n/a", "not observed", "no visto", "nv"})
_CUT = re.compile(r"[\s/+&,;]+")
_DAYS = ("%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d")


def read_mark(text: str) -> Seen:
    """What one cell says. Both boxes ticked (``yes no``, ``x/x`` in one cell) or anything unknown is unreadable."""
    tidy = " ".join(text.casefold().split())
    if tidy in _NOT_SEEN:
        return Seen.NOT_SEEN
    if tidy in _YES:
        return Seen.YES
    if tidy in _NO:
        return Seen.NO
    parts = [part for part in _CUT.split(tidy) if part]
    if len(parts) == 1 and parts[0] in _YES:
        return Seen.YES
    return Seen.UNREADABLE


def parse_sheets_text(text: str, *, where: str) -> tuple[Sheet, ...]:
    """Sheets from pasted text with commas, semicolons or tabs (whichever the first line holds most of)."""
    lines = text.lstrip("\ufeff").strip("\r\n \x00")
    first = lines.splitlines()[0] if lines else ""
    separator = max("\t;,", key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(lines, newline=""), delimiter=separator, skipinitialspace=True, strict=True))
    except csv.Error as error:
        raise FileProblem(
            _("the table cannot be read ({reason}).").format(reason=error), where=where, fix=_advice()
        ) from None
    return parse_sheets(rows, where=where)


def parse_sheets(rows: Iterable[Sequence[object]], *, where: str) -> tuple[Sheet, ...]:
    """Sheets from rows of cells, headers first. Every column that is none of the known ones is a step.

    Raises ``FileProblem`` where there is no step, no sheet, a draw twice by one observer, a column that looks like a
    patient or a collector, or a date that is not written year first: the order of day and month is never guessed.
    """
    numbered = [(n, [_text(cell) for cell in row]) for n, row in enumerate(rows, start=1)]
    filled = [(n, cells) for n, cells in numbered if any(cells)]
    if len(filled) < 2:
        raise FileProblem(_("there is no sheet in it."), where=where, fix=_advice())
    headers = filled[0][1]
    places = _places(headers)
    refuse_person_columns(headers, taken=frozenset(places.values()), where=where)
    steps = [(i, header) for i, header in enumerate(headers) if header and i not in places.values()]
    if not steps:
        raise FileProblem(_("it has no column for a step."), where=where, fix=_advice())
    if len({header for _i, header in steps}) != len(steps):
        raise FileProblem(_("two columns carry the same step."), where=where, fix=_advice())
    _refuse_people([cells for _n, cells in filled[1:]], places=places, steps=steps, where=where)
    sheets = tuple(_sheet(number, cells, places=places, steps=steps, where=where) for number, cells in filled[1:])
    _refuse_twins(sheets, where)
    return sheets


def _refuse_people(
    rows: Sequence[Sequence[str]], *, places: Mapping[str, int], steps: Sequence[tuple[int, str]], where: str
) -> None:
    def column(place: int) -> list[str]:
        return [row[place] for row in rows if place < len(row)]

    for place, step in steps:
        refuse_foreign_cells(step, column(place), marks=_YES | _NO | _NOT_SEEN, where=where)
    for role in ("sheet", "draw"):
        if role in places:
            refuse_long_numbers(role, column(places[role]), where=where)


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    if isinstance(cell, datetime):
        return cell.strftime("%Y-%m-%d %H:%M")
    return str(cell).strip()


def _places(headers: Sequence[str]) -> dict[str, int]:
    tidy = [" ".join(header.casefold().replace("_", " ").split()) for header in headers]
    found = {}
    for role, names in _HEADERS.items():
        matching = [i for i, header in enumerate(tidy) if header in names]
        if matching:
            found[role] = matching[0]
    return found


def _sheet(
    number: int, cells: Sequence[str], *, places: Mapping[str, int], steps: Sequence[tuple[int, str]], where: str
) -> Sheet:
    def cell(role: str) -> str:
        place = places.get(role)
        return cells[place] if place is not None and place < len(cells) else ""

    name = cell("sheet") or str(number)
    return Sheet(
        sheet=name,
        draw=cell("draw") or f"sheet {name}",
        observer=cell("observer"),
        when=_moment(cell("when"), number=number, where=where),
        unit=cell("unit"),
        role=cell("role"),
        policy=cell("policy"),
        marks={step: read_mark(cells[i] if i < len(cells) else "") for i, step in steps},
    )


def _moment(text: str, *, number: int, where: str) -> datetime | None:
    if not text:
        return None
    for shape in _DAYS:
        try:
            return datetime.strptime(text, shape)  # noqa: DTZ007 - the wall clock of the unit, as written
        except ValueError:
            continue
    raise FileProblem(
        _("row {row}: got '{text}', expected a date such as 2026-03-14 or 2026-03-14 07:30.").format(
            row=number, text=text
        ),
        where=where,
        fix=_("Write the year first; a day and a month alone can be read two ways."),
    )


def _refuse_twins(sheets: Sequence[Sheet], where: str) -> None:
    seen: set[tuple[str, str]] = set()
    for one in sheets:
        key = (one.draw, one.observer)
        if one.observer and key in seen:
            raise FileProblem(
                _("draw {draw} stands twice for observer {observer}.").format(draw=one.draw, observer=one.observer),
                where=where,
                fix=_("Leave one of the two out, or give them different draw numbers."),
            )
        seen.add(key)


def _advice() -> str:
    return _(
        "Give one row per sheet: draw, observer, date, and one column per step with yes, no, or not seen. "
        "Leave out the patient and the collector."
    )
