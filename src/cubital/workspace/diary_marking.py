"""Puts the diary's changes on an answer about the months of a place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cubital.answers.diary_marks import mark_answer

if TYPE_CHECKING:
    from cubital.domain.answer import Answer
    from cubital.workspace.opening import Workspace


def marked(workspace: Workspace, answer: Answer, *, facility: str | None, unit: str | None) -> Answer:
    """The answer with a letter over every month in which the diary has a change at this place.

    The place is named as it was asked for, by any name; without a facility it is all of them.
    """
    from cubital.workspace.diary import list_entries

    entries = list_entries(workspace)
    if not entries:
        return answer
    facility, unit = _found(workspace, facility, unit)
    return mark_answer(answer, entries, facility=facility, unit=unit)


def marked_everywhere(workspace: Workspace, answer: Answer) -> Answer:
    """The same for months of counts whose place is not known: only changes that reached everybody."""
    from cubital.workspace.diary import list_entries

    everywhere = [entry for entry in list_entries(workspace) if entry.facility is None]
    return mark_answer(answer, everywhere, facility=None, unit=None)


def _found(workspace: Workspace, facility: str | None, unit: str | None) -> tuple[str | None, str | None]:
    """The facility's name and the unit's key of today; the cultures are only asked where a unit came alone."""
    from cubital.workspace.asked_places import find_place
    from cubital.workspace.diary_places import DiaryPlaces
    from cubital.workspace.facilities import get_facility, list_facilities

    if facility is None and unit is not None:
        place = find_place(workspace, facility=None, unit=unit)
        return place.facility, place.unit
    if facility is None:
        known = list_facilities(workspace)
        return (known[0].name if len(known) == 1 else None), None
    name = get_facility(workspace, facility).name
    return name, DiaryPlaces(workspace).current_key(name, unit) if unit is not None else None
