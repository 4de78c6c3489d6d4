"""The workbook for finance: inputs with their sources, and everything else as live formulas over them.

Finance does not trust a number that it cannot change. The codebook says of every sheet whether it is live; the only
numbers that are not are the inputs, the random chances behind the draws, and what Cubital itself had computed.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import date, datetime

from cubital.answers.worth_reading import WorthReading
from cubital.domain.answer import Answer
from cubital.domain.words import _, day_words, grouped_words
from cubital.papers.finance_draft import Draft
from cubital.papers.finance_draws import DRAW_ROWS, write_chance, write_draws
from cubital.papers.finance_sheets import write_break_even, write_inputs, write_model, write_tornado


@dataclass(frozen=True, kw_only=True)
class FinancePaper:
    """What the workbook is made of. ``receipt`` is the line that says how to compute the answer again."""

    answer: Answer
    reading: WorthReading
    receipt: str
    made_on: date


def build_finance_workbook(paper: FinancePaper) -> bytes:
    """The workbook as bytes. Formulas carry no results: the program that opens it computes them."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    book.properties.created = book.properties.modified = datetime(2000, 1, 1)  # noqa: DTZ001 - the day is inside
    book.calculation.fullCalcOnLoad = True
    draft = Draft(book, paper.reading)
    for write in (write_inputs, write_model, write_break_even, write_tornado, write_draws, write_chance):
        write(draft)
    _write_codebook(draft, paper)
    packed = io.BytesIO()
    book.save(packed)
    return packed.getvalue()


def _write_codebook(draft: Draft, paper: FinancePaper) -> None:
    """What stands where, and what of it is live."""
    sheet = draft.sheet("Codebook", (_("sheet"), _("what it holds"), _("live or value")), (14, 100, 34))
    live, value = _("live"), _("value")
    lines = [
        ("", paper.answer.sentence, value),
        ("", _("Everything here is a model: what is averted and saved has not been measured."), ""),
        ("Inputs", _("Columns D to F are the inputs: change them and all else follows. K to N are live."), value),
        ("Inputs", _("A fixed input has no range; low and high follow its likely value. No value is a default."), ""),
        ("Inputs", _("Ranges of the shapes beta, gamma and lognormal are read as the middle 95 of 100, the likely "
                     "value as their mean."), ""),
        ("Model", _("The result at the likely values."), live),
        ("Break-even", _("Break-evens, the low and high cost, and net benefit over two inputs."), live),
        ("Tornado", _("Net benefit with one input at its low or high end, the others likely."),
         _("live; the order is that of the day it was made")),
        ("Draws", _("{count} draws. The columns chance_... are random numbers and stay as they are.").format(
            count=grouped_words(DRAW_ROWS)), _("live but for the chances")),
        ("Chance", _("How often it pays and how far results spread, over the draws; beside it what Cubital found."),
         _("live; the columns named value are not")),
        *((code, words, "") for code, words in _definitions()),
        ("", _("Made {day}. {receipt}").format(day=day_words(paper.made_on), receipt=paper.receipt), value),
        ("", _("Opened in protected view the sheets look empty: allow editing, and they are computed."), ""),
    ]  # fmt: skip
    lines += [("", words, "") for words in paper.answer.cautions]
    for row, cells in enumerate(lines, start=2):
        draft.line(sheet, row, cells)


def _definitions() -> tuple[tuple[str, str], ...]:
    return (
        ("averted", _("sets a year × share covered × contaminated share × (1 − relative risk)")),
        ("net", _("averted × cost of one contaminated set − programme cost")),
        ("Inputs", _("Hours in which no culture is due are not counted as a saving.")),
    )
