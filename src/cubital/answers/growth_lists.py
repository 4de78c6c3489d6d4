"""A laboratory's short list of odd growths, typed by hand: day, unit, organism."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cubital.answers.hand_tables import Columns, hand_rows, refuse_problems
from cubital.domain.words import _
from cubital.judge.growths import Growth
from cubital.reference.organisms import organism_slug


def growth_columns() -> Columns:
    """What a list of growths looks like."""
    return Columns(
        names={
            "day": ("date", "collected", "fecha"),
            "unit": ("ward", "location", "unidad"),
            "organism": ("growth", "result", "organismo"),
            "facility": ("hospital", "site"),
            "sets": ("count", "number"),
        },
        needed=("day", "unit", "organism"),
        advice=_("Give one row per set under the headers day, unit, organism; for example 2026-03-05,ED,Bacillus."),
    )


def parse_growths(rows: Iterable[Sequence[object]], *, where: str) -> tuple[Growth, ...]:
    """The growths of a list, by day; ``FileProblem`` with every row that is wrong. Days are never guessed."""
    columns = growth_columns()
    read = hand_rows(rows, columns, where=where)
    found = []
    for row in read:
        day, unit = row.day("day", needed=True), row.text("unit")
        organism, sets = row.text("organism", needed=True), row.count("sets", default=1)
        if organism and not organism_slug(organism):
            row.complain(_("'{text}' is no organism").format(text=organism[:40]))
        if day is None or sets is None or not organism:
            continue
        found.append(Growth(
            day=day, facility=row.text("facility"), unit=unit.casefold(), unit_name=unit,
            organism=organism_slug(organism.replace("spp.", "").replace("sp.", "")), sets=sets,
        ))  # fmt: skip
    refuse_problems(read, where=where, advice=columns.advice)
    return tuple(sorted(found, key=lambda one: (one.day, one.facility, one.unit, one.organism)))
