"""Which lot was where: the register's rows, and how many sets of each lot grew the organism. Exposure, not cause."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from cubital.answers.hand_tables import Columns, hand_rows, refuse_problems
from cubital.answers.odd_growths import Event
from cubital.domain.answer import AnswerTable
from cubital.domain.words import _, day_words, ngettext
from cubital.judge.growths import DrawnDay
from cubital.stats.exact_table import exact_table
from cubital.stats.multiplicity import adjust_p_values


@dataclass(frozen=True, kw_only=True)
class LotStay:
    """One lot of one item in use at a unit (its key; empty is the whole facility) from a day to a day, both included.

    ``to_day`` is none while it is still in use.
    """

    item: str
    lot: str
    facility: str
    unit: str
    from_day: date
    to_day: date | None

    def holds(self, *, day: date, facility: str, unit: str) -> bool:
        """Whether a set drawn there on that day may have been drawn with it."""
        return (
            self.facility == facility
            and self.unit in ("", unit)
            and self.from_day <= day
            and (self.to_day is None or day <= self.to_day)
        )


@dataclass(frozen=True, kw_only=True)
class LotRow:
    """A row of a lot list before its places are looked up; ``number`` is its row in the file."""

    number: int
    item: str
    lot: str
    facility: str
    unit: str
    from_day: date
    to_day: date | None


@dataclass(frozen=True, kw_only=True)
class Exposure:
    """Sets drawn where and while a lot was in use, and the others, each with how many grew the organism.

    ``chance`` is that of so many or more in the exposed sets, all sets alike, after Holm over all lots looked at; none
    where every set or no set was exposed. ``units`` are the units in which exposed sets grew it.
    """

    item: str
    lot: str
    exposed: int
    exposed_sets: int
    others: int
    other_sets: int
    chance: float | None
    units: tuple[str, ...]

    @property
    def stands_out(self) -> bool:
        """Whether the organism is clearly commoner with this lot than without it."""
        return self.chance is not None and self.chance <= 0.05


def lot_columns() -> Columns:
    """What a lot list looks like."""
    return Columns(
        names={
            "item": ("product", "thing", "supply", "articulo", "artículo"),
            "lot": ("lot number", "batch", "lote"),
            "facility": ("hospital", "site"),
            "unit": ("ward", "location", "unidad"),
            "from": ("start", "since", "from day", "desde"),
            "to": ("end", "until", "to day", "hasta"),
        },
        needed=("item", "lot", "facility", "from"),
        advice=_(
            "Give one row per stay under the headers item, lot, facility, unit, from, to; for example "
            "gauze,G-114,Marrowby General,ED,2026-03-01,2026-03-20. An empty unit is the whole hospital, an empty end "
            "is still in use."
        ),
    )


def parse_lots(rows: Iterable[Sequence[object]], *, where: str, find: Callable[[LotRow], str]) -> tuple[LotRow, ...]:
    """The rows of a lot list; ``FileProblem`` with every row that is wrong.

    ``find`` says in words what is wrong with the places of a row, and nothing where they are known.
    """
    columns = lot_columns()
    read = hand_rows(rows, columns, where=where)
    found = []
    for row in read:
        item, lot = row.text("item", needed=True), row.text("lot", needed=True)
        facility, unit = row.text("facility", needed=True), row.text("unit")
        first, last = row.day("from", needed=True), row.day("to")
        if first and last and last < first:
            row.complain(_("it ends on {to}, before it begins on {start}").format(to=last, start=first))
        if row.problems or first is None:
            continue
        one = LotRow(number=row.number, item=item, lot=lot, facility=facility, unit=unit, from_day=first, to_day=last)
        wrong = find(one)
        if wrong:
            row.complain(wrong)
        found.append(one)
    refuse_problems(read, where=where, advice=columns.advice)
    return tuple(found)


def expose(stays: Sequence[LotStay], events: Sequence[Event], drawn: Sequence[DrawnDay]) -> tuple[Exposure, ...]:
    """One row per lot: events and sets with and without it, the oddest first.

    Events and drawn days are those of the days asked about. A lot that no set of these days met is left out.
    """
    sets: Counter[tuple[date, str, str]] = Counter()
    for day in drawn:
        sets[day.day, day.facility, day.unit] += day.sets
    grown = Counter((event.day, event.facility, event.unit) for event in events)
    lots: dict[tuple[str, str], list[LotStay]] = {}
    for stay in stays:
        lots.setdefault((stay.item, stay.lot), []).append(stay)
    rows = [_row(item, lot, held=held, sets=sets, grown=grown) for (item, lot), held in sorted(lots.items())]
    rows = [row for row in rows if row.exposed_sets]
    judged = [row for row in rows if row.chance is not None]
    adjusted = dict(zip(
        ((row.item, row.lot) for row in judged),
        adjust_p_values([row.chance or 0.0 for row in judged], method="holm") if judged else (),
        strict=True,
    ))  # fmt: skip
    final = [replace(row, chance=adjusted.get((row.item, row.lot))) for row in rows]
    return tuple(sorted(final, key=lambda row: (2.0 if row.chance is None else row.chance, row.item, row.lot)))


def _row(
    item: str,
    lot: str,
    *,
    held: Sequence[LotStay],
    sets: Mapping[tuple[date, str, str], int],
    grown: Mapping[tuple[date, str, str], int],
) -> Exposure:
    met = {key for key in {*sets, *grown} if any(s.holds(day=key[0], facility=key[1], unit=key[2]) for s in held)}
    exposed, others = sum(grown.get(k, 0) for k in met), sum(n for k, n in grown.items() if k not in met)
    exposed_sets = max(exposed, sum(sets.get(k, 0) for k in met))
    other_sets = max(others, sum(n for k, n in sets.items() if k not in met))
    chance = None
    if exposed_sets and other_sets:
        chance = exact_table(exposed, exposed_sets - exposed, c=others, d=other_sets - others).p_greater
    return Exposure(
        item=item, lot=lot, exposed=exposed, exposed_sets=exposed_sets, others=others, other_sets=other_sets,
        chance=chance, units=tuple(sorted({k[2] for k in met if grown.get(k)})),
    )  # fmt: skip


def exposure_words(rows: Sequence[Exposure], *, total: int) -> str:
    """What the lots say, as one sentence that never says cause."""
    if not rows:
        return _("No lot is noted for these days and units, so supplies cannot be compared.")
    out = [row for row in rows if row.stands_out]
    if not out:
        return ngettext(
            "No lot stands out: {count} lot was compared. Not standing out does not clear a lot.",
            "No lot stands out: {count} lots were compared. Not standing out does not clear a lot.",
            len(rows),
        ).format(count=len(rows))
    top = out[0]
    return _(
        "{exposed} of {total} were drawn where and while {item} lot {lot} was in use ({exposed} of {exposed_sets} sets "
        "with it, {others} of {other_sets} without). That is exposure, not cause."
    ).format(
        exposed=top.exposed, total=total, item=top.item, lot=top.lot, exposed_sets=top.exposed_sets,
        others=top.others, other_sets=top.other_sets,
    )  # fmt: skip


def exposure_table(rows: Sequence[Exposure], *, first: date, last: date) -> AnswerTable:
    """Lot by lot, with and without."""
    return AnswerTable(
        title=_("Sets with and without each lot, {first} to {last}").format(
            first=day_words(first), last=day_words(last)
        ),
        columns=(
            _("Item"), _("Lot"), _("Grew it, with the lot"), _("Sets with the lot"), _("Grew it, without"),
            _("Sets without"), _("Chance of so many with it"),
        ),
        rows=tuple(
            (
                row.item, row.lot, row.exposed, row.exposed_sets, row.others, row.other_sets,
                None if row.chance is None else round(row.chance, 4),
            )
            for row in rows
        ),
    )  # fmt: skip
