"""Every definition on the same data, side by side: the rates, and which sets move between any two and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from cubital.answers.class_words import class_words, reason_words
from cubital.domain.charter import Charter, SetClass
from cubital.domain.words import _
from cubital.indicators.contamination import definition_words
from cubital.indicators.shares import LEVEL, build_share
from cubital.judge.counts import MonthCounts, SetVerdict

MAIN_KEYS = ("a_one_of_several_all_sets", "b_one_of_several_eligible_sets", "c_with_solitary", "d_any_commensal")


@dataclass(frozen=True, kw_only=True)
class JudgedDefinition:
    """One charter with what the judge found under it: counts per month, and every set that grew something."""

    charter: Charter
    months: tuple[MonthCounts, ...]
    verdicts: tuple[SetVerdict, ...]


@dataclass(frozen=True, kw_only=True)
class BenchLine:
    """One definition: ``rate`` is a proportion (0 to 1) with its 95 % Wilson interval, none where nothing is counted.

    What the numerator leaves open stands beside it, in sets: ``to_adjudicate``, ``unresolved``,
    ``solitary_commensals``.
    """

    key: str
    name: str
    definition: str
    numerator: int
    denominator: int
    rate: float | None
    low: float | None
    high: float | None
    to_adjudicate: int
    unresolved: int
    solitary_commensals: int
    source: str
    confidence: str


@dataclass(frozen=True, kw_only=True)
class Move:
    """A set that two definitions put into different classes, and why, in words."""

    from_key: str
    to_key: str
    facility: str
    accession: str
    from_class: SetClass
    to_class: SetClass
    why: str


@dataclass(frozen=True, kw_only=True)
class Bench:
    """The definitions in the order given, and the moves between them.

    Moves are between each two of the four main definitions, and from definition A to each other one.
    """

    definitions: tuple[BenchLine, ...]
    moves: tuple[Move, ...]

    def line(self, key: str) -> BenchLine:
        """The definition of that key; ``KeyError`` where there is none."""
        for line in self.definitions:
            if line.key == key:
                return line
        raise KeyError(key)


def build_bench(judged: Sequence[JudgedDefinition]) -> Bench:
    """The bench of definitions that were judged over the same sets.

    Definitions judged over different sets raise ``ValueError``: their difference would not be the definition's.
    """
    found = {tuple(verdict.set_id for verdict in one.verdicts) for one in judged}
    if len(found) > 1:
        raise ValueError("the definitions were not judged over the same sets")
    return Bench(
        definitions=tuple(_line(one) for one in judged),
        moves=tuple(move for first, second in _pairs(judged) for move in _moves(first, second)),
    )


def build_bench_dict(bench: Bench) -> dict[str, Any]:
    """The bench as plain data for JSON: classes as their words in the charter, no NaN."""
    return {
        "definitions": [vars(line) for line in bench.definitions],
        "moves": [
            {
                "from": move.from_key,
                "to": move.to_key,
                "facility": move.facility,
                "accession": move.accession,
                "from_class": move.from_class.value,
                "to_class": move.to_class.value,
                "why": move.why,
            }
            for move in bench.moves
        ],
    }


def _line(one: JudgedDefinition) -> BenchLine:
    share = build_share(
        "contamination",
        one.charter.name,
        numerator=sum(month.numerator for month in one.months),
        denominator=sum(month.denominator for month in one.months),
        definition=definition_words(one.charter),
        level=LEVEL,
    )
    return BenchLine(
        key=one.charter.key,
        name=one.charter.name,
        definition=share.definition,
        numerator=share.numerator or 0,
        denominator=share.denominator or 0,
        rate=share.value,
        low=share.low,
        high=share.high,
        to_adjudicate=_sets(one.months, SetClass.ADJUDICATE),
        unresolved=_sets(one.months, SetClass.UNRESOLVED),
        solitary_commensals=_sets(one.months, SetClass.SOLITARY_COMMENSAL),
        source=one.charter.source,
        confidence=one.charter.confidence,
    )


def _sets(months: Iterable[MonthCounts], set_class: SetClass) -> int:
    return sum(month.of_class(set_class) for month in months)


def _pairs(judged: Sequence[JudgedDefinition]) -> Iterator[tuple[JudgedDefinition, JudgedDefinition]]:
    main = [one for one in judged if one.charter.key in MAIN_KEYS]
    yield from combinations(main, 2)
    for other in judged:
        if main and other.charter.key not in MAIN_KEYS:
            yield main[0], other


def _moves(first: JudgedDefinition, second: JudgedDefinition) -> Iterator[Move]:
    for before, after in zip(first.verdicts, second.verdicts, strict=True):
        if before.set_class is not after.set_class:
            yield Move(
                from_key=first.charter.key,
                to_key=second.charter.key,
                facility=before.facility,
                accession=before.accession,
                from_class=before.set_class,
                to_class=after.set_class,
                why=_why(first.charter, before, second.charter, after),
            )


def _why(first: Charter, before: SetVerdict, second: Charter, after: SetVerdict) -> str:
    return _("{first}: {first_class} ({first_reason}). {second}: {second_class} ({second_reason}).").format(
        first=first.name,
        first_class=class_words(before.set_class),
        first_reason=reason_words(before.reason),
        second=second.name,
        second_class=class_words(after.set_class),
        second_reason=reason_words(after.reason),
    )
