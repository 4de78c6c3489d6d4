"""How an answer's figures, cells and verdict are written on a page. Only words; no number is made here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Verdict, figures_by_key
from cubital.domain.words import _, decimal_words, difference_words, grouped_words, ngettext, share_words
from cubital.web.drawing import draw_picture

MARKS = {
    Verdict.SIGNAL: "▲",
    Verdict.WITHIN_VARIATION: "○",
    Verdict.TOO_FEW: "◌",
    Verdict.NOT_IDENTIFIABLE: "≈",
    Verdict.REFUSED: "▭",
    Verdict.ESTIMATE: "◇",
}


SHORT = 16
# What stands beside the picture, in this order; everything else is one click away, under the table.
BESIDE = (
    "contamination", "solitary_by_set", "solitary_by_episode", "bottles_complete", "fill_median", "positivity",
    "minutes_to_receipt", "receipt_late", "collector_known", "use_rate", "baseline_rate", "first_signal",
    "any_of_twelve",
)  # fmt: skip
APART = ("to_adjudicate", "solitary_commensals", "unresolved")
ONLY_WHERE_MEASURED = frozenset({"baseline_rate", "first_signal", "any_of_twelve"})


@dataclass(frozen=True, kw_only=True)
class FigureWords:
    """One figure as it stands beside the picture."""

    label: str
    value: str
    spread: str
    counts: str
    definition: str
    note: str


@dataclass(frozen=True, kw_only=True)
class CellWords:
    """One cell of a table; numbers stand to the right, short texts stay on one line."""

    text: str
    number: bool

    @property
    def style(self) -> str:
        """Its class in the style sheet."""
        return "number" if self.number else "tight" if len(self.text) <= SHORT else ""


def answer_context(answer: Answer) -> dict[str, Any]:
    """What the template of an answer needs."""
    found = figures_by_key(answer.figures)
    return {
        "answer": answer,
        "mark": MARKS[answer.verdict],
        "verdict": verdict_words(answer.verdict),
        "checks_passed": [check for check in answer.checks if check.passed],
        "checks_failed": [check for check in answer.checks if check.passed is False],
        "checks_open": [check for check in answer.checks if check.passed is None],
        "figures": [figure_words(found[key]) for key in BESIDE if key in found and found[key].value is not None],
        "counted_apart": [figure_words(found[key]) for key in APART if key in found],
        "unmeasured": [figure_words(found[key]) for key in BESIDE if key in found and _missed(found[key])],
        "more_figures": [figure_words(figure) for figure in answer.figures],
        "drawing": draw_picture(answer.picture, answer.sentence) if answer.picture else "",
        "rows": table_words(answer.table) if answer.table else [],
        "numeric": _numeric_columns(answer),
    }


def _missed(figure: Figure) -> bool:
    """Company is named even where it cannot be measured; the chart's own figures only where there are any."""
    return figure.value is None and figure.key not in ONLY_WHERE_MEASURED


def verdict_words(verdict: Verdict) -> str:
    """The verdict as a person says it."""
    return {
        Verdict.SIGNAL: _("A signal"),
        Verdict.WITHIN_VARIATION: _("Within its own variation"),
        Verdict.TOO_FEW: _("Too few to say"),
        Verdict.NOT_IDENTIFIABLE: _("Cannot be told apart"),
        Verdict.REFUSED: _("Not answered"),
        Verdict.ESTIMATE: _("An estimate"),
    }[verdict]


def figure_words(figure: Figure) -> FigureWords:
    """A figure in words: value, interval, counts."""
    value = quantity_words(figure.value, figure.unit) if figure.value is not None else _("not measurable")
    spread = ""
    if figure.low is not None and figure.high is not None:
        low, high = (quantity_words(end, figure.unit) for end in (figure.low, figure.high))
        spread = _("{low} to {high}").format(low=low.removesuffix(" %"), high=high)
    counts = ""
    if figure.numerator is not None and figure.denominator is not None:
        counts = _("{part} of {whole}").format(
            part=grouped_words(figure.numerator), whole=grouped_words(figure.denominator)
        )
    return FigureWords(
        label=figure.label, value=value, spread=spread, counts=counts, definition=figure.definition, note=figure.note
    )


def quantity_words(value: float, unit: str) -> str:
    """A value with its unit: ``3.8 %``, ``41 min``, ``0.12 per 1,000``; unknown units are written out."""
    if unit == "proportion":
        return share_words(value)
    if unit == "difference":
        return difference_words(value)
    if unit == "ratio":
        return decimal_words(f"{value:,.2f}")
    number = _number_words(value)
    words = {
        "minutes": _("{number} min"),
        "sets": ngettext("{number} set", "{number} sets", round(value)),
        "months": ngettext("{number} month", "{number} months", round(value)),
        "per_1000": _("{number} per 1,000"),
        "ml": _("{number} mL"),
        "": "{number}",
    }
    return words.get(unit, "{number} " + unit.replace("_", " ")).format(number=number)


def _number_words(value: float) -> str:
    """Whole numbers and those from 100 without decimals, from 10 with one; smaller ones with two digits that count."""
    if float(value).is_integer() or abs(value) >= 100:
        return decimal_words(f"{value:,.0f}")
    return decimal_words(f"{value:,.1f}" if abs(value) >= 10 else f"{value:,.2g}")


def table_words(table: AnswerTable) -> list[list[CellWords]]:
    """Every cell of a table in words; the numbers of one column have equally many decimals."""
    decimals = [_decimals(column) for column in zip(*table.rows, strict=True)]
    return [[cell_words(cell, places) for cell, places in zip(row, decimals, strict=True)] for row in table.rows]


def cell_words(cell: Cell, decimals: int = 2) -> CellWords:
    """A cell: whole numbers with thousands apart, others with ``decimals``, nothing for none."""
    if cell is None:
        return CellWords(text="", number=False)
    if isinstance(cell, str):
        return CellWords(text=cell, number=False)
    text = grouped_words(cell) if isinstance(cell, int) else decimal_words(f"{cell:.{decimals}f}")
    return CellWords(text=text, number=True)


def _decimals(column: tuple[Cell, ...]) -> int:
    """The decimals that the longest number of a column needs, two at most."""
    written = [f"{cell:.2f}".rstrip("0").partition(".")[2] for cell in column if isinstance(cell, float)]
    return max((len(part) for part in written), default=0)


def _numeric_columns(answer: Answer) -> list[tuple[str, bool]]:
    """Each column's heading, and whether all its filled cells are numbers."""
    if not answer.table:
        return []
    columns = []
    for place, heading in enumerate(answer.table.columns):
        filled = [row[place] for row in answer.table.rows if row[place] is not None]
        columns.append((heading, bool(filled) and not any(isinstance(cell, str) for cell in filled)))
    return columns
