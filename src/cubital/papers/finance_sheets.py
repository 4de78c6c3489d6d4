"""The sheets of finance's workbook that hold inputs, the likely result, break-evens and what moves it most."""

from __future__ import annotations

from typing import Any

from cubital.answers.worth_inputs import COVERED, RISK, SETS, input_label
from cubital.answers.worth_reading import OptionReading
from cubital.answers.worth_refusal import option_words
from cubital.answers.worth_tables import kind_words, origin_words
from cubital.domain.costs import CostInput, InputKind
from cubital.domain.words import _
from cubital.papers.finance_draft import MONEY, PLAIN, SHARE, Draft, Formula
from cubital.papers.finance_formulas import (
    averted_formula,
    even_formula,
    net_formula,
    now_formula,
    replaced,
    sum_formula,
)

_INPUT_ROW = 2


def write_inputs(draft: Draft) -> None:
    """Every input as it was given, and beside it in the money of one year."""
    headings = (
        _("name"), _("input"), _("choice"), _("low"), _("likely"), _("high"), _("unit"), _("kind"), _("from"),
        _("year"), _("price factor"), _("low, counted with"), _("likely, counted with"), _("high, counted with"),
        _("shape"), _("source"), _("given by"),
    )  # fmt: skip
    sheet = draft.sheet("Inputs", headings, (24, 40, 18, 11, 11, 11, 12, 14, 11, 8, 11, 14, 14, 14, 12, 40, 16))
    row = _INPUT_ROW
    for one in draft.table.inputs:
        _input_line(draft, sheet, row, one)
        row += 1
    for year, value in draft.table.index:
        draft.line(sheet, row, (f"index_{year}", _("price index"), "", None, value))
        draft.put(sheet, row, 8, kind_words(InputKind.RATIO))
        _index_end(draft, sheet, row, year)
        draft.name(f"index_{year}", sheet, row, 5)
        row += 1


def _index_end(draft: Draft, sheet: Any, row: int, year: int) -> None:
    """Year and source of a price index."""
    draft.put(sheet, row, 10, year)
    draft.put(sheet, row, 16, draft.table.index_source)


def _input_line(draft: Draft, sheet: Any, row: int, one: CostInput) -> None:
    code, form = draft.codes[one.name], SHARE if one.kind is InputKind.SHARE else PLAIN
    likely = f"E{row}"
    ends = [Formula(likely), Formula(likely)] if one.is_fixed else [one.low, one.high]
    draft.line(sheet, row, (code, input_label(one.key), one.option))
    for column, value in zip((4, 5, 6), (ends[0], one.likely, ends[1]), strict=True):
        draft.put(sheet, row, column, value, form)
    unit = one.currency if one.is_money else one.unit
    for column, text in enumerate((unit, kind_words(one.kind), origin_words(one.origin), one.year), start=7):
        draft.put(sheet, row, column, text)
    draft.put(sheet, row, 11, _factor(draft, one))
    for column, end in ((12, "low"), (13, "likely"), (14, "high")):
        draft.put(sheet, row, column, Formula(f"{'DEF'[column - 12]}{row}*K{row}"), form)
        draft.name(f"{code}_{end}", sheet, row, column)
    shape = "fixed" if one.is_fixed else one.shape.value
    for column, words in ((15, shape), (16, one.source), (17, one.given_by)):
        draft.put(sheet, row, column, words)


def _factor(draft: Draft, one: CostInput) -> Any:
    if not one.is_money or one.year == draft.table.money_year or one.year is None or not draft.table.index:
        return 1
    return Formula(f"index_{draft.table.money_year}/index_{one.year}")


def write_model(draft: Draft) -> None:
    """The result at the likely values, a column per option."""
    headings = [_("at the likely values: a model, not a measurement"), *draft.option_names()]
    sheet = draft.sheet("Model", headings, (58, *(22 for _one in draft.options)))
    labels = (
        ("now", _("contaminated sets a year now"), PLAIN),
        ("averted", _("contaminated sets averted a year"), PLAIN),
        ("rate_after", _("contaminated share of all sets with it"), "0.00%"),
        ("each", _("cost of one contaminated set"), MONEY), ("cost", _("programme cost a year"), MONEY),
        ("net", _("net benefit a year"), MONEY),
    )  # fmt: skip
    for row, (key, label, form) in enumerate(labels, start=2):
        draft.put(sheet, row, 1, label)
        for place, one in enumerate(draft.options, start=1):
            draft.put(sheet, row, 1 + place, Formula(_likely(draft, one, place, key)), form)
            draft.name(f"{key}_{place}", sheet, row, 1 + place)
    row = len(labels) + 3
    draft.line(sheet, row, (_("money of the year"), draft.table.money_year))
    draft.line(sheet, row + 1, (_("currency"), draft.currency))


def _likely(draft: Draft, one: OptionReading, place: int, key: str) -> str:
    structure, cell = one.model.structure, draft.cell_of(one.model.structure)
    return {
        "now": now_formula(cell),
        "averted": averted_formula(structure, cell),
        "rate_after": f"(now_{place}-averted_{place})/{cell(SETS)}",
        "each": sum_formula(structure.each, cell),
        "cost": sum_formula(structure.programme, cell),
        "net": f"averted_{place}*each_{place}-cost_{place}",
    }[key]


