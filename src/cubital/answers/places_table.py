"""Counts by place, pasted or read from a table: place, sets, contaminated. Nothing is guessed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cubital.answers.hand_tables import Columns, HandRow, hand_rows, refuse_problems, text_rows
from cubital.answers.places_reading import PlaceCount
from cubital.domain.words import _


@dataclass(frozen=True, kw_only=True)
class PlacesTable:
    """Places with sets, and the names of those without one."""

    counts: tuple[PlaceCount, ...]
    empty: tuple[str, ...] = ()


def parse_places_text(text: str, *, where: str) -> PlacesTable:
    """Places from pasted text with commas, semicolons or tabs; errors as for ``parse_places``."""
    return parse_places(text_rows(text, where=where, advice=_advice()), where=where)


def parse_places(rows: Iterable[Sequence[object]], *, where: str) -> PlacesTable:
    """Places from rows of cells, the first of them the headers.

    Raises ``FileProblem`` that names every problem at once: a column missing, a place twice or without a name, a count
    that is none, more contaminated than sets.
    """
    found = hand_rows(rows, _columns(), where=where)
    seen: dict[str, int] = {}
    read = [(row.text("place", needed=True), _counts(row), row) for row in found]
    for name, _pair, row in read:
        key = " ".join(name.casefold().split())
        if key in seen:
            row.complain(_("'{place}' stands already in row {earlier}").format(place=name, earlier=seen[key]))
        seen.setdefault(key, row.number)
    refuse_problems(found, where=where, advice=_advice())
    return PlacesTable(
        counts=tuple(PlaceCount(key=name, name=name, sets=n, contaminated=x) for name, (x, n), _row in read if n),
        empty=tuple(name for name, (_x, n), _row in read if not n),
    )


def _counts(row: HandRow) -> tuple[int, int]:
    sets, contaminated = row.count("sets"), row.count("contaminated")
    if sets is None or contaminated is None:
        return 0, 0
    if contaminated > sets:
        row.complain(
            _("{contaminated} contaminated of {sets} sets is more than all").format(
                contaminated=contaminated, sets=sets
            )
        )
    return contaminated, sets


def _columns() -> Columns:
    return Columns(
        names={
            "place": ("place", "unit", "ward", "department", "facility", "hospital", "lugar", "unidad"),
            "sets": ("sets", "draws", "cultures", "blood culture sets", "denominator", "extracciones", "series"),
            "contaminated": ("contaminated", "contaminated sets", "contaminants", "numerator", "contaminadas",
                             "contaminados"),
        },
        needed=("place", "sets", "contaminated"),
        advice=_advice(),
    )  # fmt: skip


def _advice() -> str:
    return _("Give one row per place under the headers place, sets, contaminated; for example Emergency,498,19.")
