"""P6, the committee's pack: six pages from the same answers as the screens, kept as plain data, printed again at will.

Message, chart, drivers, actions, data quality, ask. Contamination never stands alone; units only, never a person.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from cubital.answers.palette import recolour_picture
from cubital.answers.span_words import span_words
from cubital.domain.answer import Answer, AnswerTable, Figure
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, choose_language, current_language, day_words, ngettext
from cubital.papers.figure_words import count_words, interval_words, value_words
from cubital.papers.pack_blocks import (
    Block,
    boxed_block,
    gap_block,
    heading_block,
    lines_block,
    list_block,
    picture_block,
    sentence_block,
    small_block,
    table_block,
    text_block,
    verdict_block,
)
from cubital.papers.pictures import render_svg
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset
from cubital.papers.unit_page import PAPER_COLOURS

PAGES = 6
PICTURE_WIDTH = 640
COMPANY = (
    "contamination", "to_adjudicate", "solitary_by_episode", "bottles_complete", "fill_median", "positivity",
    "use_rate", "minutes_to_receipt", "receipt_very_late", "collector_known", "year_before", "baseline",
)  # fmt: skip
BESIDE_MESSAGE = ("solitary_by_episode", "bottles_complete", "fill_median", "positivity", "use_rate")
WHOLE_TABLE = 26  # more units than this are set in two narrow tables, counts and shares alone
MOST_ROWS = 64
MOST_ACTIONS = 14
MOST_RESTATED = 12
MOST_CAUTIONS = 4
MOST_MARKS = 8


@dataclass(frozen=True)
class Layout:
    """One way to fill the pages: points of type, of the rows' air, and the height of the picture in pixels."""

    sentence: float
    said: float
    text: float
    table: float
    row: float
    picture: int


LAYOUTS = (
    Layout(24, 14, 10.5, 9.5, 3.0, 330),
    Layout(21, 13, 10, 9, 2.6, 300),
    Layout(18, 12.5, 9.5, 8.5, 2.2, 270),
    Layout(16, 12, 9, 8, 1.8, 240),
    Layout(15, 11.5, 9, 7.5, 1.2, 220),
    Layout(14, 11, 8.5, 7, 0.8, 200),
)


@dataclass(frozen=True, kw_only=True)
class PackContent:
    """What is put on the pages. ``message`` is the educator's own line, empty where the sentence says it all; ``ask``
    what the committee is asked to decide. ``files`` accounts for the files, ``times`` says how far clocks are trusted.
    ``definition`` and ``receipts`` are lines.
    """

    number: int
    place: str
    from_month: str
    to_month: str
    made_on: date
    message: str
    ask: str
    quarter: Answer
    units: Answer
    hours: Answer
    actions: Answer
    restated: Answer
    files: AnswerTable
    files_words: str
    times: tuple[str, ...]
    receipts: tuple[str, ...]


def build_pack(content: PackContent) -> dict[str, Any]:
    """The whole pack as plain data: language, day, words of every page, the picture's specification."""
    return {
        "language": current_language(),
        "made_on": content.made_on.isoformat(),
        "title": pack_title(content),
        "heading": pack_title(content),
        "foot": _("Pack {number} · made {day} · units only, no persons · for counting, never a diagnosis").format(
            number=content.number, day=day_words(content.made_on)
        ),
        "pages": [
            {"title": _("1 · The message"), "blocks": _message(content)},
            {"title": _("2 · The chart, and what stands beside it"), "blocks": _chart(content)},
            {"title": _("3 · Where and when"), "blocks": _drivers(content)},
            {"title": _("4 · Actions"), "blocks": _actions(content)},
            {"title": _("5 · How good the data are"), "blocks": _quality(content)},
            {"title": _("6 · The ask, and how everything was counted"), "blocks": _ask(content)},
        ],
        "picture": dict(content.quarter.picture),
    }


def print_pack_page(said: Mapping[str, Any], *, paper: PaperSize = PaperSize.A4) -> bytes:
    """A pack that was built, as PDF of six pages, in the language in which it was built.

    ``RequestProblem`` where the words are too many for six pages even in the smallest type.
    """
    before = current_language()
    choose_language(said["language"])
    try:
        for layout in LAYOUTS:
            try:
                return typeset(_sheet(said, layout, paper))
            except PageTooLong:
                continue
    finally:
        choose_language(before)
    raise _too_long()


