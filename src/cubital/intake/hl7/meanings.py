"""What the coded fields of a message mean for us: is it a blood culture, of which bottle, what does a value say.

A feed has few distinct codes and many messages, so every field is read once and remembered.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from enum import StrEnum
from typing import NamedTuple

from cubital.domain.cultures import BottleKind
from cubital.intake.bottle_words import read_bottle
from cubital.intake.hl7.coded import Coded, read_coded
from cubital.intake.hl7.delimiters import Delimiters
from cubital.intake.results import ResultKind, read_result
from cubital.intake.specimen_words import (
    reads_as_blood,
    reads_as_blood_culture,
    reads_as_foreign,
    reads_as_stain,
)
from cubital.reference.message_codes import message_table
from cubital.reference.organisms import organisms, same_organism
from cubital.reference.standard_codes import CodeMeaning, StandardCode, standard_codes


class ExamKind(StrEnum):
    """CULTURE is of blood for certain, PLAIN a culture of whatever the specimen is, UNKNOWN a code without a name."""

    CULTURE = "culture"
    PLAIN = "plain"
    STAIN = "stain"
    SUSCEPTIBILITY = "susceptibility"
    OTHER_CULTURE = "other_culture"
    OTHER = "other"
    UNKNOWN = "unknown"


class SpecimenKind(StrEnum):
    """FOREIGN is certainly no blood; UNCLEAR has words that say neither; UNKNOWN only a code; NONE nothing at all."""

    BLOOD = "blood"
    FOREIGN = "foreign"
    UNCLEAR = "unclear"
    UNKNOWN = "unknown"
    NONE = "none"


class Exam(NamedTuple):
    """A test (OBR-4) or an observation (OBX-3); ``bottle`` is the label of the bottle where it names one."""

    kind: ExamKind
    bottle: str
    coded: Coded


class Specimen(NamedTuple):
    kind: SpecimenKind
    words: str
    coded: Coded


_STANDARD: Mapping[CodeMeaning, ExamKind] = {
    CodeMeaning.CULTURE: ExamKind.CULTURE,
    CodeMeaning.PLAIN_CULTURE: ExamKind.PLAIN,
    CodeMeaning.ORGANISM_TEST: ExamKind.PLAIN,
    CodeMeaning.GROUP: ExamKind.PLAIN,
    CodeMeaning.STAIN: ExamKind.STAIN,
    CodeMeaning.SUSCEPTIBILITY: ExamKind.SUSCEPTIBILITY,
    CodeMeaning.OTHER_CULTURE: ExamKind.OTHER_CULTURE,
}
_BOTH_BOTTLES = re.compile(r"(?<!an)aerob.*anaerob|anaerob.*(?<!an)aerob", re.IGNORECASE)
_SUSCEPTIBILITY = re.compile(r"\b(suscept|sensitiv|antibiogra|mic\b|breakpoint|interpretation)", re.IGNORECASE)
# Stricter than for files: a feed of a whole laboratory has "Hepatitis C" and "Lead BldC-mCnc" in it.
_CULTURE_WORDS = re.compile(
    r"\b(cultures?|cult|cx|bcx|blcx|bldcx|bcul)\b|kultur|cultiv|cultura|h(a)?emocult|culture", re.IGNORECASE
)
_RESULT_WORDS = re.compile(
    r"\b(result|organism|isolate|report|growth|finding|identif|cultur|bacteri|kultur|cultiv)", re.IGNORECASE
)
_BOTTLE_ANSWERS = frozenset(kind.value for kind in BottleKind)
_SAYS_SOMETHING = frozenset(
    {
        ResultKind.GROWTH, ResultKind.STAIN, ResultKind.NO_GROWTH, ResultKind.PENDING, ResultKind.CANCELLED,
        ResultKind.REJECTED,
    }
)  # fmt: skip
_THERE = frozenset({"isolated", "positive", "detected", "present", "pos", "yes", "y", "growth", "recovered", "found"})
_GRADES = re.compile(r"(S|I|R|SDD|NS|MS|VS|N|SUSCEPTIBLE|INTERMEDIATE|RESISTANT)", re.IGNORECASE)
_TABLE_OF_SPECIMENS = frozenset({"HL70487", "HL70070"})


class Meanings:
    """Reads coded fields; remembers what each distinct field means.

    ``answers`` are what the source said of its own codes: ``test_code.X`` (``blood-culture``, ``other``),
    ``specimen_code.X`` (``blood``, ``other``), ``bottle_code.X`` (a kind of bottle) and ``organism_code.X`` (a key).
    """

    def __init__(self, answers: Mapping[str, str]) -> None:
        self._answers = answers
        self._exams: dict[tuple[str, Delimiters], Exam] = {}
        self._specimens: dict[tuple[str, Delimiters], Specimen] = {}
        self._words: dict[tuple[str, str, Delimiters], str] = {}
        self._results: dict[tuple[str, Delimiters], str] = {}
        self._otherwise: dict[tuple[str, Delimiters], str] = {}

    def exam(self, value: str, signs: Delimiters) -> Exam:
        """OBR-4 or OBX-3."""
        key = (value, signs)
        found = self._exams.get(key)
        if found is None:
            coded = read_coded(value, signs)
            found = self._exams[key] = Exam(self._exam_kind(coded), self._bottle_of(coded), coded)
        return found

    def specimen(self, value: str, signs: Delimiters) -> Specimen:
        """SPM-4, or the first component of OBR-15 written as a field."""
        key = (value, signs)
        found = self._specimens.get(key)
        if found is None:
            coded = read_coded(value, signs)
            found = self._specimens[key] = self._read_specimen(coded)
        return found

    def words(self, value: str, tables: str, signs: Delimiters) -> str:
        """A coded element in words: the sender's, else those of its table (``0163 0550``), else its code."""
        if not value:
            return ""
        key = (value, tables, signs)
        found = self._words.get(key)
        if found is None:
            found = self._words[key] = _words_of(read_coded(value, signs), tables)
        return found

    def bottle(self, value: str, signs: Delimiters) -> str:
        """The bottle that a coded element or a bare label names; empty where it names none."""
        return self.exam(value, signs).bottle if value else ""

    def result(self, value: str, signs: Delimiters) -> str:
        """A coded result as text that reads as what its code says; words and code in disagreement follow the code."""
        key = (value, signs)
        found = self._results.get(key)
        if found is None:
            found = self._results[key] = self._result_of(read_coded(value, signs))
        return found

    def otherwise(self, value: str, signs: Delimiters) -> str:
        """The words of a coded result that name another organism than its code, which is followed; else empty."""
        found = self._otherwise.get((value, signs))
        if found is None:
            found = self._otherwise[value, signs] = self._differing(read_coded(value, signs))
        return found

    def _differing(self, coded: Coded) -> str:
        key = self._organism_of(coded)
        if not key:
            return ""
        named = [one.organism_key for text in coded.texts for one in read_result(text).organisms if not one.negated]
        differs = any(named) and not any(one and same_organism(one, key) for one in named)
        return coded.words if differs else ""

    def _exam_kind(self, coded: Coded) -> ExamKind:
        for code in coded.codes:
            standard = standard_codes().get(code)
            if standard and standard.meaning in _STANDARD:
                return _STANDARD[standard.meaning]
        for own in coded.local:
            answer = self._answers.get(f"test_code.{own}")
            if answer:
                return ExamKind.CULTURE if answer == "blood-culture" else ExamKind.OTHER
        return _kind_of_words(coded.texts)

    def _bottle_of(self, coded: Coded) -> str:
        for system, code in coded.codes:
            answer = self._answers.get(f"bottle_code.{code}", "") if not system else ""
            if answer in _BOTTLE_ANSWERS:
                return answer
            if words := message_table("0488").get(code if code.startswith("BC") else ""):
                return words
        standards = [standard_codes().get(code) for code in coded.codes]
        texts = [standard.words for standard in standards if standard] + list(coded.texts)
        texts += coded.local
        return next((text for text in texts if read_bottle(text).known and not _BOTH_BOTTLES.search(text)), "")

    def _read_specimen(self, coded: Coded) -> Specimen:
        for system, code in coded.codes:
            words = _specimen_words(system, code)
            if words:
                blood = reads_as_blood(words) and not reads_as_foreign(words)
                return Specimen(SpecimenKind.BLOOD if blood else SpecimenKind.FOREIGN, words, coded)
            answer = self._answers.get(f"specimen_code.{code}") if not system else ""
            if answer:
                kind = SpecimenKind.BLOOD if answer == "blood" else SpecimenKind.FOREIGN
                return Specimen(kind, coded.words, coded)
        return Specimen(_specimen_by_words(coded), coded.words, coded)

    def _result_of(self, coded: Coded) -> str:
        key = self._organism_of(coded)
        if not key:
            return coded.texts[0] if coded.texts else _finding_words(coded) or coded.words
        for text in coded.texts:
            named = [one for one in read_result(text).organisms if not one.negated]
            if [one.organism_key for one in named] == [key]:
                return text
        return organisms()[key].name

    def _organism_of(self, coded: Coded) -> str:
        for system, code in coded.codes:
            standard = standard_codes().get((system, code))
            if standard and standard.organism_key:
                return standard.organism_key
            answer = "" if system else self._answers.get(f"organism_code.{code}", "")
            if answer in organisms():
                return answer
        return ""


