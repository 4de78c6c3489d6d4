"""Coded elements of the invented network's FHIR export: a local code first, a standard one second, as systems write."""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]
LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"
LOCAL_TESTS = "https://vellorin.example/tests"
IDENTIFIER_TYPES = "http://terminology.hl7.org/CodeSystem/v2-0203"


def coding(code: str, system: str, display: str = "") -> Json:
    """A Coding; without a display where there is none."""
    return {"system": system, "code": code} | ({"display": display} if display else {})


def _test(local: str, name: str, loinc: str, loinc_name: str) -> Json:
    return {"coding": [coding(local, LOCAL_TESTS, name), coding(loinc, LOINC, loinc_name)]}


# LOINC names as the code system gives them; the local codes are invented.
CULTURE_TEST = _test("BLDC", "Blood culture", "600-7", "Bacteria identified in Blood by Culture")
BOTTLE_TESTS = {
    "AER": _test("BLDC-A", "Blood culture aerobic", "17928-3", "Bacteria identified in Blood by Aerobe culture"),
    "ANA": _test("BLDC-N", "Blood culture anaerobic", "17934-1", "Bacteria identified in Blood by Anaerobe culture"),
}
STAIN_TEST = _test("GRAM", "Gram stain", "664-3", "Microscopic observation [Identifier] in Specimen by Gram stain")
ORGANISM_TEST = _test("ORG", "Organism", "11475-1", "Microorganism identified in Specimen by Culture")
BLOOD = {"coding": [coding("119297000", SNOMED, "Blood specimen")]}


def identifier(value: str, kind: str) -> Json:
    """An Identifier typed by table 0203 (MR medical record, ACSN accession)."""
    return {"type": {"coding": [coding(kind, IDENTIFIER_TYPES)]}, "value": value}


def pointer(kind: str, number: str) -> Json:
    """A relative reference."""
    return {"reference": f"{kind}/{number}"}