def check_fits(said: Mapping[str, Any]) -> None:
    """Makes sure that a pack in the current language comes to six pages on every paper; errors as for printing."""
    for paper in PaperSize:
        try:
            typeset(_sheet(said, LAYOUTS[-1], paper))
        except PageTooLong:
            raise _too_long() from None


def _too_long() -> RequestProblem:
    return RequestProblem(
        _("the words of this pack are too many for six pages."),
        fix=_("Shorten the message, the ask, or the names of units under Files."),
    )


def pack_title(content: PackContent) -> str:
    """``Blood cultures, Marrowby: January to March 2026``."""
    return _("Blood cultures, {place}: {span}").format(
        place=content.place, span=span_words(content.from_month, content.to_month)
    )


def _sheet(said: Mapping[str, Any], layout: Layout, paper: PaperSize) -> Sheet:
    picture = recolour_picture(said["picture"], PAPER_COLOURS)
    picture.pop("title", None)  # on paper the sentence above is the title
    drawn = {"picture": render_svg(picture, width=PICTURE_WIDTH, height=layout.picture)} if picture else {}
    data = {name: said[name] for name in ("heading", "foot", "pages")}
    return Sheet(
        template="pack", title=said["title"], data={**data, "layout": vars(layout)},
        made_on=date.fromisoformat(said["made_on"]), paper=paper, pictures=drawn,
    )  # fmt: skip


def _message(content: PackContent) -> list[Block]:
    quarter = content.quarter
    own = [heading_block(_("In the educator's words")), text_block(content.message)] if content.message else []
    return [
        verdict_block(quarter.verdict),
        sentence_block(quarter.sentence, big=True),
        text_block(beside_words(quarter)),
        *own,
        boxed_block(
            _("The ask"), content.ask, choices=(_("agreed"), _("agreed with changes"), _("not agreed"), _("later"))
        ),
        gap_block(),
        small_block(_(
            "Rates describe how blood was collected; no class here is a diagnosis, and medical microbiology decides "
            "what a growth means. The other pages: 2 chart, 3 units and hours, 4 actions, 5 data, 6 definitions."
        )),
    ]  # fmt: skip


def beside_words(answer: Answer) -> str:
    """What never leaves the rate's side, in one line: each with its value, or why it has none."""
    found = {figure.key: figure for figure in answer.figures}
    parts = [
        _("{label} {value}").format(label=found[key].label.casefold(), value=_said_value(found[key]))
        for key in BESIDE_MESSAGE
        if key in found
    ]
    return _("Beside it: {parts}.").format(parts="; ".join(parts)) if parts else ""


def _said_value(figure: Figure) -> str:
    if figure.value is None:
        return f"– ({figure.note})" if figure.note else "–"
    counts = count_words(figure)
    return f"{value_words(figure)} ({counts})" if counts else value_words(figure)


def _chart(content: PackContent) -> list[Block]:
    quarter = content.quarter
    drawn = bool(quarter.picture)
    words = str(quarter.picture.get("description", "")) if drawn else ""
    against = quarter.cautions[:1] if drawn else ()
    shown = [sentence_block(words), picture_block(words), *(text_block(one) for one in against)]
    missing = text_block(_("There is no chart: a month in it holds a count that may not be shown to others."))
    return [
        *(shown if drawn else [missing]),
        *_marks(quarter),
        gap_block(),
        table_block(_company_table(quarter), widths=("1.3", "auto", "auto", "1.7")),
        gap_block(),
        small_block(_(
            "A programme that lowers contamination by dropping cultures, second sets or volume is a failure; that is "
            "why these figures stand together."
        )),
    ]  # fmt: skip


def _marks(answer: Answer) -> list[Block]:
    """The diary's changes that the letters over the months stand for."""
    if not answer.marks:
        return []
    shown = [f"{mark.letter} – {mark.words}" for mark in answer.marks[:MOST_MARKS]]
    left = len(answer.marks) - len(shown)
    more = [_("{count} more in the diary").format(count=left)] if left else []
    return [list_block((*shown, *more), title=_("Letters over the months are changes in the diary"))]


def _company_table(answer: Answer) -> AnswerTable:
    found = {figure.key: figure for figure in answer.figures}
    rows = tuple(
        (
            figure.label, value_words(figure), count_words(figure) or _plain_counts(figure),
            interval_words(figure) or (figure.note if figure.value is None else ""),
        )
        for figure in (found[key] for key in COMPANY if key in found)
    )  # fmt: skip
    return AnswerTable(
        title=_("Contamination and its company"),
        columns=(_("What"), _("Value"), _("Counts"), _("Likely range, or why there is none")),
        rows=rows,
    )