def _kind_of_words(texts: tuple[str, ...]) -> ExamKind:
    if not texts:
        return ExamKind.UNKNOWN
    if any(_SUSCEPTIBILITY.search(text) for text in texts):
        return ExamKind.SUSCEPTIBILITY
    if any(reads_as_stain(text) for text in texts):
        return ExamKind.STAIN
    if any(reads_as_foreign(text) for text in texts):
        return ExamKind.OTHER
    cultures = [text for text in texts if _CULTURE_WORDS.search(text)]
    if not cultures:
        return ExamKind.OTHER
    return ExamKind.CULTURE if any(reads_as_blood_culture(text) for text in cultures) else ExamKind.PLAIN


def _specimen_words(system: str, code: str) -> str:
    standard = standard_codes().get((system, code))
    if standard and standard.meaning is CodeMeaning.SPECIMEN:
        return standard.words
    return message_table("0487").get(code, "") if system in _TABLE_OF_SPECIMENS or not system else ""


def _specimen_by_words(coded: Coded) -> SpecimenKind:
    if any(reads_as_foreign(text) for text in coded.texts):
        return SpecimenKind.FOREIGN
    if any(reads_as_blood(text) for text in coded.texts):
        return SpecimenKind.BLOOD
    if coded.texts:
        return SpecimenKind.UNCLEAR
    if any(system in _TABLE_OF_SPECIMENS for system, _code in coded.codes):
        return SpecimenKind.FOREIGN  # the kinds of blood in these tables are known
    return SpecimenKind.UNKNOWN if coded.codes else SpecimenKind.NONE


