"""The elements of FHIR one by one: references, codings, times, and what tells its versions apart.

Checked against the FHIR R4 specification (hl7.org/fhir/R4: references, datatypes) and, for the versions, against the
element lists of a general-purpose FHIR library.
"""

from __future__ import annotations

import importlib

import pytest

from cubital.domain.errors import FileProblem
from cubital.intake.fhir.codings import NOTHING, read_concept
from cubital.intake.fhir.gathering import Export, is_later
from cubital.intake.fhir.moments import read_moment, read_moment_of
from cubital.intake.fhir.records import Moment, Version
from cubital.intake.fhir.references import identifier_beside, name_of
from cubital.intake.fhir.streams import Sent
from cubital.intake.fhir.versions import _FOREIGN, FIFTH, THIRD, foreign_version, refuse_odd_resources


@pytest.mark.parametrize(
    ("target", "base", "name"),
    [
        ("Specimen/1", "", "Specimen/1"),
        ("Specimen/1/_history/4", "", "Specimen/1"),
        ("Specimen/1", "https://a.example/r4/", "https://a.example/r4/Specimen/1"),
        ("https://b.example/Specimen/1", "https://a.example/r4/", "https://b.example/Specimen/1"),
        ("urn:uuid:7c", "https://a.example/r4/", "urn:uuid:7c"),
        ("#inside", "https://a.example/r4/", "Observation/9#inside"),
    ],
)
def test_a_reference_names_its_resource(target: str, base: str, name: str) -> None:
    assert name_of({"reference": target}, base=base, owner="Observation/9") == name


@pytest.mark.parametrize("odd", [None, "Specimen/1", [], {"reference": 5}, {"reference": ""}, {"display": "x"}])
def test_what_is_no_reference_names_nothing(odd: object) -> None:
    assert name_of(odd, base="", owner="") == ""


def test_a_logical_and_a_conditional_reference_give_the_identifier() -> None:
    assert identifier_beside({"identifier": {"system": "urn:x", "value": "7001"}}) == "7001"
    assert identifier_beside({"reference": "Patient?identifier=urn:x|7001"}) == "7001"


def test_a_concept_keeps_its_text_and_every_code() -> None:
    concept = read_concept({"text": "S. aureus", "coding": [{"code": "SA"}, {"system": "urn:s", "code": "3092008"}]})
    assert concept == ("S. aureus", (("", "SA"), ("urn:s", "3092008")))


def test_a_concept_without_words_reads_as_its_first_code() -> None:
    assert read_concept({"coding": [{"code": "SA"}]}).words == "SA"
    assert read_concept({"code": "BLD", "display": "Blood"}).words == "Blood"
    assert read_concept({"coding": [None, 3, {"code": 4}]}) == NOTHING


def test_times_stand_as_written_with_their_offset() -> None:
    assert read_moment("2025-11-02T01:30:00.123-06:00") == Moment("2025-11-02 01:30:00", "-360")
    assert read_moment("2025-11-02T07:30:00Z") == Moment("2025-11-02 07:30:00", "0")
    assert read_moment("2025-11-02") == Moment("2025-11-02", "")
    assert read_moment("2025-11") == Moment("? 2025-11", "")
    assert read_moment(20251102) == Moment("", "")


def test_a_period_begins_with_its_start_and_a_timing_with_its_first_event() -> None:
    assert read_moment_of({"collectedPeriod": {"start": "2025-11-02"}}, "collected").clock == "2025-11-02"
    assert read_moment_of({"effectiveTiming": {"event": ["2025-11-02"]}}, "effective").clock == "2025-11-02"
    assert read_moment_of({"collectedPeriod": {"end": "2025-11-02"}}, "collected").clock == ""


def test_the_later_version_is_told_by_time_before_number_before_order() -> None:
    early, late = Version("2026-03-05T10:00:00Z", "9"), Version("2026-03-05T12:00:00+01:00", "2")
    assert is_later(late, early)
    assert not is_later(early, late)
    assert not is_later(Version("", "2"), Version("", "3"))
    assert is_later(Version("", ""), Version("", "3"))


