"""What does one contaminated set cost us? The marginal cost with its range, part by part; publications beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cubital.answers.worth_inputs import EACH, RATE, SETS, build_structure, input_label
from cubital.answers.worth_model import OptionModel, distributions, ends, likely_values
from cubital.answers.worth_refusal import counted_inputs
from cubital.answers.worth_tables import amount_cell, origin_words
from cubital.answers.worth_words import amount_words, money_words
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Receipt, Verdict
from cubital.domain.costs import CostInput, CostTable
from cubital.domain.words import _, decimal_words
from cubital.reference.published_costs import PublishedCost, published_costs
from cubital.stats.decision_model import Spread, draw_inputs, spread_of

DRAWS, SEED = 100_000, 20_260_102
LEVEL = 0.9


@dataclass(frozen=True, kw_only=True)
class CostPart:
    """One line of the sum: the inputs that are multiplied, and their product at the low, likely and high ends."""

    keys: tuple[str, ...]
    inputs: tuple[CostInput, ...]
    low: float
    likely: float
    high: float


@dataclass(frozen=True, kw_only=True)
class CostReading:
    """One contaminated set: its parts, their sums, the spread over draws, and a year of them where sets are given."""

    table: CostTable
    parts: tuple[CostPart, ...]
    spread: Spread
    a_year: float | None

    @property
    def a_year_ends(self) -> tuple[float | None, float | None]:
        """A year of them with sets, share and parts all at their low, and at their high ends; none without sets."""
        sets, rate = (self.table.find(key, self.table.options[0]) for key in (SETS, RATE))
        if sets is None or rate is None:
            return None, None
        (set_low, set_high), (low, high) = (
            (one.likely, one.likely) if one.is_fixed else (one.low, one.high) for one in (sets, rate)
        )
        return set_low * low * self.ends[0], set_high * high * self.ends[1]

    @property
    def likely(self) -> float:
        """All parts at their likely values."""
        return sum(part.likely for part in self.parts)

    @property
    def ends(self) -> tuple[float, float]:
        """All parts at their low, and at their high ends."""
        return sum(part.low for part in self.parts), sum(part.high for part in self.parts)


def contamination_cost_question() -> str:
    """The question as it is asked."""
    return _("What does a contaminated set cost us?")


def read_contamination_cost(table: CostTable, *, draws: int = DRAWS, seed: int = SEED) -> CostReading:
    """Reads the first option's cost of one set; the table must be one that ``refuse_worth`` lets pass."""
    structure = build_structure(table, table.options[0])
    inputs = counted_inputs(table, with_programme=False)
    by_name = {one.name: one for one in inputs}
    names = dict(structure.names)
    model = OptionModel(structure=structure)
    drawn = draw_inputs(distributions(table, inputs), draws=draws, seed=seed)
    parts = tuple(_part(table, line, tuple(by_name[names[key]] for key in line)) for line in structure.each)
    sets, rate = (table.find(key, table.options[0]) for key in (SETS, RATE))
    now = sets.likely * rate.likely if sets and rate else None
    likely = sum(part.likely for part in parts)
    each: Any = model.cost_each(drawn)
    return CostReading(
        table=table, parts=parts, spread=spread_of(each + 0 * next(iter(drawn.values()))),
        a_year=None if now is None else now * likely,
    )  # fmt: skip


def _part(table: CostTable, keys: tuple[str, ...], inputs: tuple[CostInput, ...]) -> CostPart:
    likely = likely_values(table, inputs)
    low = high = middle = 1.0
    for one in inputs:
        bottom, top = (likely[one.name],) * 2 if one.is_fixed else ends(table, one)
        low, middle, high = low * bottom, middle * likely[one.name], high * top
    return CostPart(keys=keys, inputs=inputs, low=low, likely=middle, high=high)


def build_contamination_cost_answer(reading: CostReading, *, receipt: Receipt | None = None) -> Answer:
    """The answer: a range, its parts by size, what is published shown beside it and added to nothing."""
    return Answer(
        question=contamination_cost_question(), verdict=Verdict.ESTIMATE, sentence=_sentence(reading),
        figures=_figures(reading), cautions=_cautions(), table=_table(reading), receipt=receipt,
    )  # fmt: skip


