"""What became of every row of one file, and every doubt, as tidy tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Protocol

from cubital.domain.words import _
from cubital.papers.tidy_table import Column, Kind, TidyTable


class FateRow(Protocol):
    """One data row and what became of it."""

    @property
    def row(self) -> int: ...
    @property
    def sheet(self) -> str: ...
    @property
    def fate(self) -> str: ...
    @property
    def reason(self) -> str: ...
    @property
    def detail(self) -> str: ...


class DoubtRow(Protocol):
    """One thing kept and said about a row."""

    @property
    def row(self) -> int: ...
    @property
    def reason(self) -> str: ...
    @property
    def detail(self) -> str: ...


def build_fates_table(rows: Iterable[FateRow], *, count: int, words: Mapping[str, str]) -> TidyTable[FateRow]:
    """One line per data row of the file. ``words`` maps a reason's code to its sentence."""
    columns: tuple[Column[FateRow], ...] = (
        _row_column(),
        Column(key="sheet", read=lambda r: r.sheet or None, meaning=_("sheet of the workbook; empty for other files")),
        Column(
            key="fate", kind=Kind.CODE, read=lambda r: r.fate, meaning=_("what the row became"),
            values={"set": _("a set of its own"), "loss": _("no set of its own, for the reason beside it")},
        ),
        Column(key="reason", read=lambda r: r.reason or None, meaning=_("why, as a code")),
        Column(key="reason_words", read=lambda r: words.get(r.reason), meaning=_("why, in words")),
        Column(key="detail", read=lambda r: r.detail or None, meaning=_("more about it, without a patient's values")),
    )  # fmt: skip
    return TidyTable(name="rows", columns=columns, rows=rows, count=count)


def build_doubts_table(rows: Iterable[DoubtRow], *, count: int, words: Mapping[str, str]) -> TidyTable[DoubtRow]:
    """One line per doubt; a row can have several. ``words`` maps a doubt's code to its sentence."""
    columns: tuple[Column[DoubtRow], ...] = (
        _row_column(),
        Column(key="doubt", read=lambda r: r.reason or None, meaning=_("what is doubtful, as a code")),
        Column(key="doubt_words", read=lambda r: words.get(r.reason), meaning=_("what is doubtful, in words")),
        Column(key="detail", read=lambda r: r.detail or None, meaning=_("more about it, without a patient's values")),
    )
    return TidyTable(name="doubts", columns=columns, rows=rows, count=count)


def _row_column() -> Column[Any]:
    return Column(
        key="row", kind=Kind.COUNT, read=lambda r: r.row, meaning=_("number of the row in the file, its header being 1")
    )
