"""Small FHIR resources for the tests of reading exports."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

Json = dict[str, Any]
LOINC, SNOMED = "http://loinc.org", "http://snomed.info/sct"
CULTURE = {"coding": [{"system": LOINC, "code": "600-7"}]}


def point(target: str) -> Json:
    return {"reference": target}


def patient(number: str = "7001", name: str = "p1") -> Json:
    return {"resourceType": "Patient", "id": name, "identifier": [{"value": number}], "birthDate": "1950-02-03"}


def specimen(name: str = "s1", accession: str = "A1", **more: object) -> Json:
    return {
        "resourceType": "Specimen",
        "id": name,
        "accessionIdentifier": {"value": accession},
        "type": {"text": "Blood"},
        "subject": point("Patient/p1"),
        "receivedTime": "2026-03-04T09:00:00-06:00",
        "collection": {"collectedDateTime": "2026-03-04T08:15:00-06:00"},
        **more,
    }


def culture(name: str = "o1", words: str = "No growth", **more: object) -> Json:
    return {
        "resourceType": "Observation",
        "id": name,
        "status": "final",
        "code": CULTURE,
        "subject": point("Patient/p1"),
        "specimen": point("Specimen/s1"),
        "valueCodeableConcept": {"text": words},
        **more,
    }


def organism(name: str, words: str, **more: object) -> Json:
    return culture(name, words, code={"coding": [{"system": LOINC, "code": "11475-1"}]}, **more)


def write_lines(path: Path, resources: Iterable[Json]) -> Path:
    path.write_text("".join(json.dumps(each) + "\n" for each in resources), encoding="utf-8")
    return path


def write_bundle(path: Path, entries: Iterable[Json], **more: object) -> Path:
    bundle = {"resourceType": "Bundle", "type": "collection", "entry": list(entries), **more}
    path.write_text(json.dumps(bundle, indent=1), encoding="utf-8")
    return path
