"""What was known when: each month as the first file that held it left it, and what the months are today."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

from cubital.answers.counts import MonthCount
from cubital.answers.noticed import Known
from cubital.domain.charter import Charter
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.asked_places import AskedPlace
from cubital.workspace.batches import BatchReport, list_batches
from cubital.workspace.facilities import get_facility
from cubital.workspace.opening import Workspace
from cubital.workspace.place_counts import count_in
from cubital.workspace.snapshots import open_versions, state_of


def months_as_known(
    workspace: Workspace, charter: Charter, *, place: AskedPlace, today: Sequence[MonthCount]
) -> tuple[tuple[Known, ...], bool]:
    """Each month of ``today`` with what was known when it first stood complete; and whether all of that could be had.

    A month stands complete with the first file taken after its last day that held it. Old states that were let go are
    passed over for the next one that is kept; then the second value is false. The charter is the one given throughout.
    """
    batches = [one for one in list_batches(workspace) if one.kind == "cultures"]
    kept = [one for one in batches if one.released_at is None]
    taken = [(batch, day_of(workspace, batch)) for batch in kept]
    states = _States(workspace, charter, place, batches=batches)
    found: list[Known] = []
    for count in today:
        over = [(batch, day) for batch, day in taken if day > _last_day(count.month)]
        first = next(((batch, day) for batch, day in over if states.holds(batch, count.month)), None)
        if first is None:
            break  # the month is not over yet, or no file held it after its end
        months = tuple(one for one in states.at(first[0]) if one.month <= count.month)
        by = _("batch {number}").format(number=first[0].number)
        found.append(Known(counts=months, by=by, on=first[1]))
    return tuple(found), len(kept) == len(batches)


def day_of(workspace: Workspace, batch: BatchReport) -> date:
    """The day on which a file was taken, by the clock of its hospital."""
    zone = get_facility(workspace, batch.facility).timezone
    return batch.taken_at.astimezone(ZoneInfo(zone)).date()


def _last_day(month: str) -> date:
    year, number = int(month[:4]), int(month[5:])
    return date(year, number, monthrange(year, number)[1])


class _States:
    """The place's months after each batch. Only the months that a batch touched are counted again."""

    def __init__(
        self, workspace: Workspace, charter: Charter, place: AskedPlace, *, batches: Sequence[BatchReport]
    ) -> None:
        self.workspace, self.charter, self.place, self.batches = workspace, charter, place, batches
        self.counted: dict[int, tuple[MonthCount, ...]] = {}

    def holds(self, batch: BatchReport, month: str) -> bool:
        return any(one.month == month for one in self.at(batch))

    def at(self, batch: BatchReport) -> tuple[MonthCount, ...]:
        if batch.number not in self.counted:
            self.counted[batch.number] = self._count(batch)
        return self.counted[batch.number]

    def _count(self, batch: BatchReport) -> tuple[MonthCount, ...]:
        earlier = max(self.counted, default=None)
        before = self.counted[earlier] if earlier is not None else ()
        changed = self._changed(earlier, batch) if before else []
        entry = records.Batch.objects.using(self.workspace.alias).get(number=batch.number)
        with open_versions(self.workspace, state_of(self.workspace, entry), decided_by=batch.taken_at) as session:
            # Months that were there and untouched stand as they were; from the first touched or last known one on
            # they are counted again, the last one because a file in its middle may have left it half full.
            start = min([*changed, before[-1].month]) if before else None
            fresh = count_in(session, self.charter, place=self.place, from_month=start)
        return (*(one for one in before if start is not None and one.month < start), *fresh)

    def _changed(self, earlier: int | None, batch: BatchReport) -> list[str]:
        between = [one for one in self.batches if (earlier or 0) < one.number <= batch.number]
        return [month for one in between for month in one.changed_months]
