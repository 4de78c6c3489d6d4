"""The baselines that are locked for a place, as they are read before any month is counted."""

from __future__ import annotations

from cubital.answers.phases import LockedBaseline, phase_at
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.asked_places import AskedPlace
from cubital.workspace.opening import Workspace


def baselines_of(workspace: Workspace, place: AskedPlace) -> tuple[LockedBaseline, ...]:
    """The same for a place that was found already; a unit's are found by every name it has had."""
    found = records.Baseline.objects.using(workspace.alias).select_related("facility").order_by("first", "id")
    if workspace.pinned is not None:
        found = found.filter(id__in=workspace.pinned.baselines)
    keys = {place.unit or "", *(rename.old_key for rename in place.renames if place.unit)}
    return tuple(
        LockedBaseline(
            first=one.first, last=one.last, by=_("{name}, {role}").format(name=one.locked_by, role=one.role),
            on=one.locked_on, why=one.why,
        )
        for one in found
        if (one.facility.name if one.facility else None) == place.facility and one.unit_key in keys
    )  # fmt: skip


def baseline_in_force(workspace: Workspace, place: AskedPlace, month: str) -> LockedBaseline | None:
    """The baseline that the month (``YYYY-MM``) is measured against; none where nobody locked one."""
    return phase_at(baselines_of(workspace, place), month)
