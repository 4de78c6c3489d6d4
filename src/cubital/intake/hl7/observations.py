"""The observations of one order as results: what it says grew, in which bottle, and how settled that is."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum
from typing import NamedTuple

from cubital.intake.bottle_words import read_bottle
from cubital.intake.hl7.delimiters import Delimiters
from cubital.intake.hl7.groups import Order
from cubital.intake.hl7.meanings import (
    Exam,
    ExamKind,
    Meanings,
    is_grade,
    names_organism,
    says_rejected,
    says_something,
    speaks_of_results,
    was_there,
)
from cubital.intake.hl7.splitting import Segment, field
from cubital.intake.message_rows import WITHDRAWN
from cubital.reference.message_codes import message_table

PRELIMINARY, FINAL, CORRECTED, CANCELLED, REJECTED = "P", "F", "C", "X", "rejected"
NOT_COLLECTED, NOTHING = "not_collected", "none"
_RESULT_STATUS, _ORDER_STATUS = message_table("0085"), message_table("0123")
_TEXT_TYPES = frozenset({"TX", "FT"})
_CODED_TYPES = frozenset({"CE", "CWE", "CNE", "CF"})
_NUMBER_TYPES = frozenset({"NM", "SN", "DT", "TM", "TS", "DTM", "ED", "RP", "NA"})


class Finding(NamedTuple):
    """One result: ``isolate`` as OBX-4 numbers it, ``status`` as files write it, ``otherwise`` words that differ."""

    bottle: str
    isolate: str
    result: str
    status: str
    otherwise: str = ""


class Findings(NamedTuple):
    """The results of an order, how many antibiotic rows came with them, and the names of what was not read."""

    results: list[Finding]
    antibiotics: int
    unread: list[str]


class _Use(Enum):
    RESULT = 1
    STAIN = 2
    ANTIBIOTIC = 3
    ORGANISM = 4
    NOTHING = 5
    ASK_VALUE = 6


def read_findings(order: Order, meanings: Meanings, signs: Delimiters) -> Findings:
    """Every result of the order; a report in several lines of text is one result."""
    found: list[Finding] = []
    antibiotics, unread = 0, []
    general = order_status(order)
    for segment, value in _joined(order.observations, signs):
        exam = meanings.exam(field(segment, 3), signs)
        text = _value_text(segment, value, meanings=meanings, signs=signs)
        use = _use_of(exam, field(segment, 2), text)
        if use is _Use.ANTIBIOTIC:
            antibiotics += 1
        elif use is _Use.NOTHING:
            unread.append(exam.coded.shown)
        elif result := exam.coded.words if use is _Use.ORGANISM else text:
            status = _status(field(segment, 11).strip(), general, result=result, stain=use is _Use.STAIN)
            said = _findings_of(segment, exam, result=result, status=status, signs=signs)
            other = _otherwise(segment, value, meanings=meanings, signs=signs)
            found += [one._replace(otherwise=other) for one in said] if other else said
    return Findings(_corrected_together(found, general), antibiotics, unread)


def order_status(order: Order) -> str:
    """OBR-25 as a status of files; final where it is empty, preliminary where it is not known."""
    letter = field(order.request, 25).strip()
    return _ORDER_STATUS.get(letter, PRELIMINARY) if letter else FINAL


def _joined(observations: list[Segment], signs: Delimiters) -> Iterator[tuple[Segment, str]]:
    """Each observation with its value, the lines of one text put together."""
    place = 0
    while place < len(observations):
        segment = observations[place]
        value = field(segment, 5)
        place += 1
        if field(segment, 2) in _TEXT_TYPES:
            lines = [value]
            while place < len(observations) and _goes_on(segment, observations[place]):
                lines.append(field(observations[place], 5))
                place += 1
            value = signs.repetition.join(line for line in lines if line)
        yield segment, value


def _goes_on(segment: Segment, following: Segment) -> bool:
    return all(field(segment, place) == field(following, place) for place in (2, 3, 4, 11))


def _value_text(segment: Segment, value: str, *, meanings: Meanings, signs: Delimiters) -> str:
    kind = field(segment, 2)
    if kind in _CODED_TYPES:
        repeated = value.split(signs.repetition) if signs.repetition in value else [value]
        return "; ".join(text for one in repeated if one and (text := meanings.result(one, signs)))
    if not value or kind in _NUMBER_TYPES:
        return signs.text(value)
    return "; ".join(text for one in value.split(signs.repetition) if (text := signs.text(one)))


def _otherwise(segment: Segment, value: str, *, meanings: Meanings, signs: Delimiters) -> str:
    """The words of the first coded value that name another organism than its code; else empty."""
    if field(segment, 2) not in _CODED_TYPES:
        return ""
    return next((text for one in value.split(signs.repetition) if (text := meanings.otherwise(one, signs))), "")


def _use_of(exam: Exam, kind: str, text: str) -> _Use:
    if exam.kind is ExamKind.SUSCEPTIBILITY or (text and is_grade(text)):
        return _Use.ANTIBIOTIC
    if kind in _NUMBER_TYPES:
        return _Use.NOTHING
    if exam.kind is ExamKind.STAIN:
        return _Use.STAIN
    if exam.kind in (ExamKind.CULTURE, ExamKind.PLAIN) or exam.bottle or speaks_of_results(exam.coded.texts):
        return _Use.RESULT
    if was_there(text) and names_organism(exam.coded.words):
        return _Use.ORGANISM
    return _Use.RESULT if text and says_something(text) else _Use.NOTHING


def _findings_of(segment: Segment, exam: Exam, *, result: str, status: str, signs: Delimiters) -> list[Finding]:
    if status == NOTHING:
        return []
    number = signs.text(field(segment, 4))
    labelled = bool(number) and read_bottle(number).known
    return [Finding(number if labelled else exam.bottle, "" if labelled else number, result, status)]


def _status(letter: str, general: str, *, result: str, stain: bool) -> str:
    """OBX-11 within OBR-25: an order called off takes its results along."""
    status = FINAL if general in (NOT_COLLECTED, NOTHING) else general
    if letter and general != CANCELLED:
        status = _RESULT_STATUS.get(letter, PRELIMINARY)
    if status == CANCELLED and says_rejected(result):
        return REJECTED  # table 0085 has one letter for both; the text tells them apart
    # A stain is final as a stain, but the culture goes on.
    return PRELIMINARY if stain and status in (FINAL, CORRECTED) else status


def _corrected_together(found: list[Finding], general: str) -> list[Finding]:
    """A message that corrects a part says the whole anew: its unchanged final results stand beside the corrected."""
    changed = general == CORRECTED or any(one.status in (CORRECTED, WITHDRAWN) for one in found)
    if not changed:
        return found
    return [one._replace(status=CORRECTED) if one.status == FINAL else one for one in found]
