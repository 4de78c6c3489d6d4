"""The invented network's cultures as a FHIR R4 bulk export: newline-delimited JSON, one resource per line.

It tells what the laboratories' tables tell, row by row, so that both must lead to the same sets.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from cubital.workspace.demo.draws import LOCAL
from cubital.workspace.demo.fhir_words import (
    BLOOD,
    BOTTLE_TESTS,
    CULTURE_TEST,
    ORGANISM_TEST,
    STAIN_TEST,
    identifier,
    pointer,
)
from cubital.workspace.demo.layouts import LAYOUTS, Report

Json = dict[str, Any]
# The headings of each table by what they hold, and what stands between two organisms in one cell.
_HEADINGS = {
    "M": {"accession": "ACC_NO", "unit": "LOC", "collector": "COLLECTOR", "status": "STATUS", "result": "RESULT",
          "bottle": "BOTTLE", "site": "SITE", "birth": "DOB"},
    "T": {"accession": "Accession", "unit": "Ward", "collector": "Drawn by", "status": "Status", "result": "Organism",
          "birth": "Birth"},
    "O": {"accession": "Specimen ID", "unit": "Location", "collector": "Collected by", "status": "Result status",
          "result": "Organism identified", "site": "Body site", "birth": "Date of birth"},
}  # fmt: skip
_BETWEEN = {"M": "; ", "T": " / ", "O": "\n"}
_BIRTHS = {"M": "%Y-%m-%d", "T": "%d/%m/%Y"}
_STATUS = {
    "p": "preliminary", "f": "final", "c": "corrected", "x": "cancelled", "r": "cancelled",
    "preliminary": "preliminary", "final": "final", "corrected": "corrected", "cancelled": "cancelled",
    "rejected": "cancelled",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class _Row:
    """One row of a hospital's table as texts by what they are; ``number`` counts the rows of the report."""

    report: Report
    number: int
    cells: dict[str, str]

    @property
    def key(self) -> str:
        """The true accession number: ids stay apart where a spreadsheet made many numbers one."""
        return str(self.report.draw.accession)

    @property
    def results(self) -> list[str]:
        return self.cells["result"].split(_BETWEEN[self.report.draw.hospital.key])


def write_fhir_export(path: Path, reports: Iterable[Report], *, doubled: int = 0) -> Path:
    """Writes the resources of ``reports``; every ``doubled``-th accession repeats its last result, as the tables do."""
    import orjson

    sent: set[str] = set()
    with path.open("wb") as stream:
        for report in reports:
            resources = resources_of(report)
            if doubled and report.draw.accession % doubled == 0:
                resources.append(next(each for each in reversed(resources) if each["resourceType"] == "Observation"))
            for resource in resources:
                name = f"{resource['resourceType']}/{resource['id']}"
                if name not in sent:
                    stream.write(orjson.dumps(resource) + b"\n")
                if resource["resourceType"] in ("Patient", "Location", "Practitioner"):
                    sent.add(name)
    return path


def resources_of(report: Report) -> list[Json]:
    """Every resource of one report with all that it points at."""
    rows = _rows(report)
    first = rows[0]
    observations = [each for row in rows for each in _observations(row)]
    people = [_patient(first), _ward(first), *_collector(first)]
    specimens = [_specimen(first), *(_bottle(row) for row in rows if row.cells.get("bottle"))]
    return [*people, _encounter(first), _request(first), *specimens, *observations, _report(first, observations)]


def _rows(report: Report) -> list[_Row]:
    layout, headings = LAYOUTS[report.draw.hospital.key], _HEADINGS[report.draw.hospital.key]
    return [
        _Row(
            report=report,
            number=number,
            cells={name: _text(row[layout.header.index(heading)]) for name, heading in headings.items()},
        )
        for number, row in enumerate(layout.rows(report))
    ]


def _text(cell: object) -> str:
    return f"{cell:%Y-%m-%d}" if isinstance(cell, datetime) else str(cell)


def _instant(moment: datetime) -> str:
    return moment.astimezone(LOCAL).isoformat()


def _patient(row: _Row) -> Json:
    pattern = _BIRTHS.get(row.report.draw.hospital.key, "%Y-%m-%d")
    return {
        "resourceType": "Patient",
        "id": _patient_id(row),
        "identifier": [identifier(str(row.report.draw.patient), "MR")],
        "birthDate": f"{datetime.strptime(row.cells['birth'], pattern):%Y-%m-%d}",  # noqa: DTZ007 a day has no zone
    }


def _patient_id(row: _Row) -> str:
    """A placeholder for the birth date belongs to one row of the table only: there the patient is written apart."""
    placeholder = "x" if row.cells["birth"].startswith(("1900", "01/01/1900")) else ""
    return f"p{row.report.draw.patient}{placeholder}"


def _ward(row: _Row) -> Json:
    return {"resourceType": "Location", "id": _ward_id(row), "name": row.cells["unit"]}


def _ward_id(row: _Row) -> str:
    return "".join(sign if sign.isalnum() else "-" for sign in row.cells["unit"])


