"""The blocks that a pack's pages are made of, as plain data that can be kept and printed again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cubital.domain.answer import AnswerTable, Verdict
from cubital.papers.figure_words import unbroken
from cubital.papers.unit_page import verdict_words

Block = dict[str, Any]


def sentence_block(words: str, *, big: bool = False) -> Block:
    """The sentence to say aloud; ``big`` on the first page."""
    return {"kind": "sentence", "words": unbroken(words), "big": big}


def verdict_block(verdict: Verdict) -> Block:
    """The verdict in two or three words; a signal is filled."""
    return {"kind": "verdict", "words": verdict_words(verdict), "loud": verdict is Verdict.SIGNAL}


def heading_block(words: str) -> Block:
    """A heading within a page."""
    return {"kind": "heading", "words": words}


def text_block(words: str) -> Block:
    """A paragraph."""
    return {"kind": "text", "words": unbroken(words)}


def small_block(words: str) -> Block:
    """A paragraph in small type."""
    return {"kind": "small", "words": unbroken(words)}


def list_block(items: Sequence[str], *, title: str = "") -> Block:
    """Points under each other."""
    return {"kind": "list", "title": title, "items": [unbroken(item) for item in items]}


def boxed_block(title: str, words: str, *, choices: Sequence[str] = (), size: int = 15) -> Block:
    """A framed sentence of ``size`` points, with boxes to tick."""
    return {"kind": "boxed", "title": title, "words": unbroken(words), "choices": list(choices), "size": size}


def lines_block(count: int, words: tuple[str, str]) -> Block:
    """Empty lines for a pen: what, then two named fields."""
    return {"kind": "lines", "count": count, "words": list(words)}


def picture_block(words: str) -> Block:
    """The pack's one picture, with the words for those who do not see it."""
    return {"kind": "picture", "words": words}


def gap_block() -> Block:
    """Room that grows as the page allows."""
    return {"kind": "gap"}


def table_block(
    table: AnswerTable, *, widths: Sequence[str] = (), columns: int | None = None, halves: bool = False,
    caption: bool = True,
) -> Block:  # fmt: skip
    """The first ``columns`` of a table; ``widths`` are ``auto`` or shares of the rest; ``halves`` sets it in two
    tables side by side.
    """
    most = columns or len(table.columns)
    rows = [[_cell(cell) for cell in row[:most]] for row in table.rows]
    numeric = [any(isinstance(row[place], int | float) for row in table.rows) for place in range(most)]
    given = list(widths) or ["1" if place == 0 else "auto" for place in range(most)]
    return {
        "kind": "table", "caption": table.title if caption else "", "head": list(table.columns[:most]), "rows": rows,
        "widths": given[:most], "right": numeric, "halves": halves,
    }  # fmt: skip


def _cell(cell: str | float | None) -> str:
    from cubital.domain.words import decimal_words, grouped_words

    if cell is None:
        return ""
    if isinstance(cell, str):
        return unbroken(cell)
    return grouped_words(int(cell)) if float(cell).is_integer() else decimal_words(f"{cell:.1f}")
