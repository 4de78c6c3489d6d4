"""Counts alone: typed, pasted from a spreadsheet, or a file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django import forms

from cubital.answers.counts import MonthCount, parse_counts_text
from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm

HEADERS = "month{0}sets{0}contaminated\n"
SEPARATORS = "\t;,"


class CountsForm(PlainForm):
    """Text in a field or a file, one of the two."""

    text = forms.CharField(
        required=False, strip=False, widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false"})
    )
    file = forms.FileField(required=False, widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx,.xls"}))

    counts: tuple[MonthCount, ...] = ()
    path: Path | None = None

    def say(self) -> None:
        self.name_field(
            "text",
            _("Type or paste your months"),
            _("One row per month, oldest first: month, sets, contaminated. The last row is the month asked about."),
        )
        self.name_field("file", _("Or choose a file with the same three columns"))
        self.fields["file"].error_messages["empty"] = _("This file is empty.")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        text = cleaned.get("text", "").strip()
        if self.errors:
            return cleaned
        if bool(text) == bool(cleaned.get("file")):
            words = _("Please type or paste your months, or choose a file.")
            raise forms.ValidationError(_("Please use one of the two: the field or the file.") if text else words)
        if text:
            try:
                self.counts = parse_counts_text(with_headers(text), where="")
            except FileProblem as problem:
                self.add_error("text", problem.sentence())
        return cleaned


def with_headers(text: str) -> str:
    """The text with headings put on top where its first row holds numbers already."""
    first = text.splitlines()[0]
    separator = max(SEPARATORS, key=first.count)
    if separator not in first:
        separator = " "
    is_data = any(letter.isdigit() for letter in first)
    return HEADERS.format(separator) + text if is_data else text
