"""The tables behind "is it worth it?": inputs with their sources, what moves it, break-evens, options side by side."""

from __future__ import annotations

from cubital.answers.worth_inputs import input_label
from cubital.answers.worth_picture import swing_labels
from cubital.answers.worth_reading import OptionReading, WorthReading
from cubital.answers.worth_refusal import option_words
from cubital.answers.worth_words import amount_words
from cubital.domain.answer import AnswerTable, Cell
from cubital.domain.costs import CostInput, CostTable, InputKind, Origin
from cubital.domain.words import _, decimal_words, share_words


def kind_words(kind: InputKind) -> str:
    """The kind of a value as a person calls it."""
    return {
        InputKind.COST: _("cost"), InputKind.CHARGE: _("charge (billed)"), InputKind.PRICE: _("price"),
        InputKind.WAGE: _("wage"), InputKind.COUNT: _("count"), InputKind.SHARE: _("share"),
        InputKind.RATIO: _("ratio"),
    }[kind]  # fmt: skip


def origin_words(origin: Origin) -> str:
    """Where a value is from, in one word."""
    return {Origin.LOCAL: _("local"), Origin.PUBLISHED: _("published"), Origin.ASSUMED: _("assumed")}[origin]


def value_words(one: CostInput, value: float) -> str:
    """A value of an input as it was given: a share with its per cent sign, anything else as a plain number."""
    if one.kind is InputKind.SHARE:
        return share_words(value, 2 if 0 < value < 0.1 and round(value, 3) != round(value, 4) else 1)
    if value >= 1000 or float(value).is_integer():
        return amount_words(value)
    return decimal_words(f"{value:.3g}")


def inputs_table(table: CostTable) -> AnswerTable:
    """Every input as it was given, with what it is, whose it is and where it is from."""
    rows: list[tuple[Cell, ...]] = []
    for one in table.inputs:
        label = (
            f"{input_label(one.key)} ({one.option})" if one.option and len(table.options) > 1 else input_label(one.key)
        )
        ends = ("", "") if one.is_fixed else (value_words(one, one.low), value_words(one, one.high))
        money = f"{one.currency} {one.year}" if one.is_money else one.unit
        rows.append((
            label, ends[0], value_words(one, one.likely), ends[1], money, kind_words(one.kind),
            origin_words(one.origin), "; ".join(part for part in (one.source, one.given_by) if part),
        ))  # fmt: skip
    for year, value in table.index:
        rows.append((
            _("price index {year}").format(year=year), "", decimal_words(f"{value:g}"), "", "",
            kind_words(InputKind.RATIO), "", table.index_source,
        ))  # fmt: skip
    return AnswerTable(
        title=_("What went in"),
        columns=(
            _("Input"), _("Low"), _("Likely"), _("High"), _("Unit"), _("Kind"), _("From"), _("Source, given by"),
        ),
        rows=tuple(rows),
    )  # fmt: skip


def swings_table(reading: WorthReading, one: OptionReading) -> AnswerTable:
    """What each input does alone, the widest first, and what knowing it exactly would be worth."""
    labels, knowing = swing_labels(reading), dict(reading.knowing)
    return AnswerTable(
        title=_("What moves the result most, {currency} a year").format(currency=reading.table.currency),
        columns=(_("Input"), _("At its low end"), _("At its high end"), _("Knowing it exactly is worth")),
        rows=tuple(
            (labels[s.key], amount_cell(s.at_low), amount_cell(s.at_high), amount_cell(knowing.get(s.key, 0.0)))
            for s in one.swings
        ),
    )


def grid_table(reading: WorthReading, one: OptionReading) -> AnswerTable:
    """Net benefit over relative risk and cost of one contaminated set; a row per relative risk."""
    currency = reading.table.currency
    return AnswerTable(
        title=_("Net benefit a year ({currency}) by relative risk and by what one contaminated set costs").format(
            currency=currency
        ),
        columns=(_("Relative risk"), *(amount_words(cost) for cost in one.grid.costs)),
        rows=tuple(
            (decimal_words(f"{risk:.2f}"), *(amount_cell(net) for net in row))
            for risk, row in zip(one.grid.risks, one.grid.net, strict=True)
        ),
    )


def accepts_table(reading: WorthReading, one: OptionReading) -> AnswerTable:
    """The share of runs in which the programme pays, by what one contaminated set costs."""
    cost = _("One contaminated set costs ({currency})").format(currency=reading.table.currency)
    return AnswerTable(
        title=_("How often it pays, by what one contaminated set costs"),
        columns=(cost, _("Pays in, of 100 runs")),
        rows=tuple((amount_cell(cost), round(100 * share)) for cost, share in one.accepts),
    )


def options_table(reading: WorthReading) -> AnswerTable:
    """Doing nothing and every option side by side; a mean, and how often it is best in the same runs."""
    rows: list[tuple[Cell, ...]] = [(_("doing nothing"), 0, 0, 0, 0, "", round(100 * reading.best[0]))]
    for one, best in zip(reading.options, reading.best[1:], strict=True):
        ends = [amount_words(one.spread.percentile(percent)) for percent in (5, 95)]
        rows.append((
            option_words(one.option), amount_cell(one.cost), round(one.averted, 1), amount_cell(one.net),
            amount_cell(one.spread.mean), _("{low} to {high}").format(low=ends[0], high=ends[1]), round(100 * best),
        ))  # fmt: skip
    return AnswerTable(
        title=_("Side by side, a model, {currency} a year").format(currency=reading.table.currency),
        columns=(
            _("Choice"), _("Costs"), _("Sets averted"), _("Net, likely"), _("Net, mean"), _("90 of 100 runs"),
            _("Best in, of 100"),
        ),
        rows=tuple(rows),
    )  # fmt: skip


def amount_cell(value: float) -> int | float:
    """An amount as a cell: whole from 100 on, with its hundredths below."""
    return round(value) if abs(value) >= 100 or abs(value - round(value)) < 0.005 else round(value, 2)
