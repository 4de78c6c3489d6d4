"""Gives every distinct text of a file its meaning once: results, bottles, statuses, people, places, specimens."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from cubital.domain.cultures import Match
from cubital.domain.decisions import Decision, decided_key
from cubital.engine import Session, load_sql
from cubital.intake.age_words import read_age
from cubital.intake.bottle_words import read_bottle
from cubital.intake.collection_words import read_collector, read_method
from cubital.intake.lookups import Cell, add_lookup, distinct_texts
from cubital.intake.results import ResultKind, ResultReading, read_result
from cubital.intake.specimen_words import Scope, reads_as_stain, routine_tests, specimens_in_scope
from cubital.intake.status_words import read_status

_GROWING = frozenset({ResultKind.GROWTH, ResultKind.STAIN, ResultKind.UNMATCHED})
GREW, DID_NOT_GROW, NOT_SAID = 2, 1, 0


@dataclass(frozen=True)
class ResultTexts:
    """The distinct result texts in the order of their codes, and what each was read as."""

    texts: tuple[str, ...]
    readings: tuple[ResultReading, ...]


def add_codes(session: Session, *, confirmed: Mapping[str, str]) -> ResultTexts:
    """Creates every ``look_...`` table that ``lines.sql`` joins; ``parsed`` must exist."""
    session.do(load_sql("cubital.intake", "label_codes"))
    _add_bottles(session)
    _add_statuses(session)
    _add_people_and_places(session)
    _add_ages(session)
    _add_scopes(session)
    return _add_results(session, confirmed)


def _add_bottles(session: Session) -> None:
    rows = [(text, read_bottle(text).number, read_bottle(text).known) for text in distinct_texts(session, "bottle")]
    add_lookup(session, "look_bottles", {"text": "VARCHAR", "bottle": "TINYINT", "known": "BOOLEAN"}, rows)


def _add_statuses(session: Session) -> None:
    rows = [(text, read_status(text)) for text in distinct_texts(session, "status")]
    add_lookup(session, "look_statuses", {"text": "VARCHAR", "standing": "TINYINT"}, rows)


def _add_people_and_places(session: Session) -> None:
    people = []
    for text in distinct_texts(session, "collector"):
        badge, _mark, name = text.rpartition("\x1f")
        read = read_collector(name, badge=bool(badge))
        people.append((text, read.key, read.attribution.value if read.key else None))
    add_lookup(session, "collector_texts", {"text": "VARCHAR", "key": "VARCHAR", "attribution": "VARCHAR"}, people)
    sites = [(text, text.strip(), read_method(text).value) for text in distinct_texts(session, "site")]
    add_lookup(session, "site_texts", {"text": "VARCHAR", "site_name": "VARCHAR", "method": "VARCHAR"}, sites)
    methods = [(text, number, read_method(text).value) for number, text in enumerate(distinct_texts(session, "method"))]
    add_lookup(session, "look_methods", {"text": "VARCHAR", "method": "TINYINT", "name": "VARCHAR"}, methods)
    session.do(load_sql("cubital.intake", "people_and_places"))


def _add_ages(session: Session) -> None:
    groups = {text: read_age(text).value for text in distinct_texts(session, "age")}
    codes = {group: code for code, group in enumerate(sorted(set(groups.values())), start=1)}
    add_lookup(session, "look_ages", {"text": "VARCHAR", "age": "TINYINT"}, [(t, codes[g]) for t, g in groups.items()])
    add_lookup(session, "age_names", {"age": "TINYINT", "age_group": "VARCHAR"}, [(c, g) for g, c in codes.items()])


def _add_scopes(session: Session) -> None:
    shape = {"text": "VARCHAR", "scope": "VARCHAR"}
    specimens = distinct_texts(session, "specimen")
    wanted = specimens_in_scope(specimens)
    rows = [(text, (Scope.IN if text in wanted else Scope.OTHER_SPECIMEN).value) for text in specimens]
    add_lookup(session, "look_specimens", shape, rows)
    of_blood = (
        "case when coalesce(specimen in (select text from look_specimens where scope = 'in'), true) then test end"
    )
    tests = distinct_texts(session, of_blood)
    routine = routine_tests(tests)
    every = distinct_texts(session, "test")
    add_lookup(session, "look_tests", shape, [(text, _test_scope(text, routine)) for text in every])


def _test_scope(text: str, routine: set[str]) -> str:
    if text in routine:
        return Scope.IN.value
    return "stain_row" if reads_as_stain(text) else Scope.OTHER_TEST.value


def _add_results(session: Session, confirmed: Mapping[str, str]) -> ResultTexts:
    texts = sorted(set(distinct_texts(session, "result")) | set(distinct_texts(session, "verdict")))
    readings = [read_result(text, confirmed=confirmed) for text in texts]
    shape = {"text": "VARCHAR", "reading": "INTEGER", "kind": "VARCHAR", "growth": "TINYINT"}
    rows = [(t, number, r.kind.value, _growth(r)) for number, (t, r) in enumerate(zip(texts, readings, strict=True))]
    add_lookup(session, "look_results", shape, rows)
    organism_shape = {
        "reading": "INTEGER",
        "organism_key": "VARCHAR",
        "raw_text": "VARCHAR",
        "match": "VARCHAR",
        "negated": "BOOLEAN",
        "stain": "BOOLEAN",
    }
    add_lookup(session, "reading_organisms", organism_shape, _organism_rows(texts, readings))
    return ResultTexts(tuple(texts), tuple(readings))


def _growth(reading: ResultReading) -> int:
    if reading.kind in _GROWING:
        return GREW
    return DID_NOT_GROW if reading.kind is ResultKind.NO_GROWTH else NOT_SAID


def _organism_rows(texts: Iterable[str], readings: Iterable[ResultReading]) -> Iterable[tuple[Cell, ...]]:
    for number, (text, reading) in enumerate(zip(texts, readings, strict=True)):
        stain = reading.kind is ResultKind.STAIN
        for organism in reading.organisms:
            key = organism.organism_key
            if organism.significant:
                key = decided_key(key, Decision.SIGNIFICANT)
            yield number, key, organism.raw_text, organism.match.value, organism.negated, stain
        if reading.kind in _GROWING and all(organism.negated for organism in reading.organisms):
            yield number, "", text, Match.UNMATCHED.value, False, stain
