"""P10, the business case: two pages that can be read alone, then every input with its source and what is published."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from cubital.answers.contamination_cost import published_table
from cubital.answers.palette import recolour_picture
from cubital.answers.worth_reading import WorthReading
from cubital.answers.worth_refusal import option_words
from cubital.answers.worth_tables import accepts_table, grid_table, inputs_table, options_table
from cubital.answers.worth_words import amount_words, count_words, money_words, pilot_words
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words, decimal_words, share_words
from cubital.papers.figure_words import unbroken
from cubital.papers.pictures import render_svg
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset
from cubital.papers.unit_page import PAPER_COLOURS

PICTURE_WIDTH = 560
# Points of the text, height of a bar in the picture, pages in all; the first that fits is taken.
LAYOUTS = ((11, 46, 3), (10.5, 40, 3), (10, 34, 3), (9.5, 30, 3), (9, 26, 3), (9, 26, 4), (8.5, 22, 4), (8, 20, 6))
_FIGURES = ("contaminated_now", "averted", "rate_now", "rate_after", "programme_cost", "cost_each", "net_likely",
            "net_benefit", "pays", "net_low_cost")  # fmt: skip
_EVEN = ("even_cost", "even_averted", "even_risk", "even_covered")


@dataclass(frozen=True, kw_only=True)
class BusinessCase:
    """What the paper is made of. ``receipt`` is the line that says how to compute the answer again."""

    answer: Answer
    reading: WorthReading
    receipt: str
    made_on: date


def print_business_case(case: BusinessCase, *, paper: PaperSize = PaperSize.A4) -> bytes:
    """The paper as PDF: two pages, and the tables from the third on. ``RequestProblem`` where no layout fits."""
    for size, bar, pages in LAYOUTS:
        try:
            return typeset(_sheet(case, size=size, bar=bar, pages=pages, paper=paper))
        except PageTooLong:
            continue
    raise RequestProblem(
        _("the names and sources on this paper are too long for two pages and a table."),
        fix=_("Shorten them, then print again."),
    )


def _sheet(case: BusinessCase, *, size: float, bar: int, pages: int, paper: PaperSize) -> Sheet:
    picture: dict[str, Any] = dict(recolour_picture(case.answer.picture, PAPER_COLOURS))
    picture.pop("title", None)
    height = 70 + bar * len(picture["data"]["values"]) if picture else 0
    drawn = {"picture": render_svg(picture, width=PICTURE_WIDTH, height=height)} if picture else {}
    return Sheet(
        template="worth", title=_heading(case), data=_words(case, size=size, pages=pages, has_picture=bool(drawn)),
        made_on=case.made_on, paper=paper, pictures=drawn,
    )  # fmt: skip


def _heading(case: BusinessCase) -> str:
    return _("Business case: {option}").format(option=option_words(case.reading.first.option))


def _words(case: BusinessCase, *, size: float, pages: int, has_picture: bool) -> dict[str, Any]:
    reading, first = case.reading, case.reading.first
    return {
        "size": size, "pages": pages, "heading": _heading(case), "model": _("A model, not a measurement"),
        "sentence": unbroken(_without_model(case.answer.sentence)),
        "figures": _figure_table(case, _FIGURES, _("In numbers")), "picture": has_picture,
        "moves": _("What moves the result most"),
        "picture_words": _("One bar per input, from its low to its high end. {sentence}").format(
            sentence=case.answer.sentence
        ),
        "picture_note": _(
            "Net benefit a year ({currency}) with one input at its low or high end, the others likely."
        ).format(currency=reading.table.currency),
        "even": _figure_table(case, _EVEN, _("Where it breaks even"), ranged=False),
        "grid": _plain(grid_table(reading, first)),
        "grid_note": _("Below 0 it loses. The other inputs stand at their likely values."),
        "accepts": _plain(accepts_table(reading, first)), "options": _plain(options_table(reading)),
        "pilot_title": _("A pilot with a stop rule"),
        "pilot": unbroken(pilot_words(first) or _("No count within half a year could tell whether it pays.")),
        "counted_title": _("What is counted"), "counted": [unbroken(words) for words in _definitions()],
        "limits_title": _("Keep in mind"),
        "limits": [unbroken(words) for words in case.answer.cautions if words != pilot_words(first)],
        "decision_title": _("Decision"), "choices": [_("pilot"), _("fund"), _("not now")],
        "signed": [_("Name and role"), _("Day")],
        "inputs": _plain(inputs_table(reading.table)), "published": _plain(published_table()),
        "foot": _("{heading} · a model, not a measurement · printed {day}").format(
            heading=_heading(case), day=day_words(case.made_on)
        ),
        "receipt": _receipt_line(case),
    }  # fmt: skip


def _without_model(sentence: str) -> str:
    """The box above says that it is a model; the sentence begins with what comes after."""
    return sentence.removeprefix(_("A model, not a measurement.")).strip()


def _figure_table(case: BusinessCase, keys: tuple[str, ...], title: str, *, ranged: bool = True) -> dict[str, Any]:
    found = {figure.key: figure for figure in case.answer.figures}
    currency = case.reading.table.currency
    rows = [_figure_row(found[key], currency)[: 3 if ranged else 2] for key in keys if key in found]
    return {"title": title, "columns": [_("Figure"), _("Value"), _("Range")][: 3 if ranged else 2], "rows": rows}


def _figure_row(figure: Figure, currency: str) -> list[str]:
    if figure.value is None:
        return [figure.label, figure.note, ""]
    spread = ""
    if figure.low is not None and figure.high is not None:
        low, high = (_value(figure, end, currency) for end in (figure.low, figure.high))
        spread = _("{low} to {high}").format(low=low.removesuffix(f" {figure.unit}").removesuffix(" %"), high=high)
    return [figure.label, unbroken(_value(figure, figure.value, currency)), unbroken(spread)]


def _value(figure: Figure, value: float, currency: str) -> str:
    if figure.unit == currency:
        return money_words(value, currency)
    if figure.unit == "proportion":
        return share_words(value, 2 if figure.key.startswith("rate_") else 0 if figure.key == "pays" else 1)
    return decimal_words(f"{value:.2f}") if not figure.unit else f"{count_words(value)} {figure.unit}"


def _definitions() -> tuple[str, ...]:
    return (
        _("Averted: sets a year, times the share of draws covered, times their contaminated share, times 1 minus the "
          "relative risk."),
        _("Net benefit: averted times the cost of one contaminated set, minus the programme's cost; all in money of "
          "one year."),
        _("Runs: every unsure input is drawn from its range again and again, by itself."),
        _("Contaminated: as the charter in force says; only counted sets."),
    )  # fmt: skip


def _plain(table: AnswerTable) -> dict[str, Any]:
    return {
        "title": table.title,
        "columns": list(table.columns),
        "rows": [[_cell(cell) for cell in row] for row in table.rows],
    }


def _cell(cell: Cell) -> str:
    if cell is None:
        return ""
    return unbroken(cell) if isinstance(cell, str) else amount_words(cell)


def _receipt_line(case: BusinessCase) -> str:
    receipt = case.answer.receipt
    parts = [case.receipt]
    if receipt:
        parts += [receipt.data, receipt.charter, receipt.policy, _("Cubital {version}").format(version=receipt.code)]
    return " · ".join(part for part in parts if part)
