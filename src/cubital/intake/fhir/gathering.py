"""Collects what is kept of every resource of an export: the newest state of each, by name."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any, NamedTuple, Protocol, TypeVar

from cubital.intake.fhir.background import READERS
from cubital.intake.fhir.records import Finding, Report, Version
from cubital.intake.fhir.references import tail_of, text_of
from cubital.intake.fhir.results import read_finding, read_report
from cubital.intake.fhir.streams import Sent
from cubital.intake.fhir.versions import refuse_other_versions

Json = dict[str, Any]
_HISTORY = "/_history/"


class _Versioned(Protocol):
    @property
    def version(self) -> Version: ...


Kept = TypeVar("Kept", bound=_Versioned)


class HeldFinding(NamedTuple):
    """An observation with its number in the export."""

    number: int
    record: Finding


class HeldReport(NamedTuple):
    """A report with its number in the export."""

    number: int
    record: Report


class Export:
    """Everything kept of an export. ``where`` names the file in refusals.

    ``findings`` and ``reports`` are in the order of the file; ``outdated`` holds the numbers of those that a newer
    state of the same resource replaces.
    """

    def __init__(self, where: str) -> None:
        self.findings: list[HeldFinding] = []
        self.reports: list[HeldReport] = []
        self.outdated: set[int] = set()
        self._where = where
        self._background: dict[str, dict[str, Any]] = {kind: {} for kind in READERS}
        self._addresses: dict[str, str] = {}
        self._latest_finding: dict[str, int] = {}
        self._latest_report: dict[str, int] = {}

    def add(self, sent: Sent, number: int) -> bool:
        """Keeps a resource under its number in the export; true where it holds results, false for all else."""
        resource = sent.resource
        if resource is None:
            return False
        kind = resource.get("resourceType")
        if type(kind) is not str:
            return False
        refuse_other_versions(resource, kind, where=self._where)
        base, name = "", f"{kind}/{resource['id']}" if type(resource.get("id")) is str else ""
        if sent.address:
            base, name = self._addressed(sent.address, name)
        if "contained" in resource:
            self._add_contained(resource, base, name, number)
        return self._keep(resource, kind, base, name, number)

    def _keep(self, resource: Json, kind: str, base: str, name: str, number: int) -> bool:
        if kind == "Observation":
            self._add_finding(HeldFinding(number, read_finding(resource, base, name)))
            return True
        if kind == "DiagnosticReport":
            self._add_report(HeldReport(number, read_report(resource, base, name)))
            return True
        reader = READERS.get(kind)
        if reader is not None and name:
            held = self._background[kind]
            record = reader(resource, base, name)
            older = held.get(name)
            if older is None or is_later(record.version, older.version):
                held[name] = record
        return False

    def _addressed(self, address: str, short: str) -> tuple[str, str]:
        """Base and name of a resource in a bundle; its short name is remembered where no other server claims it."""
        name = address.partition(_HISTORY)[0]
        if short:
            self._addresses[short] = name if self._addresses.get(short, name) == name else ""
        return (name.removesuffix(short) if short and name.endswith(short) else ""), name

    def _add_contained(self, resource: Json, base: str, name: str, number: int) -> None:
        contained = resource["contained"]
        for each in contained if type(contained) is list else ():
            if type(each) is dict and type(each.get("resourceType")) is str:
                refuse_other_versions(each, each["resourceType"], where=self._where)
                short = f"{name}#{text_of(each.get('id')).lstrip('#')}"
                self._keep(each, each["resourceType"], base, short, number)

    def _add_finding(self, held: HeldFinding) -> None:
        if held.record.name:
            self._replace(held, self._latest_finding, self.findings)
        self.findings.append(held)

    def _add_report(self, held: HeldReport) -> None:
        if held.record.name:
            self._replace(held, self._latest_report, self.reports)
        self.reports.append(held)

    def _replace(self, held: Any, latest: dict[str, int], all_held: list[Any]) -> None:
        """Settles which of two states of one resource holds; the same state sent twice holds both times."""
        name, record = held.record.name, held.record
        place = latest.get(name)
        if place is not None:
            older = all_held[place]
            if older.record == record:
                return
            if not is_later(record.version, older.record.version):
                self.outdated.add(held.number)
                return
            self.outdated.add(older.number)
        latest[name] = len(all_held)

    @property
    def has_specimens(self) -> bool:
        """Whether the export holds any Specimen."""
        return bool(self._background["Specimen"])

    def find(self, kind: str, name: str) -> Any:
        """The record of that kind that a reference names; none where the export does not hold it."""
        if not name:
            return None
        held = self._background[kind]
        found = held.get(name)
        if found is None and (address := self._addresses.get(tail_of(name))):
            return held.get(address)
        return found if found is not None else held.get(tail_of(name))

    def settled_name(self, name: str) -> str:
        """The name under which a referenced result was kept, whichever way the reference was written."""
        if name in self._latest_finding:
            return name
        tail = tail_of(name)
        return self._addresses.get(tail) or tail


def is_later(new: Version, old: Version) -> bool:
    """Whether a state read later in the file replaces the earlier one: by time, by version number, else by order."""
    if new.updated and old.updated and new.updated != old.updated:
        first, second = _instant(new.updated), _instant(old.updated)
        if first and second:
            return first >= second
    if new.number.isdecimal() and old.number.isdecimal():
        return int(new.number) >= int(old.number)
    return True


def _instant(text: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
