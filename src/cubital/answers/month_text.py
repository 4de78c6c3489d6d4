"""Months as people and spreadsheets write them, read as ``YYYY-MM`` or not at all."""

from __future__ import annotations

import re

_NAMES = {
    1: ("january", "jan", "enero", "ene"), 2: ("february", "feb", "febrero"), 3: ("march", "mar", "marzo"),
    4: ("april", "apr", "abril", "abr"), 5: ("may", "mayo"), 6: ("june", "jun", "junio"),
    7: ("july", "jul", "julio"), 8: ("august", "aug", "agosto", "ago"),
    9: ("september", "sep", "sept", "septiembre", "setiembre"), 10: ("october", "oct", "octubre"),
    11: ("november", "nov", "noviembre"), 12: ("december", "dec", "diciembre", "dic"),
}  # fmt: skip
_NUMBERS = {name: number for number, names in _NAMES.items() for name in names}
_YEAR_FIRST = re.compile(r"(\d{4})[-/. ](\d{1,2})(?:[-/. ]0?1(?:[T ]00:00(?::00)?)?)?")
_YEAR_LAST = re.compile(r"(\d{1,2})[-/. ](\d{4})")
_NAMED = re.compile(r"([a-záéíóú]+)\.?[-/., ]+(?:de )?(\d{4})|(\d{4})[-/., ]+([a-záéíóú]+)\.?")


def parse_month(text: str) -> str | None:
    """``2026-03`` from ``2026-03``, ``03/2026``, ``March 2026``, ``mar-2026``, or a first day; otherwise none.

    A two-digit year is not read: ``Mar-26`` may be March 2026 or 26 March. A day other than the first is no month.
    """
    tidy = text.strip().casefold()
    if found := _YEAR_FIRST.fullmatch(tidy):
        return _month(found[1], int(found[2]))
    if found := _YEAR_LAST.fullmatch(tidy):
        return _month(found[2], int(found[1]))
    if found := _NAMED.fullmatch(tidy):
        return _month(found[2] or found[3], _NUMBERS.get(found[1] or found[4], 0))
    return None


def _month(year: str, number: int) -> str | None:
    return f"{year}-{number:02d}" if 1 <= number <= 12 and 1900 <= int(year) <= 2200 else None


def next_month(month: str) -> str:
    """The month after ``YYYY-MM``."""
    year, number = int(month[:4]), int(month[5:])
    return f"{year + number // 12}-{number % 12 + 1:02d}"


def month_before(month: str, count: int = 1) -> str:
    """The month ``count`` months before ``YYYY-MM``."""
    index = int(month[:4]) * 12 + int(month[5:]) - 1 - count
    return f"{index // 12}-{index % 12 + 1:02d}"