def _collector(row: _Row) -> list[Json]:
    """Whoever has a badge is a Practitioner; initials and log-ins of nobody stand as words beside the reference."""
    written = row.cells["collector"]
    if not written.isdecimal():
        return []
    return [{"resourceType": "Practitioner", "id": f"c{written}", "identifier": [{"value": written}]}]


def _encounter(row: _Row) -> Json:
    return {
        "resourceType": "Encounter",
        "id": f"e{row.key}",
        "status": "finished",
        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
        "subject": pointer("Patient", _patient_id(row)),
        "location": [{"location": pointer("Location", _ward_id(row))}],
    }


def _request(row: _Row) -> Json:
    return {
        "resourceType": "ServiceRequest",
        "id": f"r{row.key}",
        "status": "completed",
        "intent": "order",
        "code": CULTURE_TEST,
        "subject": pointer("Patient", _patient_id(row)),
        "encounter": pointer("Encounter", f"e{row.key}"),
    }


def _specimen(row: _Row) -> Json:
    draw = row.report.draw
    rejected = {"status": "unsatisfactory"} if row.report.status == "rejected" else {"status": "available"}
    return {
        "resourceType": "Specimen",
        "id": f"s{row.key}",
        "accessionIdentifier": {"value": row.cells["accession"]},
        **rejected,
        "type": BLOOD,
        "subject": pointer("Patient", _patient_id(row)),
        "receivedTime": _instant(draw.received),
        "request": [pointer("ServiceRequest", f"r{row.key}")],
        "collection": _collection(row),
    }


def _collection(row: _Row) -> Json:
    collected, written, site = row.report.draw.stated_collected, row.cells["collector"], row.cells.get("site")
    badge = pointer("Practitioner", f"c{written}") if written.isdecimal() else {"display": written}
    parts = {
        "collector": badge if written else None,
        "collectedDateTime": _instant(collected) if collected else None,
        "bodySite": {"text": site} if site else None,
    }
    return {name: part for name, part in parts.items() if part} or {"quantity": {"value": 1, "unit": "draw"}}


def _bottle(row: _Row) -> Json:
    """A bottle is a specimen parted from the draw."""
    return {
        "resourceType": "Specimen",
        "id": _bottle_id(row),
        "type": BLOOD,
        "parent": [pointer("Specimen", f"s{row.key}")],
        "container": [{"type": {"text": row.cells["bottle"]}}],
    }


def _bottle_id(row: _Row) -> str:
    return f"s{row.key}-{row.cells['bottle']}"


def _observations(row: _Row) -> list[Json]:
    """One observation where one thing is said; else one for the culture, which groups one for each organism."""
    key = f"o{row.key}-{row.number}"
    stain = row.report.status != "preliminary" and row.cells["status"] == "P"
    test = STAIN_TEST if stain else BOTTLE_TESTS.get(row.cells.get("bottle", ""), CULTURE_TEST)
    status = "final" if stain else _STATUS[row.cells["status"].lower()]
    first, *others = row.results
    if not others:
        return [_observation(row, key, test, status) | _value(first)]
    organisms = [
        _observation(row, f"{key}-{number}", ORGANISM_TEST, status) | _value(text)
        for number, text in enumerate(row.results, start=1)
    ]
    members = [pointer("Observation", each["id"]) for each in organisms]
    return [_observation(row, key, test, status) | {"hasMember": members}, *organisms]


def _value(text: str) -> Json:
    """Sentences are strings, names are concepts."""
    return {"valueString": text} if ". " in text or text.isupper() else {"valueCodeableConcept": {"text": text}}


def _observation(row: _Row, key: str, test: Json, status: str) -> Json:
    specimen = _bottle_id(row) if row.cells.get("bottle") else f"s{row.key}"
    return {
        "resourceType": "Observation",
        "id": key,
        "status": status,
        "code": test,
        "subject": pointer("Patient", _patient_id(row)),
        "encounter": pointer("Encounter", f"e{row.key}"),
        "specimen": pointer("Specimen", specimen),
    }


def _report(row: _Row, observations: list[Json]) -> Json:
    return {
        "resourceType": "DiagnosticReport",
        "id": f"d{row.key}",
        "basedOn": [pointer("ServiceRequest", f"r{row.key}")],
        "status": _STATUS[row.report.status],
        "code": CULTURE_TEST,
        "subject": pointer("Patient", _patient_id(row)),
        "specimen": [pointer("Specimen", f"s{row.key}")],
        "result": [pointer("Observation", each["id"]) for each in observations],
    }


def split_by_type(path: Path, folder: Path) -> Iterator[Path]:
    """The same export as bulk servers write it: one file for each kind of resource."""
    import orjson

    lines: dict[str, list[bytes]] = {}
    for line in path.read_bytes().splitlines(keepends=True):
        lines.setdefault(orjson.loads(line)["resourceType"], []).append(line)
    for kind, found in lines.items():
        target = folder / f"{kind}.ndjson"
        target.write_bytes(b"".join(found))
        yield target
