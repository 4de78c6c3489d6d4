"""A tidy table that explains itself: the codebook is made from the same columns that make the cells."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import Any, Generic, TypeVar

from cubital.domain.words import _

Row = TypeVar("Row")
TidyCell = str | int | float | None


class Kind(StrEnum):
    """How a column is written. Only counts and measures are numbers; everything that merely looks like one is text."""

    TEXT = "text"
    CODE = "code"
    DAY = "day"
    TIME = "time"
    COUNT = "count"
    MEASURE = "measure"
    YES_NO = "yes_no"


@dataclass(frozen=True, kw_only=True)
class Column(Generic[Row]):
    """One column: ``read`` makes its cell from a row, and the rest is its line in the codebook.

    ``values`` maps every code that can stand here to its meaning; empty where any text or number can.
    """

    key: str
    meaning: str
    read: Callable[[Row], TidyCell]
    kind: Kind = Kind.TEXT
    unit: str = ""
    values: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def is_number(self) -> bool:
        """Whether its cells are numbers; everything else is text."""
        return self.kind in (Kind.COUNT, Kind.MEASURE)


@dataclass(frozen=True, kw_only=True)
class TidyTable(Generic[Row]):
    """A name, columns, and the rows behind them, read once; ``count`` is how many rows there will be at most."""

    name: str
    columns: tuple[Column[Row], ...]
    rows: Iterable[Row]
    count: int

    def header(self) -> list[str]:
        """The column names."""
        return [column.key for column in self.columns]

    def cells(self, row: Row) -> list[TidyCell]:
        """One row's cells; a code that the codebook does not explain is a ``ValueError``."""
        cells = []
        for column in self.columns:
            cell = column.read(row)
            if cell is not None:
                _check_cell(column, cell)
            cells.append(cell)
        return cells


def _check_cell(column: Column[Row], cell: str | int | float) -> None:
    if column.values and cell not in column.values:
        raise ValueError(f"column '{column.key}' holds '{cell}', which its codebook does not explain")
    if column.is_number is isinstance(cell, str):
        raise ValueError(f"column '{column.key}' is {column.kind}, but holds {type(cell).__name__}")


def codebook_lines(tables: Sequence[TidyTable[Any]]) -> list[list[str]]:
    """A header and one line per column: its table, name, meaning, how it is written, unit, every code explained."""
    header = [_("table"), _("column"), _("meaning"), _("written as"), _("unit"), _("values")]
    return [header] + [
        [table.name, column.key, column.meaning, kind_words(column.kind), column.unit, _values_words(column.values)]
        for table in tables
        for column in table.columns
    ]


def kind_words(kind: Kind) -> str:
    """How a kind of column is written, in words."""
    return {
        Kind.TEXT: _("text; import it as text, leading zeros count"),
        Kind.CODE: _("one of the codes under values"),
        Kind.DAY: _("day as text, year-month-day"),
        Kind.TIME: _("local time as text, year-month-dayThour:minute"),
        Kind.COUNT: _("whole number"),
        Kind.MEASURE: _("number"),
        Kind.YES_NO: _("yes or no"),
    }[kind]


def _values_words(values: Mapping[str, str]) -> str:
    return "; ".join(f"{code} = {meaning}" for code, meaning in values.items())
