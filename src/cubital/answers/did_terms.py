"""The unknowns of a table of before and after: places, the period, levels of factors; and which go together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.did_table import DidRow, DidTable, build_did_table
from cubital.stats.identifiability import Identifiability, check_columns

CONSTANT, PERIOD = "constant", "period"
AT = "at "
CHANGE = "change"
YES, NO = "yes", "no"


@dataclass(frozen=True, kw_only=True)
class Term:
    """One unknown that is said: the period, or a factor's level against its usual one. ``column`` is its column."""

    column: str
    factor: str
    level: str = ""
    usual: str = ""


def with_change(table: DidTable, at: str) -> DidTable:
    """A table without factors, with what began at the place ``at`` as its factor."""
    if table.factors or not at:
        return table
    rows = [
        DidRow(
            place=row.place, after=row.after, sets=row.sets, contaminated=row.contaminated,
            levels=(YES if row.after and row.place == at else NO,),
        )
        for row in table.rows
    ]  # fmt: skip
    return build_did_table(rows, factors=(CHANGE,))


def most_changed(table: DidTable) -> str:
    """The place where most levels appear after that were not there before; the largest of several."""

    def began(place: str) -> tuple[int, int]:
        rows = table.of_place(place)
        new = 0
        for index in range(len(table.factors)):
            before = {row.levels[index] for row in rows if not row.after}
            new += len({row.levels[index] for row in rows if row.after} - before) if before else 0
        return new, sum(row.sets for row in rows)

    return max(table.places, key=began)


def usual_levels(table: DidTable) -> tuple[str, ...]:
    """Of every factor the level that most sets had before (in all rows, where there is no before)."""
    found = []
    for index in range(len(table.factors)):
        sets: dict[str, int] = {}
        for row in [row for row in table.rows if not row.after] or table.rows:
            sets[row.levels[index]] = sets.get(row.levels[index], 0) + row.sets
        found.append(max(sets, key=lambda level: sets[level]))
    return tuple(found)


def build_terms(table: DidTable) -> tuple[Term, ...]:
    """The unknowns that are said: every level of a factor but its usual one, and the period where both are there."""
    usual = usual_levels(table)
    found = []
    for index, factor in enumerate(table.factors):
        levels = dict.fromkeys(row.levels[index] for row in table.rows)
        found += [
            Term(column=f"{factor}={level}", factor=factor, level=level, usual=usual[index])
            for level in levels
            if level != usual[index]
        ]
    period = [Term(column=PERIOD, factor=PERIOD)] if len({row.after for row in table.rows}) > 1 else []
    return (*found, *period)


def build_design(table: DidTable, terms: Sequence[Term]) -> tuple[tuple[str, ...], list[list[float]]]:
    """Columns by name and rows: the constant, places, the period, then factors, so that a factor follows its period."""
    places = table.places[1:]
    ordered = sorted(terms, key=lambda term: term.column != PERIOD)
    names = (CONSTANT, *(AT + place for place in places), *(term.column for term in ordered))
    rows = [
        [1.0, *(float(row.place == place) for place in places), *(_value(row, term, table) for term in ordered)]
        for row in table.rows
    ]
    return names, rows


def _value(row: DidRow, term: Term, table: DidTable) -> float:
    if term.column == PERIOD:
        return float(row.after)
    return float(row.levels[table.factors.index(term.factor)] == term.level)


def only_place(table: DidTable, place: str) -> DidTable:
    """The rows of one place."""
    return DidTable(factors=table.factors, rows=table.of_place(place))


def tell_apart(table: DidTable, terms: Sequence[Term]) -> Identifiability:
    """What the rows tell apart. A term that no row of them has is no unknown here."""
    names, rows = build_design(table, terms)
    held = [index for index, name in enumerate(names) if name == CONSTANT or any(row[index] for row in rows)]
    return check_columns([names[index] for index in held], [[row[index] for index in held] for row in rows])