def _plain_counts(figure: Figure) -> str:
    return "" if figure.value is None or figure.unit != "sets" else _("sets")


def _drivers(content: PackContent) -> list[Block]:
    table = content.units.table
    return [
        sentence_block(content.units.sentence),
        *([_units_table(table)] if table is not None else []),
        *_more_units(table),
        heading_block(_("Hours")),
        text_block(content.hours.sentence),
        *([table_block(content.hours.table, caption=False)] if content.hours.table else []),
        list_block((*content.units.cautions[:MOST_CAUTIONS], *content.hours.cautions), title=_("Keep in mind")),
    ]


def _units_table(table: AnswerTable) -> Block:
    rows = AnswerTable(title=table.title, columns=table.columns, rows=table.rows[:MOST_ROWS])
    if len(table.rows) <= WHOLE_TABLE:
        return table_block(rows, widths=("1.3", "auto", "auto", "auto", "auto", "auto", "1"))
    return table_block(rows, columns=4, halves=True)


def _more_units(table: AnswerTable | None) -> list[Block]:
    left = len(table.rows) - MOST_ROWS if table else 0
    if left <= 0:
        return []
    words = ngettext(
        "{count} further unit stands in the counts for others.",
        "{count} further units stand in the counts for others.",
        left,
    )
    return [small_block(words.format(count=left))]


def _actions(content: PackContent) -> list[Block]:
    actions, table = content.actions, content.actions.table
    blocks = [sentence_block(actions.sentence)]
    if table is not None:
        kept = AnswerTable(title=table.title, columns=table.columns, rows=table.rows[:MOST_ACTIONS])
        blocks.append(table_block(kept, widths=("auto", "2", "1", "1.1", "1", "1.3", "1.1", "auto")))
        if len(table.rows) > MOST_ACTIONS:
            blocks.append(small_block(
                _("{count} further ones stand in the log.").format(count=len(table.rows) - MOST_ACTIONS)
            ))  # fmt: skip
    figures = [f"{figure.label}: {_plain(figure)}" for figure in actions.figures]
    return [
        *blocks,
        *([list_block(figures)] if figures else []),
        list_block(actions.cautions, title=_("Keep in mind")),
        gap_block(),
        heading_block(_("Decided at this meeting")),
        lines_block(4, (_("owner (role)"), _("due"))),
        gap_block(),
    ]


def _plain(figure: Figure) -> str:
    if figure.value is None:
        return figure.note
    number = f"{figure.value:.0f}"
    return _("{number} days").format(number=number) if figure.unit == "days" else number


def _quality(content: PackContent) -> list[Block]:
    restated = content.restated.table
    blocks = [
        sentence_block(content.files_words),
        table_block(content.files, widths=("auto", "1", "auto", "auto", "auto", "auto", "2")),
        heading_block(_("Who, and when")),
        list_block(content.times),
        heading_block(_("Restated figures")),
        text_block(content.restated.sentence),
    ]
    if restated is not None:
        kept = AnswerTable(title=restated.title, columns=restated.columns, rows=restated.rows[:MOST_RESTATED])
        blocks.append(table_block(kept, widths=("1", "1", "1", "1", "1.6"), caption=False))
        if len(restated.rows) > MOST_RESTATED:
            blocks.append(small_block(
                _("{count} further ones are kept with the pack.").format(count=len(restated.rows) - MOST_RESTATED)
            ))  # fmt: skip
    return blocks


def _ask(content: PackContent) -> list[Block]:
    quarter = content.quarter
    return [
        boxed_block(_("The ask"), content.ask, size=12),
        heading_block(_("What is counted over what")),
        list_block(_definitions(quarter.figures)),
        heading_block(_("What this pack cannot say")),
        list_block((*_limits(), *quarter.cautions[1 if quarter.picture else 0 :])),
        heading_block(_("How to get every figure again")),
        list_block(content.receipts),
    ]


def _definitions(figures: Sequence[Figure]) -> list[str]:
    found = {figure.key: figure for figure in figures}
    return [f"{found[key].label}: {found[key].definition}." for key in COMPANY if key in found]


def _limits() -> tuple[str, ...]:
    return (
        _("Why a rate is what it is: a chart shows that something changed, never what changed it."),
        _("Anything about one person: no list of names with rates exists, here or elsewhere in Cubital."),
        _("Anything about one patient: classes are for counting, after the fact."),
    )