def write_break_even(draft: Draft) -> None:
    """Where each option breaks even, the low and the high cost, and the table of two inputs."""
    sheet = draft.sheet("Break-even", [_("a model, not a measurement"), *draft.option_names()],
                       (58, *(22 for _one in range(max(len(draft.options), 5)))))  # fmt: skip
    labels = (
        ("even_cost", _("breaks even where one contaminated set costs"), MONEY),
        ("even_averted", _("contaminated sets to avert at the likely cost"), "0.0"),
        ("even_risk", _("breaks even at a relative risk of"), "0.000"),
        ("even_covered", _("breaks even where it covers"), SHARE),
        ("each_low", _("cost of one contaminated set, all parts low"), MONEY),
        ("each_high", _("cost of one contaminated set, all parts high"), MONEY),
        ("net_low", _("net benefit where the cost is low"), MONEY),
        ("net_high", _("net benefit where the cost is high"), MONEY),
    )
    for row, (key, label, form) in enumerate(labels, start=2):
        draft.put(sheet, row, 1, label)
        for place, one in enumerate(draft.options, start=1):
            draft.put(sheet, row, 1 + place, Formula(_even(draft, one, place, key)), form)
            draft.name(f"{key}_{place}", sheet, row, 1 + place)
    row = len(labels) + 4
    for place, one in enumerate(draft.options, start=1):
        row = _grid(draft, sheet, row, place, one)


def _even(draft: Draft, one: OptionReading, place: int, key: str) -> str:
    structure, cell = one.model.structure, draft.cell_of(one.model.structure)
    low, high = (draft.cell_of(structure, end) for end in ("low", "high"))
    return {
        "even_cost": f'IFERROR(cost_{place}/averted_{place},"-")',
        "even_averted": f'IFERROR(cost_{place}/each_{place},"-")',
        "even_risk": even_formula(structure, cell, RISK),
        "even_covered": even_formula(structure, cell, COVERED),
        "each_low": sum_formula(structure.each, low),
        "each_high": sum_formula(structure.each, high),
        "net_low": f"averted_{place}*each_low_{place}-cost_{place}",
        "net_high": f"averted_{place}*each_high_{place}-cost_{place}",
    }[key]


def _grid(draft: Draft, sheet: Any, row: int, place: int, one: OptionReading) -> int:
    from openpyxl.utils import get_column_letter

    structure, cell = one.model.structure, draft.cell_of(one.model.structure)
    risk = cell(RISK).removesuffix("_likely")
    words = _("{option}: net benefit by relative risk (down) and cost of one contaminated set (across)")
    draft.put(sheet, row, 1, words.format(option=option_words(one.option)))
    for column, ends in enumerate(_steps(f"each_low_{place}", f"each_{place}", f"each_high_{place}"), start=2):
        draft.put(sheet, row, column, Formula(ends), MONEY)
    for down, ends in enumerate(_steps(f"{risk}_low", f"{risk}_likely", f"{risk}_high"), start=row + 1):
        draft.put(sheet, down, 1, Formula(ends), "0.000")
        for column in range(2, 7):
            letter = get_column_letter(column)
            formula = net_formula(structure, replaced(cell, {RISK: f"$A{down}"}), each=f"{letter}${row}")
            draft.put(sheet, down, column, Formula(formula), MONEY)
    return row + 7


def write_tornado(draft: Draft) -> None:
    """What each unsure input does alone; ordered as it was when the workbook was made, ranked live."""
    headings = (
        _("choice"), _("input"), _("name"), _("at its low end"), _("at its high end"), _("how far apart"),
        _("rank now"),
    )  # fmt: skip
    sheet = draft.sheet("Tornado", headings, (24, 40, 24, 16, 16, 16, 10))
    row = 2
    for one in draft.options:
        first, last = row, row + len(one.swings) - 1
        for swing in one.swings:
            _swing_line(draft, sheet, row, one, swing.key)
            draft.put(sheet, row, 7, Formula(f"RANK(F{row},$F${first}:$F${last})"))
            row += 1


def _swing_line(draft: Draft, sheet: Any, row: int, one: OptionReading, name: str) -> None:
    structure, cell = one.model.structure, draft.cell_of(one.model.structure)
    key = next(key for key, held in structure.names if held == name)
    code = draft.codes[name]
    draft.line(sheet, row, (option_words(one.option), input_label(key), code))
    for column, end in ((4, "low"), (5, "high")):
        formula = net_formula(structure, replaced(cell, {key: f"{code}_{end}"}))
        draft.put(sheet, row, column, Formula(formula), MONEY)
    draft.put(sheet, row, 6, Formula(f"ABS(E{row}-D{row})"), MONEY)


def _steps(low: str, likely: str, high: str) -> tuple[str, ...]:
    return low, f"({low}+{likely})/2", likely, f"({likely}+{high})/2", high
