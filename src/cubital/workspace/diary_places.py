"""Where a change of the diary was: found again under every later name, and checked against the places there are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property

from cubital.answers.diary_entry import Draft
from cubital.domain.diary import DiaryEntry
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.facilities import facility_key, get_facility
from cubital.workspace.opening import Workspace
from cubital.workspace.unit_names import join_labels, label_words, read_renames, read_unit_names, unit_key
from cubital.workspace.units import Unit, find_unit, list_units


class DiaryPlaces:
    """How places of the diary are found again under later names, and written. Reads records alone, no cultures."""

    def __init__(self, workspace: Workspace) -> None:
        renames = read_renames(workspace)
        self._current = join_labels(renames)
        self._names: Mapping[tuple[str, str], str] = {
            (rename.facility, rename.new_key): rename.new_name for rename in renames
        } | read_unit_names(workspace)
        self._keys = {(facility, unit_key(name)): key for (facility, key), name in self._names.items()}

    def current_key(self, facility: str, unit: str) -> str:
        """Today's key of the unit with this name, label or former label."""
        key = unit_key(unit)
        key = self._keys.get((facility, key), key)
        return self._current.get((facility, key), key)

    def named(self, entry: DiaryEntry) -> DiaryEntry:
        """The same entry with its place in words."""
        if entry.facility is None:
            return replace(entry, place=_("everywhere"))
        if entry.unit is None:
            return replace(entry, place=entry.facility)
        unit = self._names.get((entry.facility, entry.unit)) or label_words(entry.unit)
        return replace(entry, place=_("{facility}, {unit}").format(facility=entry.facility, unit=unit))


class KnownPlaces:
    """The facilities and units that an entry may name; the cultures are asked for their units once."""

    def __init__(self, workspace: Workspace) -> None:
        self._workspace = workspace

    def trouble(self, draft: Draft) -> str:
        """What is wrong with the place of an entry, without a full stop; empty where it is known."""
        if not draft.facility:
            return ""
        try:
            facility = get_facility(self._workspace, draft.facility).name
        except RequestProblem as problem:
            return problem.sentence().rstrip(".")
        found = self._unit(facility, draft.unit) if draft.unit else ""
        return found.sentence().rstrip(".") if isinstance(found, RequestProblem) else ""

    def resolved(self, draft: Draft) -> tuple[records.Facility | None, str]:
        """The record of the facility and today's key of the unit; none and empty where the entry names none."""
        if not draft.facility:
            return None, ""
        facility = self._facilities[facility_key(draft.facility)]
        unit = self._unit(facility.name, draft.unit) if draft.unit else ""
        if isinstance(unit, RequestProblem):
            raise unit
        return facility, unit

    def current_key(self, facility: str, unit: str) -> str:
        """Today's key of a unit that is in the diary already."""
        return self._places.current_key(facility, unit)

    @cached_property
    def _facilities(self) -> Mapping[str, records.Facility]:
        return {entry.key: entry for entry in records.Facility.objects.using(self._workspace.alias)}

    @cached_property
    def _places(self) -> DiaryPlaces:
        return DiaryPlaces(self._workspace)

    @cached_property
    def _units(self) -> tuple[Unit, ...]:
        return list_units(self._workspace)

    def _unit(self, facility: str, unit: str) -> str | RequestProblem:
        wanted = unit_key(unit)
        for found in self._units:
            if found.facility == facility and wanted in (*found.labels, unit_key(found.unit_name)):
                return found.current_key
        try:
            return find_unit(self._workspace, facility=facility, unit=unit).current_key
        except RequestProblem as problem:
            return problem
