"""Counts alone: typed, pasted from a spreadsheet, or a file."""

from __future__ import annotations

from pathlib import Path

from cubital.answers.counts import MonthCount, parse_counts_text
from cubital.domain.words import _
from cubital.web.plain_forms import TextOrFileForm

HEADERS = "month{0}sets{0}contaminated\n"
SEPARATORS = "\t;,"


class CountsForm(TextOrFileForm):
    """Text in a field or a file, one of the two."""

    counts: tuple[MonthCount, ...] = ()
    path: Path | None = None

    rows = "month      sets  contaminated\n2026-01     481  17\n2026-02     476  6\n2026-03     498  19"

    @property
    def rows_hint(self) -> str:
        return _(
            "Spaces, tabs, commas or semicolons between the numbers; a copy from a spreadsheet works. The heading"
            " may be left out."
        )

    def say(self) -> None:
        super().say()
        self.name_field(
            "text",
            _("Type or paste your months"),
            _("One row per month, oldest first: month, sets, contaminated. The last row is the month asked about."),
        )
        self.name_field("file", _("Or choose a file with the same three columns"))

    def neither_words(self) -> str:
        return _("Please type or paste your months, or choose a file.")

    def read_text(self, text: str) -> None:
        self.counts = parse_counts_text(with_headers(text), where="")


def with_headers(text: str) -> str:
    """The text with headings put on top where its first row holds numbers already."""
    first = text.splitlines()[0]
    separator = max(SEPARATORS, key=first.count)
    if separator not in first:
        separator = " "
    is_data = any(letter.isdigit() for letter in first)
    return HEADERS.format(separator) + text if is_data else text