def _words_of(coded: Coded, tables: str) -> str:
    if coded.texts:
        return coded.texts[0]
    for system, code in coded.codes:
        for table in tables.split():
            if words := message_table(table).get(code):
                return words
        standard = standard_codes().get((system, code))
        if standard:
            return standard.words
    return coded.words


def _finding_words(coded: Coded) -> str:
    found: list[StandardCode] = [standard_codes()[code] for code in coded.codes if code in standard_codes()]
    return found[0].words if found else ""


def says_something(text: str) -> bool:
    """Whether a value reads as the result of a culture: an organism, a stain, no growth, a cancellation."""
    return read_result(text).kind in _SAYS_SOMETHING


def says_rejected(text: str) -> bool:
    """Whether a value says that the laboratory refused the specimen."""
    return read_result(text).kind is ResultKind.REJECTED


def names_organism(text: str) -> bool:
    """Whether the name of an observation is that of an organism, whose value then says whether it was there."""
    return read_result(text).kind is ResultKind.GROWTH


def was_there(text: str) -> bool:
    """``Isolated``, ``Positive``: the organism that the observation is named after grew."""
    return text.strip(" .").lower() in _THERE


def is_grade(text: str) -> bool:
    """``S``, ``I``, ``R``: what an antibiotic does to an organism."""
    return _GRADES.fullmatch(text.strip()) is not None


def speaks_of_results(texts: tuple[str, ...]) -> bool:
    """Whether the name of a sender's own observation says that it holds the result of the culture."""
    return any(_RESULT_WORDS.search(text) for text in texts)
