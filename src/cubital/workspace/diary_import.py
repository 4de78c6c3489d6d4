"""A diary that somebody kept by hand, taken in whole or not at all; the same table again adds nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from cubital.answers.diary_entry import Draft, diary_columns, parse_diary
from cubital.domain.diary import DiaryEntry
from cubital.domain.words import _
from cubital.workspace.diary import Keeper, find_entry
from cubital.workspace.diary_places import KnownPlaces
from cubital.workspace.opening import Workspace
from cubital.workspace.small_tables import read_rows
from cubital.workspace.writing import hold_workspace, note_change, one_transaction


@dataclass(frozen=True, kw_only=True)
class DiaryTable:
    """What a table would add: ``new`` in the order of its rows, and how many rows the diary holds already."""

    name: str
    new: tuple[Draft, ...]
    known: int


@dataclass(frozen=True, kw_only=True)
class DiaryTaken:
    """What became of the rows of a table."""

    rows: int
    added: tuple[DiaryEntry, ...]
    known: int


def preview_diary(workspace: Workspace, source: Path | str) -> DiaryTable:
    """What ``source``, a file or pasted text, would add; nothing is kept. ``FileProblem`` with every problem."""
    name, drafts = _read(workspace, source)
    with one_transaction(workspace) as database:
        new = Keeper(workspace, database=database).unknown(drafts)
    return DiaryTable(name=name, new=new, known=len(drafts) - len(new))


def import_diary(workspace: Workspace, source: Path | str, *, noted_by: str = "") -> DiaryTaken:
    """Keeps every change of a hand-kept diary that is not there yet; all of them or none.

    The columns are day, until, kind, facility, unit, what. A row that says exactly what an entry in force says, or what
    a row above it says, adds nothing. ``FileProblem`` names every row that is wrong, and then nothing is kept.
    """
    name, drafts = _read(workspace, source)
    with hold_workspace(workspace), one_transaction(workspace) as database:
        keeper = Keeper(workspace, database=database, noted_by=noted_by, source=name)
        numbers = [keeper.keep(draft).number for draft in keeper.unknown(drafts)]
        if numbers:
            note_change(workspace, action="import_diary", subject=name, rows=len(drafts), added=numbers)
    added = tuple(find_entry(workspace, number) for number in numbers)
    return DiaryTaken(rows=len(drafts), added=added, known=len(drafts) - len(added))


def _read(workspace: Workspace, source: Path | str) -> tuple[str, tuple[Draft, ...]]:
    name, rows = read_rows(source, advice=diary_columns().advice, pasted=_("pasted diary"))
    today = date.today()  # noqa: DTZ011 the diary is kept in local days
    return name, parse_diary(rows, where=name, today=today, find=KnownPlaces(workspace).trouble)
