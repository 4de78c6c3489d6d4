"""The facilities, units and months there are, and the place where the person left off."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from cubital.domain.places import Facility
from cubital.store.places import FacilityMonth, read_facility_months, read_unit_labels
from cubital.workspace import records
from cubital.workspace.facilities import list_facilities
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import committed_versions
from cubital.workspace.units import Unit, build_units
from cubital.workspace.writing import one_transaction

UNDATED = "undated"


@dataclass(frozen=True, kw_only=True)
class Places:
    """What can be asked about. ``months`` (``YYYY-MM``) hold sets, oldest first; ``undated`` is not among them."""

    facilities: tuple[Facility, ...]
    units: tuple[Unit, ...]
    months: tuple[str, ...]
    facility_months: tuple[FacilityMonth, ...]
    undated_sets: int


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a person is: a month, perhaps one facility, perhaps one unit of it, and the page."""

    month: str | None = None
    facility: str | None = None
    unit: str | None = None
    page: str = ""


def list_places(workspace: Workspace) -> Places:
    """Everything that has data; empty in a new workspace."""
    with workspace.cultures.open_snapshot(committed_versions(workspace)) as session:
        found, labels = read_facility_months(session), read_unit_labels(session)
    return Places(
        facilities=list_facilities(workspace),
        units=build_units(workspace, labels),
        months=tuple(sorted({entry.month for entry in found} - {UNDATED})),
        facility_months=found,
        undated_sets=sum(entry.sets for entry in found if entry.month == UNDATED),
    )


def last_place(workspace: Workspace) -> Place | None:
    """Where the person left off; none before the first time."""
    entry = records.LastPlace.objects.using(workspace.alias).order_by("id").first()
    return Place(**entry.place) if entry else None


def remember_place(
    workspace: Workspace,
    *,
    month: str | None = None,
    facility: str | None = None,
    unit: str | None = None,
    page: str = "",
) -> Place:
    """Keeps the place for the next start. No audit line: looking is not changing."""
    place = Place(month=month, facility=facility, unit=unit, page=page)
    with one_transaction(workspace) as database:
        records.LastPlace.objects.using(database).update_or_create(id=1, defaults={"place": asdict(place)})
    return place
