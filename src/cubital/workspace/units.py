"""Units over time: a new name joins the old one, with a mark on the day; and how a unit is written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.store.places import UnitLabel, read_unit_labels
from cubital.workspace import records
from cubital.workspace.facilities import facility_key, get_facility
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import committed_versions
from cubital.workspace.unit_names import Rename, read_renames, resolve_units, unit_key
from cubital.workspace.writing import note_change, one_transaction


@dataclass(frozen=True, kw_only=True)
class Unit:
    """One unit as it is counted: its key and name today, every label it has had, its renames, its sets.

    ``first_month`` and ``last_month`` (``YYYY-MM``) are none where no set is dated.
    """

    facility: str
    current_key: str
    unit_name: str
    labels: tuple[str, ...]
    renames: tuple[Rename, ...]
    sets: int
    first_month: str | None
    last_month: str | None


def list_units(workspace: Workspace) -> tuple[Unit, ...]:
    """Every unit with sets or with a rename, by facility and name."""
    with workspace.cultures.open_snapshot(committed_versions(workspace)) as session:
        labels = read_unit_labels(session)
    return build_units(workspace, labels)


def build_units(workspace: Workspace, labels: Sequence[UnitLabel]) -> tuple[Unit, ...]:
    """The units of ``list_units`` where the ``labels`` of the committed sets have been read already."""
    by_label = {(label.facility, label.unit_key): label for label in labels}
    renames = read_renames(workspace)
    joined: dict[tuple[str, str, str], list[str]] = {}
    for named in resolve_units(workspace, labels):
        joined.setdefault((named.facility, named.current_key, named.unit_name), []).append(named.unit_key)
    units = []
    for (facility, current_key, unit_name), keys in joined.items():
        found = [by_label[facility, key] for key in keys if (facility, key) in by_label]
        units.append(
            Unit(
                facility=facility,
                current_key=current_key,
                unit_name=unit_name,
                labels=tuple(keys),
                renames=tuple(r for r in renames if r.facility == facility and r.new_key in keys),
                sets=sum(label.sets for label in found),
                first_month=min((m for m in (label.first_month for label in found) if m), default=None),
                last_month=max((m for m in (label.last_month for label in found) if m), default=None),
            )
        )
    return tuple(sorted(units, key=lambda unit: (unit.facility, unit.unit_name)))


def find_unit(workspace: Workspace, *, facility: str, unit: str, among: Sequence[Unit] | None = None) -> Unit:
    """The unit that has, or has had, this name or label; ``RequestProblem`` with the nearest names otherwise.

    ``among`` are the workspace's units where they are at hand, which spares reading them again.
    """
    place = get_facility(workspace, facility)
    wanted = unit_key(unit)
    units = [found for found in (list_units(workspace) if among is None else among) if found.facility == place.name]
    for found in units:
        if wanted in found.labels or wanted == unit_key(found.unit_name):
            return found
    raise RequestProblem(
        _("there is no unit '{unit}' at {facility}.").format(unit=unit, facility=place.name),
        fix=_nearest_words(unit, [found.unit_name for found in units]),
    )


def rename_unit(workspace: Workspace, *, facility: str, old: str, new: str, on: date) -> Rename:
    """Says that from ``on`` the unit ``old`` is called ``new``; both labels count as one unit, before and after.

    Saying the same again changes nothing. Raises ``RequestProblem`` where neither name is known at the facility.
    """
    place = get_facility(workspace, facility)
    old_key, new_key = unit_key(old), unit_key(new)
    if not old_key or not new_key or old_key == new_key:
        raise RequestProblem(_("a unit is renamed from one name to another."), fix=_("Give two different names."))
    _check_known(workspace, place.name, old=old, new=new)
    rename = Rename(facility=place.name, old_key=old_key, new_key=new_key, new_name=" ".join(new.split()), on=on)
    with one_transaction(workspace) as database:
        entry = records.Facility.objects.using(database).get(key=facility_key(place.name))
        _record, created = records.UnitRename.objects.using(database).update_or_create(
            facility=entry, old_key=old_key, new_key=new_key, on=on, defaults={"new_name": rename.new_name}
        )
        if created:
            note_change(
                workspace, action="rename_unit", subject=place.name, old=old_key, new=new_key, on=on.isoformat()
            )
    return rename


def name_unit(workspace: Workspace, *, facility: str, unit: str, name: str) -> Unit:
    """Sets how a unit is written for people; its labels stay as they are."""
    found = find_unit(workspace, facility=facility, unit=unit)
    tidy = " ".join(name.split())
    if not tidy:
        raise RequestProblem(_("the unit's name is empty."), fix=_("Give the name as it should be read."))
    with one_transaction(workspace) as database:
        entry = records.Facility.objects.using(database).get(key=facility_key(found.facility))
        records.UnitName.objects.using(database).update_or_create(
            facility=entry, unit_key=found.current_key, defaults={"name": tidy}
        )
        note_change(workspace, action="name_unit", subject=found.facility, unit=found.current_key, name=tidy)
    return find_unit(workspace, facility=facility, unit=found.current_key)


def _check_known(workspace: Workspace, facility: str, *, old: str, new: str) -> None:
    labels = {label for unit in list_units(workspace) if unit.facility == facility for label in unit.labels}
    if unit_key(old) in labels or unit_key(new) in labels:
        return
    raise RequestProblem(
        _("neither '{old}' nor '{new}' is a unit at {facility}.").format(old=old, new=new, facility=facility),
        fix=_nearest_words(old, sorted(labels)),
    )


def _nearest_words(wanted: str, names: list[str]) -> str:
    spelled = {name.casefold(): name for name in names if name}
    near = get_close_matches(wanted.casefold(), spelled, n=5, cutoff=0.4) or sorted(spelled)[:12]
    if not near:
        return _("No set of this facility names a unit.")
    return _("Known are: {names}.").format(names=", ".join(spelled[key] for key in near))
