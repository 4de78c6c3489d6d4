"""The lot register: which gauze, antiseptic, kit or bottle lot was in use where, and from when until when."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from cubital.answers.lots import LotRow, LotStay, lot_columns, parse_lots
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.facilities import facility_key, find_facility
from cubital.workspace.opening import Workspace
from cubital.workspace.small_tables import read_rows
from cubital.workspace.unit_names import unit_key
from cubital.workspace.units import Unit, list_units
from cubital.workspace.writing import note_change, one_transaction

MOST_NAMED = 12


@dataclass(frozen=True, kw_only=True)
class LotsTaken:
    """What became of a lot list: rows new, rows whose end changed, rows that were known."""

    rows: int
    added: int
    changed: int
    unchanged: int


def take_lots(workspace: Workspace, *, file: Path) -> LotsTaken:
    """Takes a lot list into the register, whole or not at all; the same rows again change nothing.

    A row with the item, lot, place and first day of a known one changes its last day. ``FileProblem`` names every row
    that is wrong, and then nothing is kept.
    """
    name, rows = read_rows(file, advice=lot_columns().advice)
    units = list_units(workspace)
    found = parse_lots(rows, where=name, find=lambda row: _place_trouble(workspace, row, units))
    with one_transaction(workspace) as database:
        fates = [_keep(row, database=database) for row in found]
        taken = LotsTaken(
            rows=len(found), added=fates.count("added"), changed=fates.count("changed"),
            unchanged=fates.count("unchanged"),
        )  # fmt: skip
        if taken.added or taken.changed:
            note_change(workspace, action="take_lots", subject=name, added=taken.added, changed=taken.changed)
    return taken


def list_lots(workspace: Workspace) -> tuple[LotStay, ...]:
    """Every stay of every lot, by item, lot and first day; ``unit`` is the key that the unit has today."""
    current = _current_keys(list_units(workspace))
    found = records.LotStay.objects.using(workspace.alias).select_related("facility")
    return tuple(
        LotStay(
            item=entry.item, lot=entry.lot, facility=entry.facility.name,
            unit=current.get((entry.facility.name, entry.unit_key), entry.unit_key), from_day=entry.from_day,
            to_day=entry.to_day,
        )
        for entry in found.order_by("item", "lot", "from_day", "id")
    )  # fmt: skip


def _keep(row: LotRow, *, database: str) -> str:
    facility = records.Facility.objects.using(database).get(key=facility_key(row.facility))
    entry, created = records.LotStay.objects.using(database).get_or_create(
        item=row.item, lot=row.lot, facility=facility, unit_key=unit_key(row.unit), from_day=row.from_day,
        defaults={"to_day": row.to_day, "noted_at": datetime.now(UTC)},
    )  # fmt: skip
    if created:
        return "added"
    if entry.to_day == row.to_day:
        return "unchanged"
    entry.to_day = row.to_day
    entry.save(using=database)
    return "changed"


def _place_trouble(workspace: Workspace, row: LotRow, units: tuple[Unit, ...]) -> str:
    """What is wrong with the places of a row; a lot where nobody draws would never be compared."""
    place = find_facility(workspace, row.facility)
    if place is None:
        return _("there is no facility '{name}'").format(name=row.facility[:60])
    here = [unit for unit in units if unit.facility == place.name]
    if not row.unit or any(unit_key(row.unit) in (*unit.labels, unit_key(unit.unit_name)) for unit in here):
        return ""
    named = ", ".join(unit.unit_name for unit in here if unit.unit_name)
    known = named if len(here) <= MOST_NAMED else named[:200] + " …"
    return _("there is no unit '{unit}' at {facility}; known are {names}").format(
        unit=row.unit[:60], facility=place.name, names=known
    )


def _current_keys(units: tuple[Unit, ...]) -> Mapping[tuple[str, str], str]:
    keys = {(unit.facility, unit_key(unit.unit_name)): unit.current_key for unit in units}
    return keys | {(unit.facility, label): unit.current_key for unit in units for label in unit.labels}
