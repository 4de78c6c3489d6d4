"""Counts before and after from a table kept by hand: unit, period, any columns that say how, sets, contaminated.

Every column that is none of the known ones is a factor: what differed between rows, such as collector or kit.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cubital.answers.hand_tables import Columns, HandRow, hand_rows, refuse_problems
from cubital.answers.sheet_privacy import refuse_person_columns
from cubital.domain.errors import FileProblem
from cubital.domain.words import _

MOST_LEVELS = 12  # a column with more different words names people, days or remarks, and no way of collecting
_KNOWN = {
    "unit": ("unit", "ward", "place", "department", "unidad", "servicio"),
    "period": ("period", "when", "phase", "time", "periodo", "fase"),
    "sets": ("sets", "draws", "denominator", "n", "extracciones"),
    "contaminated": ("contaminated", "contaminated sets", "contaminants", "numerator", "contaminadas"),
}
_ROLES = frozenset({"collector", "collected by", "drawn by", "nurse", "phlebotomist", "extraido por", "enfermera"})
_AFTER = {
    "before": False, "pre": False, "0": False, "antes": False, "after": True, "post": True, "1": True, "después": True,
    "despues": True,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class DidRow:
    """``contaminated`` of ``sets`` in one place, before or after, at one level of every factor (in their order)."""

    place: str
    after: bool
    levels: tuple[str, ...]
    sets: int
    contaminated: int

    def __post_init__(self) -> None:
        if not 0 <= self.contaminated <= self.sets or not self.sets:
            raise ValueError(f"{self.contaminated} of {self.sets} sets is impossible")


@dataclass(frozen=True, kw_only=True)
class DidTable:
    """The rows as given; ``factors`` are the headings of what differs between them, ``constant`` those of what not."""

    factors: tuple[str, ...]
    rows: tuple[DidRow, ...]
    constant: tuple[tuple[str, str], ...] = ()

    @property
    def places(self) -> tuple[str, ...]:
        """Every place once, in the order of the table."""
        return tuple(dict.fromkeys(row.place for row in self.rows))

    def of_place(self, place: str) -> tuple[DidRow, ...]:
        """The rows of one place."""
        return tuple(row for row in self.rows if row.place == place)


def did_advice() -> str:
    """What to tell somebody whose table is different."""
    return _(
        "Give one row per unit, period and way of collecting, with the columns unit, period (before or after), sets, "
        "contaminated, and one column for each thing that differed; for example unit,period,collector,kit,sets,"
        "contaminated."
    )


def parse_did(rows: Iterable[Sequence[object]], *, where: str) -> DidTable:
    """The counts. ``FileProblem`` with every row that cannot be right, and for a column that names people."""
    held = [list(row) for row in rows]
    headers = _headers(held)
    others = tuple(one for one in dict.fromkeys(headers) if one and not _is_known(one))
    _refuse_people(headers, where=where)
    names = {**_KNOWN, **{header: (header,) for header in others}}
    columns = Columns(names=names, needed=("period", "sets", "contaminated"), advice=did_advice())
    read = hand_rows(held, columns, where=where)
    found = [_row(row, others) for row in read]
    refuse_problems(read, where=where, advice=did_advice())
    kept = tuple(row for row in found if row is not None)
    _refuse_lists(kept, others, where=where)
    return build_did_table(kept, factors=others)


def build_did_table(rows: Sequence[DidRow], *, factors: Sequence[str]) -> DidTable:
    """The rows with cells that stand twice added up, and factors of one level set aside."""
    varied = [place for place, _name in enumerate(factors) if len({row.levels[place] for row in rows}) > 1]
    constant = tuple(
        (name, rows[0].levels[place]) for place, name in enumerate(factors) if rows and place not in varied
    )
    added: dict[tuple[str, bool, tuple[str, ...]], tuple[int, int]] = {}
    for row in rows:
        key = (row.place, row.after, tuple(row.levels[place] for place in varied))
        sets, contaminated = added.get(key, (0, 0))
        added[key] = (sets + row.sets, contaminated + row.contaminated)
    return DidTable(
        factors=tuple(factors[place] for place in varied), constant=constant,
        rows=tuple(
            DidRow(place=place, after=after, levels=levels, sets=sets, contaminated=contaminated)
            for (place, after, levels), (sets, contaminated) in added.items()
        ),
    )  # fmt: skip


def _headers(rows: Sequence[Sequence[object]]) -> list[str]:
    first = next((row for row in rows if any(str(cell or "").strip() for cell in row)), ())
    return [" ".join(str(cell or "").casefold().replace("_", " ").split()) for cell in first]


def _is_known(header: str) -> bool:
    return any(header == role or header in names for role, names in _KNOWN.items())


def _refuse_people(headers: Sequence[str], *, where: str) -> None:
    """A column may say which role drew, but not who: names are looked for in the cells as well."""
    refuse_person_columns(
        headers, taken=frozenset(place for place, header in enumerate(headers) if header in _ROLES), where=where
    )


def _row(row: HandRow, others: Sequence[str]) -> DidRow | None:
    period = row.text("period", needed=True).casefold()
    if period and period not in _AFTER:
        row.complain(_("column 'period': got '{text}', expected before or after").format(text=period[:40]))
    sets, contaminated = row.count("sets"), row.count("contaminated")
    levels = tuple(row.text(name, needed=True).casefold() for name in others)
    if sets is not None and contaminated is not None and contaminated > sets:
        row.complain(
            _("{contaminated} contaminated of {sets} sets is more than all").format(
                contaminated=contaminated, sets=sets
            )
        )
    if row.problems or not sets or contaminated is None:
        return None  # a row without a set says nothing and is left out
    return DidRow(
        place=row.text("unit"), after=_AFTER[period], levels=levels, sets=sets, contaminated=contaminated
    )  # fmt: skip


def _refuse_lists(rows: Sequence[DidRow], others: Sequence[str], *, where: str) -> None:
    if not rows:
        raise FileProblem(_("no row has a set."), where=where, fix=did_advice())
    for place, name in enumerate(others):
        if len({row.levels[place] for row in rows}) > MOST_LEVELS:
            raise FileProblem(
                _("column '{column}' holds more than {most} different words; it may name people.").format(
                    column=name, most=MOST_LEVELS
                ),
                where=where,
                fix=_("Put a role or a kind there, such as nurse and phlebotomist, or leave the column out."),
            )
