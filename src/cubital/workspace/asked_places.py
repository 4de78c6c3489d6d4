"""Which place was asked about: the network, one facility, or one unit by any name that it has had."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.signal_words import Place
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.judge.counts import Scope
from cubital.workspace.facilities import get_facility, list_facilities
from cubital.workspace.opening import Workspace
from cubital.workspace.unit_names import Rename, read_renames, unit_key
from cubital.workspace.units import Unit, find_unit, list_units

MOST_NAMED = 12


@dataclass(frozen=True, kw_only=True)
class AskedPlace:
    """The place as it is counted. ``unit`` is the current key; ``renames`` are those of its units, oldest first."""

    noun: Place
    name: str
    facility: str | None
    unit: str | None
    renames: tuple[Rename, ...]

    def scope(self, *, from_month: str | None = None, to_month: str | None = None) -> Scope:
        """The sets of this place in these months."""
        return Scope(from_month=from_month, to_month=to_month, facility=self.facility, unit=self.unit)


def find_place(
    workspace: Workspace, *, facility: str | None, unit: str | None, among: Sequence[Unit] | None = None
) -> AskedPlace:
    """The place of these names; ``RequestProblem`` that names what there is where one is unknown or in two places.

    Where the workspace holds one facility only, the network is that facility. ``among`` as for ``find_unit``.
    """
    if unit is not None:
        return _unit_place(_find_unit(workspace, facility=facility, unit=unit, among=among))
    known = list_facilities(workspace)
    if facility is None and len(known) != 1:
        return AskedPlace(
            noun="network", name=_("all hospitals together"), facility=None, unit=None,
            renames=read_renames(workspace),
        )  # fmt: skip
    name = get_facility(workspace, facility).name if facility is not None else known[0].name
    renames = tuple(rename for rename in read_renames(workspace) if rename.facility == name)
    return AskedPlace(noun="hospital", name=name, facility=name, unit=None, renames=renames)


def _unit_place(unit: Unit) -> AskedPlace:
    return AskedPlace(
        noun="department",
        name=_("{facility}, {unit}").format(facility=unit.facility, unit=unit.unit_name),
        facility=unit.facility,
        unit=unit.current_key,
        renames=unit.renames,
    )


def _find_unit(workspace: Workspace, *, facility: str | None, unit: str, among: Sequence[Unit] | None) -> Unit:
    if facility is not None:
        return find_unit(workspace, facility=facility, unit=unit, among=among)
    units, wanted = list_units(workspace) if among is None else among, unit_key(unit)
    found = [one for one in units if wanted in one.labels or wanted == unit_key(one.unit_name)]
    if len(found) == 1:
        return found[0]
    if found:
        raise RequestProblem(
            _("'{unit}' is a unit of more than one facility: {names}.").format(
                unit=unit, names=", ".join(sorted({one.facility for one in found}))
            ),
            fix=_("Say which facility is meant."),
        )
    named = [f"{one.unit_name} ({one.facility})" for one in units if one.current_key][:MOST_NAMED]
    raise RequestProblem(
        _("there is no unit '{unit}' in this workspace.").format(unit=unit),
        fix=_("Known are: {names}.").format(names=", ".join(named)) if named else _("Take a file in first."),
    )
