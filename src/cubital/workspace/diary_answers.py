"""The answer about the diary: its entries against the months of every unit, under the charter in force."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from cubital.answers.diary import build_diary_answer
from cubital.answers.diary_reading import WINDOW, DiaryReading, PlaceMonths, read_diary
from cubital.domain.answer import Answer
from cubital.domain.words import _
from cubital.judge.counts import MonthCounts, Scope
from cubital.workspace.charters import current_charter
from cubital.workspace.diary import list_entries
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.place_counts import plain_counts
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import last_batch_number, open_snapshot, snapshot_words
from cubital.workspace.unit_counts import count_unit_months


@dataclass(frozen=True, kw_only=True)
class DiaryFound:
    """The answer about the diary, and the reading that it says."""

    answer: Answer
    reading: DiaryReading


def diary_answer(
    workspace: Workspace, *, facility: str | None = None, unit: str | None = None, window: int = WINDOW
) -> Answer:
    """What changed together and what can be tested; with a place, the changes that reached it. Private.

    Comparison units are looked for in the whole workspace. Works before any file is taken in: every change then lies
    outside the data. ``RequestProblem`` where the facility is unknown.
    """
    return find_diary(workspace, facility=facility, unit=unit, window=window).answer


def find_diary(
    workspace: Workspace, *, facility: str | None = None, unit: str | None = None, window: int = WINDOW
) -> DiaryFound:
    """The same with what it was read from."""
    version, policy = current_charter(workspace), current_policy(workspace)
    reading = read_diary(
        list_entries(workspace),
        unit_histories(workspace),
        about=list_entries(workspace, facility=facility, unit=unit) if facility is not None else None,
        window=window,
    )
    receipt = receipt_of(snapshot_words(workspace), version, policy)
    return DiaryFound(answer=build_diary_answer(reading, receipt=receipt), reading=reading)


def unit_histories(workspace: Workspace) -> tuple[PlaceMonths, ...]:
    """Every unit with its dated months; a workspace without files has none."""
    if not last_batch_number(workspace):
        return ()
    found: dict[tuple[str, str], list[MonthCounts]] = defaultdict(list)
    with open_snapshot(workspace) as session:
        for one in count_unit_months(session, current_charter(workspace), scope=Scope()):
            found[one.facility or "", one.unit or ""].append(one)
    return tuple(
        PlaceMonths(
            facility=facility,
            unit=unit,
            name=_("{facility}, {unit}").format(facility=facility, unit=months[-1].unit_name or unit),
            counts=plain_counts(sorted(months, key=lambda one: one.month)),
        )
        for (facility, unit), months in sorted(found.items())
        if unit
    )