def _sentence(reading: CostReading) -> str:
    currency = reading.table.currency
    low, high = reading.ends
    words = _("A model, not a measurement: one contaminated set costs between {low} and {high}, most likely {likely}.")
    parts = [words.format(
        low=amount_words(low), high=money_words(high, currency), likely=money_words(reading.likely, currency)
    )]  # fmt: skip
    if len(reading.parts) > 1:
        largest = max(reading.parts, key=lambda part: part.likely)
        parts.append(_("The largest part: {part}, {amount}.").format(
            part=_part_label(largest), amount=money_words(largest.likely, currency)
        ))  # fmt: skip
    days = [one for one in published_costs() if one.days_high is not None]
    most, least = max(one.days_high or 0 for one in days), min(one.days_low or 0 for one in days)
    parts.append(
        _(
            "The extra stay decides, and publications do not agree on it: from {least} to {most} days. Use the days "
            "that your own beds could really release."
        ).format(least=decimal_words(f"{least:g}") if least else _("none"), most=decimal_words(f"{most:g}"))
    )
    return " ".join(parts)


def _part_label(part: CostPart) -> str:
    labels: Mapping[str, str] = {
        "repeat_sets": _("repeat sets"), "workup": _("laboratory work-up"), "antibiotic_days": _("antibiotic days"),
        "bed_days": _("bed-days that could really be released"), EACH: input_label(EACH),
    }  # fmt: skip
    return labels[part.keys[0]]


def _figures(reading: CostReading) -> tuple[Figure, ...]:
    money, spread = reading.table.currency, reading.spread
    figures = [
        Figure(key="each", label=_("One contaminated set (model)"), value=reading.likely, unit=money,
               low=reading.ends[0], high=reading.ends[1], definition=_("all parts at their likely values; low and "
               "high: all of them at their ends")),
        Figure(key="each_mean", label=_("Mean of the runs (model)"), value=spread.mean, unit=money,
               low=spread.percentile(5), high=spread.percentile(95), level=LEVEL),
    ]  # fmt: skip
    figures += [
        Figure(key=f"part_{part.keys[0]}", label=_part_label(part), value=part.likely, unit=money, low=part.low,
               high=part.high)
        for part in reading.parts if part.keys != (EACH,)
    ]  # fmt: skip
    if reading.a_year is not None:
        figures.append(Figure(
            key="a_year", label=_("All contaminated sets of a year (model)"), value=reading.a_year, unit=money,
            low=reading.a_year_ends[0], high=reading.a_year_ends[1],
            definition=_("sets a year times contaminated share times the likely cost, low and high: times its ends; no "
                         "money that could be paid out"),
        ))  # fmt: skip
    return tuple(figures)


def _cautions() -> tuple[str, ...]:
    return (
        _("Marginal costs only: what would not have been spent. Charges are never added."),
        _("Bed-days that are freed save money only where the bed is closed or used for somebody else."),
        _("Publications are shown beside this to compare; none of them is a default."),
        _("Finance owns the cost inputs; what a contamination is, the charter says."),
    )


def _table(reading: CostReading) -> AnswerTable:
    rows: list[tuple[Cell, ...]] = [
        (
            _part_label(part), amount_cell(part.low), amount_cell(part.likely), amount_cell(part.high),
            _("here: {origins}").format(
                origins=", ".join(dict.fromkeys(origin_words(one.origin) for one in part.inputs))
            ),
        )
        for part in reading.parts
    ]  # fmt: skip
    low, high = reading.ends
    rows.append((_("together"), amount_cell(low), amount_cell(reading.likely), amount_cell(high), ""))
    return AnswerTable(
        title=_("One contaminated set, {currency}").format(currency=reading.table.currency),
        columns=(_("Part"), _("Low"), _("Likely"), _("High"), _("From")),
        rows=tuple(rows),
    )


def published_table() -> AnswerTable:
    """What is published, each with what it is, of when, what is in it and how it differs. Nothing is added up."""
    return AnswerTable(
        title=_("Published, to compare: not added, not converted, no default"),
        columns=(
            _("Study"), _("Amount"), _("What it is"), _("Money of"), _("Extra days"), _("Includes"),
            _("How it differs"),
        ),
        rows=tuple(_published_row(one) for one in published_costs()),
    )  # fmt: skip


def _published_row(one: PublishedCost) -> tuple[Cell, ...]:
    kinds = {"charge": _("charge (billed)"), "cost": _("cost"), "assumed": _("assumed"), "mixed": _("mixed")}
    amount = ""
    if one.low is not None and one.high is not None:
        amount = f"{_range(amount_words(one.low), amount_words(one.high))} {one.currency}"
    days = ""
    if one.days_low is not None and one.days_high is not None:
        days = _range(*(decimal_words(f"{value:g}") for value in (one.days_low, one.days_high)))
    return (one.study, amount, kinds[one.kind], one.year, days, one.includes, one.differs)


def _range(low: str, high: str) -> str:
    return low if low == high else _("{low} to {high}").format(low=low, high=high)
