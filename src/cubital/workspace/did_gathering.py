"""Gathers what a dated change is held against: counts of every unit by day, and the diary around it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from datetime import date

import numpy as np

from cubital.answers.did_material import DidMaterial, UnitDays
from cubital.domain.answer import Receipt
from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.judge.cells import CellCounts, Dimension
from cubital.workspace.asked_places import find_place
from cubital.workspace.diary import find_entry, list_entries
from cubital.workspace.did_answers import DidAsk
from cubital.workspace.opening import Workspace
from cubital.workspace.places import list_places
from cubital.workspace.places_gathering import PlacesAsk, key_text, settle_months, split_by_month
from cubital.workspace.units import list_units

MOST_YEARS = 3  # on either side of a change; what was before is another place


def gather_did(workspace: Workspace, ask: DidAsk) -> tuple[DidMaterial, Receipt]:
    """The material of ``ask``. ``RequestProblem`` where there is no such entry or place, or nothing was taken in."""
    change = _change(workspace, ask)
    months = list_places(workspace).months
    if not months:
        raise RequestProblem(_("no file has been taken in yet."), fix=_("Take a laboratory file in first."))
    wide = settle_months(workspace, _months_around(change.on, first=months[0], last=months[-1]))
    by = (Dimension.FACILITY, Dimension.UNIT, Dimension.DAY)
    cells, _scope, receipt, policy = split_by_month(workspace, wide, by=by)
    units = unit_days(cells, _unit_names(workspace))
    here = frozenset(one.key for one in units if change.covers(facility=one.facility, unit=one.unit))
    if not here:
        raise RequestProblem(
            _("no set of {place} is counted.").format(place=change.place),
            fix=_("Take its file in first, or ask about another place."),
        )
    days = [unit.days for unit in units if unit.key in here]
    material = DidMaterial(
        change=change, name=change.place if change.facility else _("all hospitals together"), units=units, here=here,
        entries=list_entries(workspace), policy=policy,
        first=date.fromordinal(int(min(one[0] for one in days))),
        last=date.fromordinal(int(max(one[-1] for one in days))), asked=ask.number is not None,
    )  # fmt: skip
    return material, receipt


def _change(workspace: Workspace, ask: DidAsk) -> DiaryEntry:
    if ask.number is not None:
        return find_entry(workspace, ask.number)
    if ask.on is None:
        raise RequestProblem(
            _("what is asked about is not said."), fix=_("Give the number of a diary entry, or a day and a place.")
        )
    place = find_place(workspace, facility=ask.facility, unit=ask.unit)
    noted = [
        entry for entry in list_entries(workspace)
        if entry.number and entry.on == ask.on and entry.covers(facility=place.facility, unit=place.unit)
    ]  # fmt: skip
    if noted:  # the diary knows what began that day: it is this that is asked about, at the place given
        return replace(
            noted[0], facility=place.facility, unit=place.unit, place=place.name, words=ask.words or noted[0].words
        )
    return DiaryEntry(
        kind=ChangeKind.OTHER, on=ask.on, words=ask.words or _("what began that day"), facility=place.facility,
        unit=place.unit, place=place.name,
    )  # fmt: skip


def _months_around(on: date, *, first: str, last: str) -> PlacesAsk:
    """Three years on either side of the day, where there are as many; all months where it lies outside of them."""
    month = f"{on:%Y-%m}"
    if not first <= month <= last:
        return PlacesAsk(from_month=first, to_month=last)
    years = (f"{on.year - MOST_YEARS}{month[4:]}", f"{on.year + MOST_YEARS}{month[4:]}")
    return PlacesAsk(from_month=max(first, years[0]), to_month=min(last, years[1]))


def _unit_names(workspace: Workspace) -> dict[tuple[str, str], str]:
    return {(unit.facility, unit.current_key): unit.unit_name for unit in list_units(workspace) if unit.unit_name}


def unit_days(cells: CellCounts, names: dict[tuple[str, str], str]) -> tuple[UnitDays, ...]:
    """Every unit with its days; sets without a unit or a day belong to none."""
    found: dict[tuple[str, str], list[tuple[int, int, int]]] = defaultdict(list)
    columns = zip(*cells.keys.values(), cells.denominator.tolist(), cells.numerator.tolist(), strict=True)
    for facility, unit, day, sets, contaminated in columns:
        if unit and day is not None and sets:
            found[facility, unit].append((day.toordinal(), sets, contaminated))
    several = len({facility for facility, _unit in found}) > 1
    return tuple(
        _unit((facility, unit), sorted(rows), name=_name(facility, names.get((facility, unit), unit), several=several))
        for (facility, unit), rows in sorted(found.items())
    )


def _name(facility: str, unit: str, *, several: bool) -> str:
    return _("{unit}, {facility}").format(unit=unit, facility=facility) if several else unit


def _unit(key: tuple[str, str], rows: list[tuple[int, int, int]], *, name: str) -> UnitDays:
    days, sets, contaminated = (np.array(column, dtype=np.int64) for column in zip(*rows, strict=True))
    return UnitDays(
        key=key_text(key), name=name, facility=key[0], unit=key[1], days=days, sets=sets, contaminated=contaminated
    )
