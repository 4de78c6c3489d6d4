"""Reads what holds results: observations and the reports that gather them."""

from __future__ import annotations

from typing import Any

from cubital.intake.fhir.background import accession_among, version_of
from cubital.intake.fhir.codings import NOTHING, Concept, read_concept, read_concepts
from cubital.intake.fhir.moments import read_moment_of
from cubital.intake.fhir.records import Component, Finding, Report
from cubital.intake.fhir.references import identifier_beside, list_of, name_of, names_of, text_of

Json = dict[str, Any]


def read_finding(resource: Json, base: str, name: str) -> Finding:
    """An Observation."""
    specimen = resource.get("specimen")
    subject = resource.get("subject")
    value, measured = _value_of(resource)
    components = resource.get("component")
    return Finding(
        name=name,
        version=version_of(resource),
        status=text_of(resource.get("status")),
        test=read_concept(resource.get("code")),
        value=value,
        judged=_judged(resource.get("interpretation")),
        absent=read_concept(resource.get("dataAbsentReason")).words,
        measured=measured,
        specimen=name_of(specimen, base=base, owner=name),
        accession=accession_among(resource.get("identifier")) or identifier_beside(specimen),
        patient=name_of(subject, base=base, owner=name),
        patient_number=identifier_beside(subject),
        encounter=name_of(resource.get("encounter"), base=base, owner=name),
        orders=names_of(resource.get("basedOn"), base=base, owner=name),
        effective=read_moment_of(resource, "effective"),
        site=read_concept(resource.get("bodySite")).words,
        members=names_of(resource.get("hasMember"), base=base, owner=name),
        sources=names_of(resource.get("derivedFrom"), base=base, owner=name),
        components=_components(components) if components else (),
    )


def _value_of(resource: Json) -> tuple[Concept, bool]:
    """The value in words, and whether it is a measured quantity, which no organism is."""
    coded = resource.get("valueCodeableConcept")
    if coded is not None:
        return read_concept(coded), False
    text = resource.get("valueString")
    if text is not None:
        return Concept(text_of(text), ()), False
    measured = "valueQuantity" in resource or "valueInteger" in resource or "valueRange" in resource
    return NOTHING, measured or "valueRatio" in resource


def _judged(interpretations: object) -> str:
    """The interpretation's code (``POS``, ``NEG``, ``S``, ``R`` …), else its words."""
    found = read_concepts(interpretations)
    return found.codes[0][1] if found.codes else found.words


def _components(components: object) -> tuple[Component, ...]:
    return tuple(
        Component(read_concept(each.get("code")), _value_of(each)[0])
        for each in list_of(components)
        if type(each) is dict
    )


def read_report(resource: Json, base: str, name: str) -> Report:
    """A DiagnosticReport."""
    subject = resource.get("subject")
    conclusions = resource.get("conclusionCode")
    return Report(
        name=name,
        version=version_of(resource),
        status=text_of(resource.get("status")),
        test=read_concept(resource.get("code")),
        words=text_of(resource.get("conclusion")) or (read_concepts(conclusions).words if conclusions else ""),
        specimens=names_of(resource.get("specimen"), base=base, owner=name),
        accession=accession_among(resource.get("identifier")),
        patient=name_of(subject, base=base, owner=name),
        patient_number=identifier_beside(subject),
        encounter=name_of(resource.get("encounter"), base=base, owner=name),
        orders=names_of(resource.get("basedOn"), base=base, owner=name),
        effective=read_moment_of(resource, "effective"),
        results=names_of(resource.get("result"), base=base, owner=name),
    )
