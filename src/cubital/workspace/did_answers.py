"""Did it work? From a table of counts, from a diary entry or a day and a place; by attendance from a table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import cubital
from cubital.answers.attendance import build_attendance_answer
from cubital.answers.attendance_reading import read_attendance
from cubital.answers.attendance_table import attendance_columns, parse_attendance
from cubital.answers.did_answer import build_change_answer
from cubital.answers.did_design import MOST_DAYS
from cubital.answers.did_hours import MatchedHours
from cubital.answers.did_material import Window
from cubital.answers.did_reading import read_change
from cubital.answers.did_table import did_advice, parse_did
from cubital.answers.did_table_answer import build_did_table_answer
from cubital.answers.did_table_reading import read_did_table
from cubital.domain.answer import Answer, Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace.small_tables import read_rows

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace


@dataclass(frozen=True, kw_only=True)
class DidAsk:
    """A diary entry by its ``number``; or a day ``on`` with a place and ``words`` for what began, none needed."""

    number: int | None = None
    on: date | None = None
    facility: str | None = None
    unit: str | None = None
    words: str = ""


def did_of_counts(source: Path | str, *, asks: str = "", at: str = "") -> Answer:
    """The answer to a table of unit, period, sets, contaminated and what differed: a file or pasted text; not kept.

    ``asks`` is the column asked about, ``at`` the unit where it began; either may be left out. ``FileProblem`` where it
    is no such table, ``RequestProblem`` for a column or unit that is not in it.
    """
    where, rows = read_rows(source, advice=did_advice())
    table = parse_did(rows, where=where)
    asks = " ".join(asks.casefold().replace("_", " ").split())
    if asks and asks not in table.factors:
        raise RequestProblem(_asked_words(asks, dict(table.constant)), fix=_named(table.factors))
    named = {place.casefold(): place for place in table.places}
    if at and at.casefold() not in named:
        raise RequestProblem(_("the table has no unit '{unit}'.").format(unit=at), fix=_named(table.places))
    reading = read_did_table(table, asks=asks, at=named[at.casefold()] if at else "")
    return build_did_table_answer(reading, receipt=_receipt(where, len(table.rows)))


def attendance_answer(source: Path | str) -> Answer:
    """Did the training work, or did only keen people attend? From a table by person, unit or group; not kept.

    ``FileProblem`` where it is no such table.
    """
    where, rows = read_rows(source, advice=attendance_columns().advice)
    table = parse_attendance(rows, where=where)
    return build_attendance_answer(read_attendance(table), receipt=_receipt(where, len(table.rows)))


@dataclass(frozen=True, kw_only=True)
class DidFound:
    """The ``answer``, and the same roles in the same ``hours`` beside it; none where nothing was compared."""

    answer: Answer
    hours: MatchedHours | None = None


def did_answer(workspace: Workspace, ask: DidAsk) -> DidFound:
    """The answer to a diary entry, or to a day and a place: the checks of its design first. Private.

    Errors as for ``gather_did``.
    """
    from cubital.workspace.did_gathering import gather_did
    from cubital.workspace.did_hours import matched_hours

    material, receipt = gather_did(workspace, ask)
    reading = read_change(material)
    change, window = material.change, reading.design.window
    hours = None
    if window is not None and change.unit is not None:
        hours = matched_hours(workspace, facility=change.facility, unit=change.unit, window=window)
    return DidFound(answer=build_change_answer(reading, receipt=receipt), hours=hours)


def hours_around(workspace: Workspace, *, facility: str | None, unit: str, on: date) -> MatchedHours:
    """The same roles in the same hours of a unit, a year before and a year since ``on``: to stand beside a table.

    ``RequestProblem`` where the workspace has no such unit.
    """
    from cubital.workspace.asked_places import find_place
    from cubital.workspace.did_hours import matched_hours

    place = find_place(workspace, facility=facility, unit=unit)
    year = timedelta(days=MOST_DAYS)
    window = Window(first=on - year, on=on, last=on + year)
    return matched_hours(workspace, facility=place.facility, unit=place.unit, window=window)


def _asked_words(asks: str, constant: dict[str, str]) -> str:
    if asks in constant:
        return _("column '{column}' holds only '{level}', so there is nothing to compare it with.").format(
            column=asks, level=constant[asks]
        )
    return _("the table has no column '{column}'.").format(column=asks)


def _named(names: tuple[str, ...]) -> str:
    return _("There are: {names}.").format(names=", ".join(names)) if names else _("Add a column for what differed.")


def _receipt(where: str, count: int) -> Receipt:
    return Receipt(
        data=_("{count} rows of {where}, given and not kept").format(count=count, where=where),
        charter=_("no charter: counts were given ready made"), policy="", code=cubital.__version__,
    )  # fmt: skip
