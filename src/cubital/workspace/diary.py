"""The diary of dated changes: noted, read, corrected and withdrawn; nothing that was noted is ever written over."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.facilities import get_facility
from cubital.workspace.noted_elsewhere import noted_elsewhere
from cubital.workspace.opening import Workspace
from cubital.workspace.unit_names import join_labels, label_words, read_renames, unit_key


def list_entries(
    workspace: Workspace, *, facility: str | None = None, unit: str | None = None
) -> tuple[DiaryEntry, ...]:
    """What changed, by day: the entries in force, and with number 0 what the workspace knows from elsewhere.

    With a place, only what reached it: noted there, in all of its facility, or everywhere. Without one, all of it.
    ``unit`` may be any name that the unit has had; entries carry the key that it has today. ``RequestProblem`` where
    the facility is unknown; a unit that nobody knows has what reached its facility.
    """
    places = _Places(workspace)
    kept = (places.entry(record) for record in _in_force(workspace))
    found = [*kept, *(places.named(entry) for entry in noted_elsewhere(workspace))]
    if facility is not None:
        name = get_facility(workspace, facility).name
        key = places.current_key(name, unit) if unit is not None else None
        found = [entry for entry in found if entry.covers(facility=name, unit=key)]
    return tuple(sorted(found, key=lambda entry: (entry.on, entry.number, entry.words)))


def _in_force(workspace: Workspace) -> Iterable[records.DiaryEntry]:
    rows = records.DiaryEntry.objects.using(workspace.alias).select_related("facility")
    return rows.filter(withdrawn_at__isnull=True).order_by("number")


class _Places:
    """How places of the diary are found again under later names, and written."""

    def __init__(self, workspace: Workspace) -> None:
        renames = read_renames(workspace)
        self._current = join_labels(renames)
        written = records.UnitName.objects.using(workspace.alias).select_related("facility")
        self._names: Mapping[tuple[str, str], str] = {
            (rename.facility, rename.new_key): rename.new_name for rename in renames
        } | {(entry.facility.name, entry.unit_key): entry.name for entry in written}
        self._keys = {(facility, unit_key(name)): key for (facility, key), name in self._names.items()}

    def current_key(self, facility: str, unit: str) -> str:
        """Today's key of the unit with this name, label or former label."""
        key = unit_key(unit)
        key = self._keys.get((facility, key), key)
        return self._current.get((facility, key), key)

    def entry(self, record: records.DiaryEntry) -> DiaryEntry:
        """The entry as it was kept, at its place as it is called today."""
        facility = record.facility.name if record.facility else None
        return self.named(
            DiaryEntry(
                kind=ChangeKind(record.kind),
                on=record.on,
                until=record.until,
                words=record.words,
                facility=facility,
                unit=self.current_key(facility, record.unit_key) if facility and record.unit_key else None,
                number=record.number,
                noted_by=record.noted_by,
            )
        )

    def named(self, entry: DiaryEntry) -> DiaryEntry:
        """The same entry with its place in words."""
        if entry.facility is None:
            return replace(entry, place=_("everywhere"))
        if entry.unit is None:
            return replace(entry, place=entry.facility)
        unit = self._names.get((entry.facility, entry.unit)) or label_words(entry.unit)
        return replace(entry, place=_("{facility}, {unit}").format(facility=entry.facility, unit=unit))
