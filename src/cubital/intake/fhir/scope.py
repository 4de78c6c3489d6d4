"""What an observation's or report's code says it is, and what its value says: each distinct text is read once."""

from __future__ import annotations

import re
from functools import lru_cache

from cubital.intake.bottle_words import read_bottle
from cubital.intake.fhir.codings import LOINC, SNOMED, Concept
from cubital.intake.headers import tidy_header
from cubital.intake.results import ResultKind, read_result
from cubital.intake.specimen_words import reads_as_blood_culture, reads_as_stain, specimens_in_scope
from cubital.reference.organisms import same_organism
from cubital.reference.standard_codes import CodeMeaning, StandardCode, standard_codes

_SYSTEMS = {LOINC: "loinc", SNOMED: "snomed", "urn:oid:2.16.840.1.113883.6.1": "loinc",
            "urn:oid:2.16.840.1.113883.6.96": "snomed"}  # fmt: skip
_TEST_MEANINGS = frozenset(
    {
        CodeMeaning.CULTURE, CodeMeaning.OTHER_CULTURE, CodeMeaning.PLAIN_CULTURE, CodeMeaning.STAIN,
        CodeMeaning.ORGANISM_TEST, CodeMeaning.SUSCEPTIBILITY, CodeMeaning.GROUP,
    }
)  # fmt: skip
_SUSCEPTIBILITY = re.compile(r"\b(suscept\w*|sensitiv\w*|mic|resistan\w*|antibiogram\w*|breakpoint)\b")
_ORGANISM = re.compile(r"\b(organisms?|microorganisms?|isolates?|bacteria identified|species)\b")
_CULTURE = re.compile(r"\b(cultures?|cult|cx)\b")
_OTHER_CULTURE = re.compile(
    r"\b(urine|sputum|stool|swab|wound|csf|cerebrospinal|fluid|tissue|tip|marrow|bone|afb|acid|mycobact\w*|fung\w*"
    r"|viral|virus|respiratory|throat|genital|screen mrsa)\b"
)
_SEVERAL_BOTTLES = re.compile(r"\b(includ\w*|screen|and|both|set)\b|\+|&|/")
# Interpretations of a susceptibility, code system v3-ObservationInterpretation.
SUSCEPTIBILITY_LETTERS = frozenset({"S", "I", "R", "NS", "SDD", "SYN-R", "SYN-S", "IE", "MS", "VS", "WR"})
_JUDGED_WORDS = {
    "POS": "Positive", "NEG": "Negative", "DET": "Positive", "ND": "Negative", "DETECTED": "Positive",
    "POSITIVE": "Positive", "NEGATIVE": "Negative", "NOT DETECTED": "Negative", "A": "", "N": "",
}  # fmt: skip
_TELLING = frozenset({ResultKind.GROWTH, ResultKind.NO_GROWTH, ResultKind.STAIN})


def standard_code(concept: Concept) -> StandardCode | None:
    """The first of a concept's codes that the shipped tables know."""
    known = standard_codes()
    for system, code in concept.codes:
        found = known.get((_SYSTEMS.get(system, ""), code))
        if found is not None:
            return found
    return None


@lru_cache(maxsize=16_384)
def kind_of_test(test: Concept) -> CodeMeaning | None:
    """What a test is: by a standard code wherever it stands among the codings, else by its words; none when unknown."""
    for system, code in test.codes:
        found = standard_codes().get((_SYSTEMS.get(system, ""), code))
        if found is not None and found.meaning in _TEST_MEANINGS:
            return found.meaning
    return _by_words(test.words)


def _by_words(words: str) -> CodeMeaning | None:
    tidy = tidy_header(words)
    if _SUSCEPTIBILITY.search(tidy):
        return CodeMeaning.SUSCEPTIBILITY
    if reads_as_stain(words):
        return CodeMeaning.STAIN
    if reads_as_blood_culture(words):
        return CodeMeaning.CULTURE
    if _CULTURE.search(tidy):
        return CodeMeaning.OTHER_CULTURE if _OTHER_CULTURE.search(tidy) else CodeMeaning.PLAIN_CULTURE
    return CodeMeaning.ORGANISM_TEST if _ORGANISM.search(tidy) else None


@lru_cache(maxsize=4096)
def is_blood(kind: Concept) -> bool | None:
    """Whether a specimen's type is blood for culture; none where it says nothing."""
    found = standard_code(kind)
    if found is not None and found.meaning is CodeMeaning.SPECIMEN:
        return True  # the shipped table lists kinds of blood only
    return bool(specimens_in_scope([kind.words])) if kind.words else None


@lru_cache(maxsize=16_384)
def words_of(concept: Concept) -> str:
    """How a person would read a concept; a code without words takes those of the shipped tables."""
    if concept.words and all(code != concept.words for _system, code in concept.codes):
        return concept.words
    found = standard_code(concept)
    return found.words if found else concept.words


@lru_cache(maxsize=65_536)
def result_words(value: Concept, judged: str) -> str:
    """The result as text: the sender's own words where they can be read, else what the standard code stands for.

    Without a value the interpretation speaks (``POS``, ``NEG``); nothing is made of a blank one.
    """
    found = standard_code(value)
    words = words_of(value)
    if found is None:
        return words or _JUDGED_WORDS.get(judged.upper(), "")
    if found.meaning is CodeMeaning.FINDING:
        return words if read_result(words).kind in _TELLING else found.words
    if found.meaning is CodeMeaning.ORGANISM and not _names(words, found.organism_key):
        named = any(organism.organism_key for organism in read_result(words).organisms)
        return words if named else found.words  # words that name another organism stand: people have read those
    return words


@lru_cache(maxsize=65_536)
def said_otherwise(value: Concept) -> str:
    """The organism that the standard code stands for, where the words name another one; else empty."""
    found = standard_code(value)
    if found is None or found.meaning is not CodeMeaning.ORGANISM or result_words(value, "") == found.words:
        return ""
    return "" if _names(words_of(value), found.organism_key) else found.words


def _names(words: str, organism_key: str) -> bool:
    return any(
        organism.organism_key and not organism.negated and same_organism(organism.organism_key, organism_key)
        for organism in read_result(words).organisms
    )


@lru_cache(maxsize=65_536)
def tells_growth(words: str) -> bool:
    """The text says that something grew, or that nothing did."""
    return read_result(words).kind in _TELLING


@lru_cache(maxsize=65_536)
def names_organism(words: str) -> bool:
    """The text names an organism that grew, not only that something did."""
    return any(
        organism.organism_key not in ("", "growth-unnamed") and not organism.negated
        for organism in read_result(words).organisms
    )


@lru_cache(maxsize=4096)
def bottle_of_test(test: Concept) -> str:
    """The bottle that a test's code or name speaks of (``Aerobic blood culture``); empty for one of the whole set."""
    for system, code in test.codes:
        found = standard_codes().get((_SYSTEMS.get(system, ""), code))
        if found is not None and found.meaning is CodeMeaning.CULTURE:
            return _bottle_in(found.words)
    tidy = tidy_header(test.words)
    return "" if _SEVERAL_BOTTLES.search(tidy) else _bottle_in(test.words)


@lru_cache(maxsize=4096)
def _bottle_in(words: str) -> str:
    for kind in ("anaerobic", "aerobic"):
        if re.search(rf"\b{kind}", words.casefold()):
            return kind.capitalize()
    return ""


@lru_cache(maxsize=4096)
def bottle_of_container(words: str) -> str:
    """The container's own words where they name a kind of bottle."""
    return words if words and read_bottle(words).known else ""
