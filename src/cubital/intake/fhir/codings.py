"""What a coded element says: which standard codes it carries and how a person would read it."""

from __future__ import annotations

from typing import NamedTuple

from cubital.intake.fhir.references import list_of, text_of

LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"


class Concept(NamedTuple):
    """``words`` as the sender wrote them, ``codes`` as (system, code) in the sender's order, local ones first."""

    words: str
    codes: tuple[tuple[str, str], ...]

    def code_in(self, system: str) -> str:
        """The first code of that system; empty where there is none."""
        return next((code for known, code in self.codes if known == system), "")


NOTHING = Concept("", ())


def read_concept(value: object) -> Concept:
    """A ``CodeableConcept`` or a bare ``Coding``: its text, else the first display, else the first code."""
    if type(value) is not dict:
        return NOTHING
    words = text_of(value.get("text"))
    codings = value.get("coding")
    if codings is None:
        if "code" not in value:
            return Concept(words, ()) if words else NOTHING
        codings = [value]
    codes = []
    for coding in list_of(codings):
        if type(coding) is dict:
            if code := text_of(coding.get("code")):
                codes.append((text_of(coding.get("system")), code))
            words = words or text_of(coding.get("display"))
    return Concept(words or (codes[0][1] if codes else ""), tuple(codes))


def read_concepts(values: object) -> Concept:
    """The first of several concepts that says anything."""
    if values is not None:
        for each in list_of(values):
            if (found := read_concept(each)) is not NOTHING:
                return found
    return NOTHING