def _elements(package: str, kind: str) -> set[str]:
    model = getattr(importlib.import_module(f"fhir.resources{package}.{kind.lower()}"), kind)
    return {field.alias or name for name, field in model.model_fields.items()}


@pytest.mark.parametrize(
    "kind", ["Observation", "DiagnosticReport", "Specimen", "Encounter", "Patient", "ServiceRequest"]
)
def test_no_element_of_r4_is_taken_for_another_version(kind: str) -> None:
    assert not _elements(".R4B", kind) & set(_FOREIGN[kind])


@pytest.mark.parametrize("kind", ["Observation", "DiagnosticReport", "Specimen", "Encounter", "Patient"])
def test_elements_are_those_of_the_versions_they_are_said_to_be_of(kind: str) -> None:
    third = {element for element, version in _FOREIGN[kind].items() if version == THIRD}
    fifth = {element for element, version in _FOREIGN[kind].items() if version == FIFTH}
    assert third <= _elements(".STU3", kind)
    assert fifth <= _elements("", kind)


def _profile(tail: str) -> dict[str, object]:
    return {"profile": [f"http://hl7.org/fhir/{tail}"]}


@pytest.mark.parametrize(
    ("resource", "version"),
    [
        ({"resourceType": "Observation", "name": {"text": "Culture"}}, "DSTU1"),
        ({"resourceType": "DiagnosticOrder"}, "DSTU2"),
        ({"resourceType": "Observation", "related": []}, "STU3"),
        ({"resourceType": "DiagnosticReport", "category": {"text": "MB"}}, "STU3"),
        ({"resourceType": "ProcedureRequest"}, "STU3"),
        ({"resourceType": "Encounter", "class": [{"text": "IMP"}]}, "R5"),
        ({"resourceType": "Patient", "meta": _profile("StructureDefinition/Patient|3.0.2")}, "STU3"),
        ({"resourceType": "CapabilityStatement", "fhirVersion": "5.0.0"}, "R5"),
        ({"resourceType": "CapabilityStatement", "fhirVersion": "4.3.0"}, ""),
        ({"resourceType": "Patient", "meta": _profile("us/core/StructureDefinition/x|3.1.1")}, ""),
    ],
)  # fmt: skip
def test_another_version_is_told_apart(resource: dict[str, object], version: str) -> None:
    assert foreign_version(resource, str(resource["resourceType"])) == version


@pytest.mark.parametrize(
    ("head", "words"),
    [
        (b'<?xml version="1.0"?><Bundle xmlns="http://hl7.org/fhir">', "written as XML"),
        (b'<feed xmlns="http://www.w3.org/2005/Atom"><entry><content><Patient xmlns="http://hl7.org/fhir"', "DSTU1"),
        (b'{"transactionTime": "2026-03-01", "request": "", "output": []}', "list of the files of a bulk export"),
    ],
)
def test_what_belongs_to_an_export_but_is_none_is_refused_by_name(head: bytes, words: str) -> None:
    with pytest.raises(FileProblem, match=words):
        refuse_odd_resources(head, "x.json")


def test_a_short_reference_that_two_servers_could_mean_points_at_neither() -> None:
    export = Export("x.json")
    for host in ("one", "two"):
        patient = {"resourceType": "Patient", "id": "p1", "identifier": [{"value": host}]}
        export.add(Sent(1, patient, f"https://{host}.example/Patient/p1"), 1)
    assert export.find("Patient", "Patient/p1") is None
    assert export.find("Patient", "https://two.example/Patient/p1").number == "two"


def test_a_short_reference_finds_the_one_server_that_has_it() -> None:
    export = Export("x.json")
    patient = {"resourceType": "Patient", "id": "p1", "identifier": [{"value": "7001"}]}
    export.add(Sent(1, patient, "https://one.example/Patient/p1"), 1)
    assert export.find("Patient", "Patient/p1").number == "7001"
