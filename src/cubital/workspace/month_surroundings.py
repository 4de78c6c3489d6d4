"""What happened around a month: units that came and went, renames, and what the month's rate was before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from typing import Literal
from zoneinfo import ZoneInfo

from cubital.answers.month_material import OldFigure, RenameMark, UnitChange
from cubital.answers.month_text import month_before
from cubital.domain.charter import Charter
from cubital.domain.snapshots import TableVersions
from cubital.engine import QuerySession
from cubital.judge.api import count_rates
from cubital.judge.counts import Scope
from cubital.workspace.asked_places import AskedPlace
from cubital.workspace.batches import BatchReport, list_batches
from cubital.workspace.decided import list_decisions
from cubital.workspace.facilities import get_facility
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import open_versions
from cubital.workspace.unit_names import label_words

CHANGE_MONTHS = 3  # months in which a unit must have drawn, or not, before its going or coming is worth a word
CHANGE_SETS = 5  # sets a month below which a unit comes and goes by chance (common practice, no source)
MOST_RESTATEMENTS = 3

Grouping = Literal["network", "facility", "unit"]


def grouping_of(place: AskedPlace) -> Grouping:
    """How the judge groups the counts of this place: exactly one row a month."""
    if place.unit is not None:
        return "unit"
    return "network" if place.facility is None else "facility"


def unit_change(session: QuerySession, charter: Charter, *, place: AskedPlace, month: str) -> UnitChange:
    """Units that stopped and units that began this month at one facility: perhaps one unit under two names."""
    first = month_before(month, CHANGE_MONTHS)
    scope = Scope(from_month=first, to_month=month, facility=place.facility)
    drawn: dict[tuple[str, str, str], dict[str, int]] = {}
    for counts in count_rates(session, charter, scope=scope, by="unit"):
        if counts.unit:
            key = (counts.facility or "", counts.unit, counts.unit_name)
            drawn.setdefault(key, {})[counts.month] = sum(counts.classes.values())
    before = [month_before(month, back) for back in range(1, CHANGE_MONTHS + 1)]
    gone = [key for key, by_month in drawn.items() if _stopped(by_month, month=month, before=before)]
    new = [key for key, by_month in drawn.items() if _began(by_month, month=month, before=before)]
    both = {key[0] for key in gone} & {key[0] for key in new}
    return UnitChange(
        gone=tuple(sorted(key[2] for key in gone if key[0] in both)),
        new=tuple(sorted(key[2] for key in new if key[0] in both)),
    )


def _stopped(by_month: dict[str, int], *, month: str, before: Sequence[str]) -> bool:
    return not by_month.get(month) and all(by_month.get(earlier, 0) >= CHANGE_SETS for earlier in before)


def _began(by_month: dict[str, int], *, month: str, before: Sequence[str]) -> bool:
    # The latest month before may hold some sets already: units are renamed in the middle of a month too.
    return by_month.get(month, 0) >= CHANGE_SETS and not any(by_month.get(earlier) for earlier in before[1:])


def rename_marks(place: AskedPlace) -> tuple[RenameMark, ...]:
    """The place's renames, written for people."""
    return tuple(
        RenameMark(old=label_words(rename.old_key), new=rename.new_name, on=rename.on) for rename in place.renames
    )


@dataclass(frozen=True, kw_only=True)
class _Restating:
    """Something that may have restated a month: the data as they were, and what had been decided, just before it."""

    when: datetime
    versions: TableVersions
    until: date
    batch: int = 0
    decisions: int = 0


def old_figures(
    workspace: Workspace, charter: Charter, *, place: AskedPlace, month: str, now: tuple[int, int]
) -> tuple[OldFigure, ...]:
    """What the month's rate was before each batch or decision that restated it, oldest first, under today's charter.

    Recomputed from the tables and the decisions as they were before. A restatement that did not move the rate is left
    out.
    """
    batches = list_batches(workspace)
    found = [*_by_batches(workspace, batches, month), *_by_decisions(workspace, batches, month)]
    restating = sorted(found, key=lambda one: one.when)[-MOST_RESTATEMENTS:]
    figures = [_figure_before(workspace, one, charter=charter, place=place, month=month) for one in restating]
    return tuple(
        OldFigure(numerator=old[0], denominator=old[1], until=one.until, batch=one.batch, decisions=one.decisions)
        for one, old, later in zip(restating, figures, [*figures, now][1:], strict=True)
        if old is not None and old != later
    )


def _by_batches(workspace: Workspace, batches: Sequence[BatchReport], month: str) -> list[_Restating]:
    return [
        _Restating(
            when=batch.taken_at, versions=before.versions, until=_day_of(workspace, batch), batch=batch.number
        )
        for before, batch in pairwise(batches)
        if month in batch.changed_months
    ]  # fmt: skip


def _by_decisions(workspace: Workspace, batches: Sequence[BatchReport], month: str) -> list[_Restating]:
    """The decisions about sets of the month, those of one day together, withdrawals among them."""
    days: dict[date, list[datetime]] = {}
    for one in list_decisions(workspace):
        zone = ZoneInfo(get_facility(workspace, one.facility).timezone)
        for moment in (one.noted_at, one.withdrawn_at):
            if one.month == month and moment is not None:
                days.setdefault(moment.astimezone(zone).date(), []).append(moment)
    found = []
    for day, moments in days.items():
        held = [batch for batch in batches if batch.taken_at < min(moments)]
        if held:
            before = min(moments) - timedelta(microseconds=1)
            found.append(_Restating(when=before, versions=held[-1].versions, until=day, decisions=len(moments)))
    return found


def _figure_before(
    workspace: Workspace, restating: _Restating, *, charter: Charter, place: AskedPlace, month: str
) -> tuple[int, int] | None:
    with open_versions(workspace, restating.versions, decided_by=restating.when) as session:
        scope = place.scope(from_month=month, to_month=month)
        counted = count_rates(session, charter, scope=scope, by=grouping_of(place))
    if not counted or not counted[0].denominator:
        return None
    return counted[0].numerator, counted[0].denominator


def _day_of(workspace: Workspace, batch: BatchReport) -> date:
    zone = get_facility(workspace, batch.facility).timezone
    return batch.taken_at.astimezone(ZoneInfo(zone)).date()
