"""Tells the other versions of FHIR apart from R4, because the same field means something else there.

By what a file states where it states anything, otherwise by elements that R4 does not have: common practice among
receivers; the elements are those of the published definitions and are checked in the tests against a general library.
"""

from __future__ import annotations

import re
from typing import Any

from cubital.domain.errors import FileProblem
from cubital.domain.words import _

Json = dict[str, Any]

FIRST, SECOND, THIRD, FIFTH = "DSTU1", "DSTU2", "STU3", "R5"

# Element to the version that has it, for each kind of resource in which R4 has no such element.
_FOREIGN: dict[str, dict[str, str]] = {
    "Observation": {
        "name": FIRST, "reliability": FIRST, "appliesDateTime": FIRST, "appliesPeriod": FIRST, "related": THIRD,
        "comments": SECOND, "comment": THIRD, "context": THIRD, "triggeredBy": FIFTH, "bodyStructure": FIFTH,
        "instantiatesCanonical": FIFTH, "instantiatesReference": FIFTH, "valueReference": FIFTH,
    },
    "DiagnosticReport": {
        "name": FIRST, "diagnosticDateTime": FIRST, "diagnosticPeriod": FIRST, "requestDetail": FIRST,
        "serviceCategory": FIRST, "request": SECOND, "context": THIRD, "codedDiagnosis": THIRD, "image": THIRD,
        "composition": FIFTH, "note": FIFTH, "study": FIFTH, "supportingInfo": FIFTH,
    },
    "Specimen": {
        "source": FIRST, "treatment": SECOND, "combined": FIFTH, "feature": FIFTH, "role": FIFTH,
    },
    "Encounter": {
        "actualPeriod": FIFTH, "admission": FIFTH, "subjectStatus": FIFTH, "virtualService": FIFTH,
        "incomingReferral": THIRD, "reason": THIRD,
    },
    "Patient": {"animal": THIRD, "careProvider": SECOND},
    "ServiceRequest": {"bodyStructure": FIFTH, "focus": FIFTH, "location": FIFTH, "reason": FIFTH},
    "DiagnosticOrder": {"resourceType": SECOND},
    "ProcedureRequest": {"resourceType": THIRD},
}  # fmt: skip
# Elements that R4 writes as a list and an older version as a single object, or the other way round.
_LISTS: dict[str, dict[str, str]] = {
    "Observation": {"interpretation": THIRD},
    "DiagnosticReport": {"category": THIRD},
}
_SINGLE: dict[str, dict[str, str]] = {"Encounter": {"class": FIFTH}}
_STATED = re.compile(r"hl7\.org/fhir/(?:StructureDefinition/\w+\|)?(DSTU1|DSTU2|STU3|R5|[0135]\.\d)", re.IGNORECASE)
_BY_NUMBER = {"0": FIRST, "1": SECOND, "3": THIRD, "5": FIFTH}
_KEYS = {kind: frozenset(elements) for kind, elements in _FOREIGN.items()}


def refuse_other_versions(resource: Json, kind: str, *, where: str) -> None:
    """Raises ``FileProblem`` where the resource belongs to another version than R4 (4.0, 4.3)."""
    version = foreign_version(resource, kind)
    if version:
        raise version_problem(version, where=where)


def foreign_version(resource: Json, kind: str) -> str:
    """The version that a resource belongs to when it cannot be R4; empty otherwise."""
    keys = _KEYS.get(kind)
    if keys is not None and not keys.isdisjoint(resource):
        return next(_FOREIGN[kind][key] for key in _FOREIGN[kind] if key in resource)
    for key, version in _LISTS.get(kind, _NONE).items():
        if type(resource.get(key)) is dict:
            return version
    for key, version in _SINGLE.get(kind, _NONE).items():
        if type(resource.get(key)) is list:
            return version
    if "meta" in resource or "fhirVersion" in resource:
        return _stated_version(resource)
    return ""


_NONE: dict[str, str] = {}


def _stated_version(resource: Json) -> str:
    stated = resource.get("fhirVersion")
    if type(stated) is str and stated:
        return _BY_NUMBER.get(stated[0], "")
    meta = resource.get("meta")
    profiles = meta.get("profile") if type(meta) is dict else None
    if not profiles:
        return ""
    found = _STATED.search(" ".join(str(profile) for profile in profiles))
    if not found:
        return ""
    word = found.group(1).upper()
    return word if word[0] in "DSR" else _BY_NUMBER[word[0]]


def version_problem(version: str, *, where: str) -> FileProblem:
    """The refusal of a file in another version."""
    return FileProblem(
        _("this is FHIR {version}; the same fields mean something else there.").format(version=version),
        where=where,
        fix=_("Ask the sender for FHIR R4 (4.0.1), or for a table as CSV or XLSX."),
    )


def refuse_odd_resources(head: bytes, name: str) -> None:
    """Refuses what belongs to an export but holds no JSON resources, by the first bytes of the file."""
    if b"http://hl7.org/fhir" in head and head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        if b"http://www.w3.org/2005/Atom" in head:
            raise version_problem(FIRST, where=name)
        raise FileProblem(
            _("this is FHIR written as XML."), where=name, fix=_("Ask the sender for JSON, or for NDJSON.")
        )
    if head.lstrip().startswith(b"{") and b'"transactionTime"' in head and b'"output"' in head:
        raise FileProblem(
            _("this is the list of the files of a bulk export, not the export itself."),
            where=name,
            fix=_("Fetch the NDJSON files that it names and give them together as a zip archive."),
        )
