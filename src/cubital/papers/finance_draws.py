"""The sheets of finance's workbook that hold draws and what they say: live over random chances that are values."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cubital.answers.worth_inputs import input_label
from cubital.answers.worth_reading import OptionReading, WorthReading
from cubital.answers.worth_refusal import option_words
from cubital.domain.costs import CostInput
from cubital.domain.words import _, grouped_words
from cubital.papers.finance_draft import MONEY, SHARE, Draft, Formula
from cubital.papers.finance_formulas import averted_formula, draw_formula, sum_formula
from cubital.stats.decision_model import stratified_chances

DRAW_ROWS = 2_000
DRAW_SEED = 20_260_103
FIRST_DRAW = 3  # rows above it: the codes of the columns and their words
PERCENTS = (5, 25, 50, 75, 95)


def workbook_chances(reading: WorthReading) -> NDArray[np.float64]:
    """The chances behind the workbook's draws: a row per draw, a column per unsure input in the reading's order."""
    unsure = [one for one in reading.inputs if not one.is_fixed]
    return stratified_chances(len(unsure), draws=DRAW_ROWS, seed=DRAW_SEED)


def write_draws(draft: Draft) -> None:
    """Random chances as values, and from each of them a live draw of every unsure input and of every result."""
    from openpyxl.utils import get_column_letter

    unsure = [one for one in draft.reading.inputs if not one.is_fixed]
    chances, size = workbook_chances(draft.reading), len(unsure)
    columns = {draft.codes[one.name]: get_column_letter(size + place) for place, one in enumerate(unsure, start=1)}
    codes = [f"chance_{code}" for code in columns] + list(columns)
    words = [_("chance (value)") for _one in unsure] + [input_label(one.key) for one in unsure]
    for place, one in enumerate(draft.options, start=1):
        codes += [f"averted_{place}", f"cost_{place}", f"net_{place}"]
        words += [f"{option_words(one.option)}: {text}" for text in (_("averted"), _("cost"), _("net benefit"))]
    sheet = draft.sheet("Draws", [*codes, "best"], [16] * (len(codes) + 1))
    draft.line(sheet, 2, [*words, _("best net benefit, doing nothing is 0")])
    draft.net_columns = [get_column_letter(2 * size + 3 * place) for place in range(1, len(draft.options) + 1)]
    draft.best_column = get_column_letter(len(codes) + 1)
    for place in range(DRAW_ROWS):
        _draw_line(draft, sheet, FIRST_DRAW + place, chances[place], unsure=unsure, columns=columns)


def _draw_line(
    draft: Draft, sheet: Any, row: int, chances: Any, *, unsure: list[CostInput], columns: dict[str, str]
) -> None:
    from openpyxl.utils import get_column_letter

    size = len(unsure)
    for place, (one, chance) in enumerate(zip(unsure, chances, strict=True), start=1):
        code = draft.codes[one.name]
        formula = draw_formula(
            one.shape, chance=f"{get_column_letter(place)}{row}", low=f"{code}_low", likely=f"{code}_likely",
            high=f"{code}_high",
        )  # fmt: skip
        sheet.cell(row=row, column=place, value=float(chance))
        sheet.cell(row=row, column=size + place, value=f"={formula}")
    nets = []
    for place, option in enumerate(draft.options, start=1):
        structure = option.model.structure
        likely = draft.cell_of(structure)
        cell = _drawn_cell(likely, columns, row)
        first = 2 * size + 3 * place - 2
        averted, cost = (f"{get_column_letter(first + step)}{row}" for step in (0, 1))
        sheet.cell(row=row, column=first, value=f"={averted_formula(structure, cell)}")
        sheet.cell(row=row, column=first + 1, value=f"={sum_formula(structure.programme, cell)}")
        net = f"{averted}*({sum_formula(structure.each, cell)})-{cost}"
        sheet.cell(row=row, column=first + 2, value=f"={net}")
        nets.append(f"{get_column_letter(first + 2)}{row}")
    sheet.cell(row=row, column=2 * size + 3 * len(draft.options) + 1, value=f"=MAX(0,{','.join(nets)})")


def write_chance(draft: Draft) -> None:
    """How often it pays: live over the draws, and beside it what Cubital found in many more."""
    names = [text for one in draft.option_names() for text in (
        _("{option}: live, {count} draws").format(option=one, count=grouped_words(DRAW_ROWS)),
        _("{option}: value from {count} runs in Cubital").format(option=one, count=grouped_words(draft.reading.draws)),
    )]  # fmt: skip
    sheet = draft.sheet("Chance", [_("a model, not a measurement"), *names], (44, *(34 for _name in names)))
    last = FIRST_DRAW + DRAW_ROWS - 1
    rows = ["pays", "mean", *(f"p{percent}" for percent in PERCENTS)]
    labels = [_("pays in (net benefit above 0)"), _("mean net benefit a year"),
              *(_("{percent} of 100 draws lie below").format(percent=percent) for percent in PERCENTS)]  # fmt: skip
    for row, (key, label) in enumerate(zip(rows, labels, strict=True), start=2):
        draft.put(sheet, row, 1, label)
        for place, (one, column) in enumerate(zip(draft.options, draft.net_columns, strict=True), start=1):
            where = f"Draws!${column}${FIRST_DRAW}:${column}${last}"
            form = SHARE if key == "pays" else MONEY
            draft.put(sheet, row, 2 * place, Formula(_chance_formula(key, where)), form)
            draft.put(sheet, row, 2 * place + 1, _chance_value(one, key), form)
            draft.name(f"{key}_{place}", sheet, row, 2 * place)
    row = len(rows) + 3
    means = ",".join(f"mean_{place}" for place in range(1, len(draft.options) + 1))
    best = f"Draws!${draft.best_column}${FIRST_DRAW}:${draft.best_column}${last}"
    draft.put(sheet, row, 1, _("knowing everything exactly would be worth, a year"))
    draft.put(sheet, row, 2, Formula(f"AVERAGE({best})-MAX(0,{means})"), MONEY)
    draft.put(sheet, row, 3, draft.reading.knowing_all, MONEY)
    draft.name("knowing_all", sheet, row, 2)


def _drawn_cell(likely: Callable[[str], str], columns: dict[str, str], row: int) -> Callable[[str], str]:
    def cell(key: str) -> str:
        name = likely(key)
        column = columns.get(name.removesuffix("_likely"))
        return f"${column}{row}" if column else name

    return cell


def _chance_formula(key: str, where: str) -> str:
    if key == "pays":
        return f'COUNTIF({where},">0")/COUNT({where})'
    return f"AVERAGE({where})" if key == "mean" else f"PERCENTILE({where},{int(key[1:]) / 100})"


def _chance_value(one: OptionReading, key: str) -> float:
    if key == "pays":
        return one.spread.above_zero
    return one.spread.mean if key == "mean" else one.spread.percentile(float(key[1:]))
