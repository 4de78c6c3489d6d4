"""Which place and which month the page is about: one choice each, written as the person reads it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from cubital.domain.words import _, month_words
from cubital.workspace.places import Place, Places

SEPARATOR = "\u241f"  # the printed sign for "unit separator": no hospital or ward is written with it


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A place and a month: a facility, a unit of it (its current key), or neither for all hospitals together."""

    month: str
    facility: str | None = None
    unit: str | None = None

    def url(self, name: str, **more: str) -> str:
        """The address of the page ``name`` for this place and month."""
        query = {"place": place_key(self.facility, self.unit), "month": self.month, **more}
        return f"{reverse(name)}?{urlencode(query)}"


def place_key(facility: str | None, unit: str | None) -> str:
    """The value for a place in a list: nothing for the network, the facility, or facility and unit."""
    return SEPARATOR.join(part for part in (facility, unit) if part)


def read_place(key: str, month: str) -> Asked:
    """Facility and unit of such a value, with the month."""
    facility, _sign, unit = key.partition(SEPARATOR)
    return Asked(month=month, facility=facility or None, unit=unit or None)


def place_choices(places: Places) -> list[tuple[str, Any]]:
    """All hospitals together, then each hospital with its units under it."""
    choices: list[tuple[str, Any]] = [("", network_name())]
    for facility in places.facilities:
        units = [unit for unit in places.units if unit.facility == facility.name]
        whole = (facility.name, _("{facility}, all units").format(facility=facility.name))
        named = [(place_key(unit.facility, unit.current_key), unit.unit_name or _("unit not named")) for unit in units]
        choices.append((facility.name, [whole, *named]))
    return choices


def month_choices(places: Places) -> list[tuple[str, str]]:
    """The months there are sets in, newest first."""
    return [(month, month_words(month, with_year=True)) for month in reversed(places.months)]


def place_name(places: Places, asked: Asked) -> str:
    """The place as the head of a page says it."""
    if asked.facility is None:
        return network_name()
    for unit in places.units:
        if (unit.facility, unit.current_key) == (asked.facility, asked.unit):
            return f"{asked.facility} · {unit.unit_name}"
    return asked.facility


def start_place(places: Places, last: Place | None) -> Asked:
    """Where the person left off, if that is still there; otherwise the newest month of everything."""
    newest = places.months[-1]
    if last is None:
        return Asked(month=newest)
    month = last.month if last.month in places.months else newest
    if last.facility in {facility.name for facility in places.facilities}:
        return Asked(month=month or newest, facility=last.facility, unit=_current_key(places, last))
    return Asked(month=month or newest)


def _current_key(places: Places, last: Place) -> str | None:
    """Today's key of the unit that was remembered, by its key, its name or any label it has had."""
    wanted = " ".join((last.unit or "").casefold().split())
    for unit in places.units:
        names = {unit.current_key, unit.unit_name.casefold(), *unit.labels}
        if unit.facility == last.facility and wanted in names:
            return unit.current_key
    return None


def network_name() -> str:
    """What all places together are called."""
    return _("All hospitals together")
