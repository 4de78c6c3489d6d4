"""Gathers what the sheet for a month that jumped is made of, and prints it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from cubital.answers.lots import Exposure, LotStay, expose
from cubital.answers.month import build_month_answer
from cubital.answers.month_material import MonthMaterial
from cubital.answers.month_text import month_before
from cubital.answers.odd_growths import Event
from cubital.answers.place_words import age_words, method_words, weekday_words
from cubital.answers.spike import Kind, Slice, SpikeMaterial, SpikeSheet, build_spike_sheet
from cubital.domain.charter import Charter, UnitOfCount
from cubital.domain.cultures import AgeGroup, Method
from cubital.domain.words import _
from cubital.engine import QuerySession
from cubital.judge.cells import CellCounts, Dimension, count_cells
from cubital.judge.counts import Scope
from cubital.judge.growths import DrawnDay
from cubital.papers.out_files import write_whole
from cubital.papers.spike_page import print_spike_page
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import current_charter
from cubital.workspace.diary_marking import marked
from cubital.workspace.left_answers import spike_as_answer, workspace_receipt
from cubital.workspace.lots import list_lots
from cubital.workspace.month_gathering import LOOK_BACK, gather_month
from cubital.workspace.opening import Workspace
from cubital.workspace.printing import paper_size
from cubital.workspace.receipts import keep_receipt, receipt_words
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.units import list_units

DAY_PARTS = (0, 6, 12, 18)
Name = Callable[[tuple[Any, ...]], str]


def spike_sheet(
    workspace: Workspace, *, month: str, facility: str | None = None, unit: str | None = None
) -> SpikeSheet:
    """The five steps for one month of one place, compared with up to twelve months before. Private.

    Errors as for ``month_answer``.
    """
    gathered = gather_month(workspace, month=month, facility=facility, unit=unit)
    place = find_place(workspace, facility=facility, unit=unit)
    charter = current_charter(workspace).charter
    scope = place.scope(from_month=month_before(month, LOOK_BACK), to_month=month)
    slices: tuple[Slice, ...] = ()
    lots: tuple[Exposure, ...] | None = None
    people: tuple[tuple[int, int], ...] | None = None
    if charter.unit_of_count is UnitOfCount.SET:
        with open_snapshot(workspace) as session:
            slices = _slices(session, charter, scope=scope, month=month, names=_unit_names(workspace))
            asked = place.scope(from_month=month, to_month=month)
            lots = _lots(session, charter, scope=asked, stays=list_lots(workspace))
            people = _people(session, charter, scope=asked)
    answer = marked(workspace, build_month_answer(gathered), facility=facility, unit=unit)
    return build_spike_sheet(
        SpikeMaterial(
            month=month, place=place.name, answer=answer, slices=slices,
            singles=_singles(gathered, now=True), singles_before=_singles(gathered, now=False), lots=lots,
            people=people,
        )
    )  # fmt: skip


def print_spike(
    workspace: Workspace,
    *,
    month: str,
    out: Path,
    facility: str | None = None,
    unit: str | None = None,
    paper: str = "a4",
    today: date | None = None,
) -> None:
    """Writes the sheet to ``out``; errors as for ``print_unit``."""
    size = paper_size(paper)
    sheet = spike_sheet(workspace, month=month, facility=facility, unit=unit)
    day = today or datetime.now(UTC).date()
    answer = spike_as_answer(sheet, receipt=workspace_receipt(workspace))
    asked = {"month": month, "facility": facility, "unit": unit}
    code = keep_receipt(workspace, question="spike", asked=asked, answer=answer)
    kept = f"{snapshot_words(workspace)} · {receipt_words(code)}"
    write_whole(out, print_spike_page(sheet, made_on=day, receipt=kept, paper=size))


def _singles(gathered: MonthMaterial, *, now: bool) -> tuple[int, int]:
    """Sets without a partner over series, this month or in the months before together."""
    months = gathered.recent[-1:] if now else gathered.recent[:-1]
    return sum(one.solitary or 0 for one in months), sum(one.episodes or 0 for one in months)


def _unit_names(workspace: Workspace) -> Mapping[tuple[str, str], str]:
    units = list_units(workspace)
    alone = len({unit.facility for unit in units}) < 2
    return {
        (unit.facility, unit.current_key): unit.unit_name if alone else f"{unit.unit_name} ({unit.facility})"
        for unit in units
        if unit.current_key
    }


def _slices(
    session: QuerySession, charter: Charter, *, scope: Scope, month: str, names: Mapping[tuple[str, str], str]
) -> tuple[Slice, ...]:
    wanted: Sequence[tuple[Kind, tuple[Dimension, ...], Name]] = (
        (Kind.AGE, (Dimension.AGE_GROUP,), lambda key: age_words(key[0] or AgeGroup.UNKNOWN)),
        (Kind.METHOD, (Dimension.METHOD,), lambda key: method_words(key[0] or Method.UNKNOWN)),
        (Kind.UNIT, (Dimension.FACILITY, Dimension.UNIT), lambda key: names.get((key[0], key[1]), "")),
        (Kind.WEEKDAY, (Dimension.WEEKDAY,), lambda key: weekday_words(key[0]) if key[0] else ""),
        (Kind.HOURS, (Dimension.HOUR,), lambda key: part_words(key[0])),
    )
    found: list[Slice] = []
    for number, (kind, by, name) in enumerate(wanted):
        cells = count_cells(session, charter, by=(Dimension.MONTH, *by), scope=scope, judge=number == 0)
        found += _kind_slices(cells, kind=kind, by=by, name=name, month=month)
    return tuple(found)


def _kind_slices(cells: CellCounts, *, kind: Kind, by: tuple[Dimension, ...], name: Name, month: str) -> list[Slice]:
    sums: Mapping[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    keys = list(zip(*(cells.keys[dimension] for dimension in by), strict=True))
    for index, key in enumerate(keys):
        words = name(key)
        if not words:
            continue
        place = 0 if cells.keys[Dimension.MONTH][index] == month else 2
        sums[words][place] += int(cells.numerator[index])
        sums[words][place + 1] += int(cells.denominator[index])
    return [
        Slice(kind=kind, name=words, contaminated=x, sets=n, contaminated_before=x0, sets_before=n0)
        for words, (x, n, x0, n0) in sorted(sums.items())
    ]


def _lots(
    session: QuerySession, charter: Charter, *, scope: Scope, stays: Sequence[LotStay]
) -> tuple[Exposure, ...] | None:
    if not stays:
        return None
    by = (Dimension.DAY, Dimension.FACILITY, Dimension.UNIT)
    cells = count_cells(session, charter, by=by, scope=scope)
    events, drawn = [], []
    for index, (day, facility, unit) in enumerate(zip(*(cells.keys[one] for one in by), strict=True)):
        if day is None:
            continue
        events += [Event(day=day, facility=facility, unit=unit)] * int(cells.numerator[index])
        drawn.append(DrawnDay(day=day, facility=facility, unit=unit, unit_name="", sets=int(cells.denominator[index])))
    return expose(stays, events, drawn)


def _people(session: QuerySession, charter: Charter, *, scope: Scope) -> tuple[tuple[int, int], ...] | None:
    """Counts of every known collector, with nothing that says whose they are."""
    by = (Dimension.FACILITY, Dimension.COLLECTOR)
    cells = count_cells(session, charter, by=by, scope=scope)
    known = [
        (int(x), int(n))
        for x, n, key in zip(cells.numerator, cells.denominator, cells.keys[Dimension.COLLECTOR], strict=True)
        if key and n
    ]
    return tuple(sorted(known)) or None


def part_words(hour: int | None) -> str:
    """The quarter of the day; nothing where the hour is not known."""
    if hour is None:
        return ""
    start = max(one for one in DAY_PARTS if one <= hour)
    return _("{start} to {end} h").format(start=start, end=start + 6)
