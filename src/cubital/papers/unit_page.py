"""The one-pager of a unit's month: for the staff room and the manager, readable from across the room."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from cubital.answers.palette import recolour_picture
from cubital.domain.answer import Answer, AnswerTable, Figure, Verdict
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words, month_words, ngettext
from cubital.papers.figure_words import count_words, interval_words, unbroken, value_words
from cubital.papers.highlights import Highlights
from cubital.papers.pictures import render_svg
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

PICTURE_WIDTH = 560  # pixels over the width of the page: 12 pixels of a picture come out near 10 points
SAID_BY_CAUTIONS = frozenset({"preliminary", "unread"})  # checks whose finding is a caution of the answer as well
PAPER_COLOURS = {"paper": "#ffffff", "ink": "#1f1f1f", "muted": "#5f5f5f", "band": "#e4e4e4", "accent": "#1f1f1f"}
MOST_MARKS = 4  # changes of the diary in words; a wall has no room for more
# What a staff room needs beside the sentence, in this order; the page of the month has the rest.
BESIDE = (
    "contamination", "to_adjudicate", "solitary_by_episode", "bottles_complete", "positivity", "minutes_to_receipt",
    "collector_known", "fill_median", "use_rate",
)  # fmt: skip
# At two metres a letter of 5.8 mm spans ten minutes of arc, twice what normal sight needs (the definition of
# 20/40 on a sight chart, from memory); capitals of this type are 0.668 of its size, so 24 points come to 5.7 mm.
TWO_METRES_POINTS = 24


@dataclass(frozen=True)
class Layout:
    """One way to fill the page: points for sentence, place and cards, height of the picture, cautions shown."""

    sentence: int
    place: int
    card: float
    picture: int
    cautions: int


# Below some 190 pixels the labels at the chart's right edge begin to touch.
LAYOUTS = (
    Layout(36, 24, 12, 320, 6),
    Layout(30, 22, 11, 300, 6),
    Layout(27, 22, 11, 270, 6),
    Layout(24, 20, 10.5, 240, 6),
    Layout(24, 18, 10, 210, 4),
    Layout(21, 16, 10, 200, 3),
    Layout(18, 14, 9.5, 190, 3),
    Layout(15, 12, 9, 190, 2),
    Layout(12, 11, 9, 190, 2),
)


@dataclass(frozen=True, kw_only=True)
class UnitPage:
    """What stands on the page. ``counted`` is the line under the sentence, ``definition`` the footnote in words.

    ``kept`` says how to compute the figures again, empty where nothing was kept.
    """

    answer: Answer
    place: str
    month: str
    counted: str
    definition: str
    highlights: Highlights
    made_on: date
    kept: str = ""


def print_unit_page(page: UnitPage, *, paper: PaperSize = PaperSize.A4) -> bytes:
    """The page as PDF, exactly one page: the largest sentence that fits, never a shortened one.

    A refusal is printed as one: its word, its sentence, what is missing. ``RequestProblem`` where the words are too
    many for any layout.
    """
    for layout in LAYOUTS:
        try:
            return typeset(_sheet(page, layout, paper))
        except PageTooLong:
            continue
    raise RequestProblem(
        _("the sentence and the names on this page are too long for one sheet ({count} letters).").format(
            count=len(page.answer.sentence) + len(page.place)
        ),
        fix=_("Shorten the unit's name under Files, then print again."),
    )


def _sheet(page: UnitPage, layout: Layout, paper: PaperSize) -> Sheet:
    picture = recolour_picture(page.answer.picture, PAPER_COLOURS)
    picture.pop("title", None)  # on paper the sentence above is the title
    drawn = {"picture": render_svg(picture, width=PICTURE_WIDTH, height=layout.picture)} if picture else {}
    return Sheet(
        template="unit",
        title=f"{page.place} – {month_words(page.month, with_year=True)}",
        data=_page_words(page, layout, has_picture=bool(drawn)),
        made_on=page.made_on,
        paper=paper,
        pictures=drawn,
    )


def _page_words(page: UnitPage, layout: Layout, *, has_picture: bool) -> dict[str, Any]:
    answer = page.answer
    return {
        "layout": {"sentence": layout.sentence, "place": layout.place, "card": layout.card},
        "place": page.place,
        "month": month_words(page.month, with_year=True),
        "verdict": verdict_words(answer.verdict),
        "loud": answer.verdict is Verdict.SIGNAL,
        "sentence": unbroken(answer.sentence),
        "counted": unbroken(" · ".join(part for part in (page.counted, _checked_words(answer)) if part)),
        "picture": has_picture,
        "picture_words": _picture_words(answer),
        "marks": _mark_rows(answer) if has_picture else [],
        "beside_head": [_("Beside it"), _("This month"), _("Counts"), _("Likely range")],
        "beside": [_figure_row(figure) for figure in beside(answer)],
        "strength_title": _("Going well"),
        "strength": unbroken(page.highlights.strength),
        "focus_title": _("This month's focus"),
        "focus": unbroken(page.highlights.focus),
        "focus_by_hand": page.highlights.by_hand,
        "cautions_title": _("Keep in mind"),
        "cautions": [unbroken(words) for words in _cautions(_all_cautions(answer), layout.cautions)],
        "definition": page.definition,
        "receipt": _receipt_words(page),
    }


def verdict_words(verdict: Verdict) -> str:
    """The verdict as the two or three words over the sentence."""
    return {
        Verdict.SIGNAL: _("Signal"),
        Verdict.WITHIN_VARIATION: _("Within usual variation"),
        Verdict.TOO_FEW: _("Too few to say"),
        Verdict.NOT_IDENTIFIABLE: _("Cannot be told apart"),
        Verdict.REFUSED: _("No answer yet"),
        Verdict.ESTIMATE: _("Estimate"),
    }[verdict]


def beside(answer: Answer) -> tuple[Figure, ...]:
    """The figures of the answer that stand on the page; the first nine where it knows none of the usual ones."""
    found = {figure.key: figure for figure in answer.figures}
    usual = tuple(found[key] for key in BESIDE if key in found)
    return usual or answer.figures[: len(BESIDE)]


def _figure_row(figure: Figure) -> dict[str, Any]:
    if figure.value is None:
        return {"label": figure.label, "note": figure.note or _("not measurable")}
    cells = [value_words(figure), count_words(figure), interval_words(figure)]
    return {"label": figure.label, "note": "", "cells": [unbroken(cell) for cell in cells]}


def _checked_words(answer: Answer) -> str:
    """The first check passed in its own words and the number of the others; the rest are cautions."""
    passed = [check.words for check in answer.checks if check.passed]
    if not passed:
        return ""
    first = _("Checked first: {words}").format(words=passed[0])
    if len(passed) == 1:
        return first
    more = ngettext(
        "{count} further check of the data passed.", "{count} further checks of the data passed.", len(passed) - 1
    )
    return f"{first} {more.format(count=len(passed) - 1)}"


def _all_cautions(answer: Answer) -> tuple[str, ...]:
    failed = [c for c in answer.checks if c.passed is False and c.key not in SAID_BY_CAUTIONS]
    unmade = [_("Not checked: {words}").format(words=c.words) for c in answer.checks if c.passed is None]
    return (*(check.words for check in failed), *answer.cautions, *unmade)


def _cautions(cautions: tuple[str, ...], most: int) -> list[str]:
    if len(cautions) <= most:
        return list(cautions)
    left = len(cautions) - (most - 1)
    more = ngettext(
        "{count} further caution stands on this month's page.",
        "{count} further cautions stand on this month's page.",
        left,
    )
    return [*cautions[: most - 1], more.format(count=left)]


def _picture_words(answer: Answer) -> str:
    table: AnswerTable | None = answer.table
    seen = _("The table behind it: {title}.").format(title=table.title) if table else ""
    marks = "; ".join(f"{mark.letter} {mark.words}" for mark in answer.marks)
    marked = _("Letters over the months: {marks}.").format(marks=marks) if marks else ""
    return " ".join(part for part in (_("Chart over the months."), answer.sentence, marked, seen) if part)


def _mark_rows(answer: Answer) -> list[list[str]]:
    """The letters of the picture with their words: the latest, and how many more there are."""
    rows = [[mark.letter, unbroken(mark.words)] for mark in answer.marks]
    left = len(rows) - MOST_MARKS
    if left <= 0:
        return rows
    more = ngettext(
        "{count} earlier change stands in the diary.", "{count} earlier changes stand in the diary.", left
    ).format(count=left)
    return [*rows[left:], ["", more]]


def _receipt_words(page: UnitPage) -> str:
    receipt = page.answer.receipt
    parts = [_("Printed {day}").format(day=day_words(page.made_on))]
    if receipt:
        parts += [receipt.data, receipt.charter, receipt.policy, _("Cubital {version}").format(version=receipt.code)]
    parts.append(page.kept)
    return " · ".join(part for part in parts if part)
