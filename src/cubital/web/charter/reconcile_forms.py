"""The laboratory's own list: typed, pasted or a file; the month it is about; and perhaps one hospital."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.answers.hand_tables import text_rows
from cubital.answers.reconciled import list_columns, parse_their_list
from cubital.domain.words import _, month_words
from cubital.web.plain_forms import TextOrFileForm

HEADING = "accession\n"


class TheirListForm(TextOrFileForm):
    """One number a line, or a table with a column of them."""

    month = forms.ChoiceField()
    hospital = forms.ChoiceField(required=False)
    text_given = ""

    def __init__(self, *args: Any, months: tuple[str, ...], hospitals: tuple[str, ...], **kwargs: Any) -> None:
        self.months, self.hospitals = months, hospitals
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        super().say()
        named = [(month, month_words(month, with_year=True)) for month in reversed(self.months)]
        self.fields["month"].choices = named  # type: ignore[attr-defined]
        self.fields["month"].error_messages["invalid_choice"] = _("There are no sets in that month.")
        self.fields["hospital"].choices = [("", _("All hospitals together")), *((n, n) for n in self.hospitals)]  # type: ignore[attr-defined]
        self.fields["hospital"].error_messages["invalid_choice"] = _("There is no such hospital.")
        self.name_field("month", _("Month"))
        self.name_field("hospital", _("Hospital"))
        self.name_field(
            "text",
            _("Type or paste the laboratory's list"),
            _("One accession number a line. Under the heading accession, hospital a second column names the hospital."),
        )
        self.name_field("file", _("Or choose a file with a column of accession numbers"))

    def missing_words(self) -> dict[str, str]:
        return {"month": _("Please choose a month.")}

    def neither_words(self) -> str:
        return _("Please type or paste the laboratory's list, or choose a file.")

    def read_text(self, text: str) -> None:
        first = text.splitlines()[0]
        whole = HEADING + text if any(letter.isdigit() for letter in first) else text
        columns = list_columns()
        parse_their_list(text_rows(whole, where="", advice=columns.advice), where="")
        self.text_given = whole
