"""A workbook for finance while it is written: sheets, cells, names; text is never taken for a formula."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from cubital.answers.worth_inputs import Structure
from cubital.answers.worth_reading import WorthReading
from cubital.answers.worth_refusal import option_words
from cubital.papers.safe_text import neutral_text

MONEY, SHARE, PLAIN = "#,##0", "0.0%", "General"


class Formula(str):
    """Text that was made here as a formula; anything else that looks like one is only text."""

    __slots__ = ()


class Draft:
    """The workbook, the reading that it is about, and the codes by which its inputs are called in formulas.

    ``net_columns`` and ``best_column`` are the letters of the sheet of draws, known once that is written.
    """

    def __init__(self, book: Any, reading: WorthReading) -> None:
        self.book, self.reading = book, reading
        self.table, self.currency = reading.table, reading.table.currency
        self.options = reading.options
        self.net_columns: list[str] = []
        self.best_column = ""
        places = {option: place for place, option in enumerate(self.table.options, start=1)}
        self.codes = {
            one.name: f"{one.key}_{places[one.option]}" if one.option else one.key for one in self.table.inputs
        }

    def sheet(self, name: str, headings: Sequence[str], widths: Sequence[int]) -> Any:
        """A new sheet with its headings in bold."""
        from openpyxl.styles import Font
        from openpyxl.utils import get_column_letter

        sheet = self.book.create_sheet(name)
        self.line(sheet, 1, headings)
        for cell in sheet[1]:
            cell.font = Font(bold=True)
        for place, width in enumerate(widths, start=1):
            sheet.column_dimensions[get_column_letter(place)].width = width
        sheet.freeze_panes = "A2"
        return sheet

    def line(self, sheet: Any, row: int, cells: Iterable[Any], form: str = PLAIN) -> None:
        """One row from the left: text as text, formulas (``=...`` made here) as formulas, nothing for none."""
        for column, value in enumerate(cells, start=1):
            self.put(sheet, row, column, value, form)

    def put(self, sheet: Any, row: int, column: int, value: Any, form: str = PLAIN) -> None:
        """One cell. Only a ``Formula`` becomes one, whatever a text begins with."""
        if value is None or value == "":
            return
        cell = sheet.cell(row=row, column=column)
        if isinstance(value, Formula):
            cell.value = f"={value}"
        elif isinstance(value, str):
            cell.value = neutral_text(value)
            cell.data_type = "s"
        else:
            cell.value = value
        if not isinstance(value, str) or isinstance(value, Formula):
            cell.number_format = form

    def name(self, name: str, sheet: Any, row: int, column: int) -> str:
        """Names one cell for formulas and people."""
        from openpyxl.utils import get_column_letter
        from openpyxl.workbook.defined_name import DefinedName

        where = f"'{sheet.title}'!${get_column_letter(column)}${row}"
        self.book.defined_names[name] = DefinedName(name, attr_text=where)
        return name

    def cell_of(self, structure: Structure, end: str = "likely") -> Callable[[str], str]:
        """From the key of an input to the name of its cell, for one option."""
        names = dict(structure.names)
        return lambda key: f"{self.codes[names[key]]}_{end}"

    def option_names(self) -> list[str]:
        """The options as headings."""
        return [option_words(one.option) for one in self.options]
