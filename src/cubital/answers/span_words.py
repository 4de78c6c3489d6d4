"""A stretch of months in words: ``January to March 2026``, ``the quarter``."""

from __future__ import annotations

from cubital.answers.month_text import next_month
from cubital.domain.words import _, month_words


def span_words(first: str, last: str) -> str:
    """``March 2026``, ``January to March 2026``, ``November 2025 to January 2026``."""
    if first == last:
        return month_words(first, with_year=True)
    return _("{first} to {last}").format(
        first=month_words(first, with_year=first[:4] != last[:4]), last=month_words(last, with_year=True)
    )


def span_months(first: str, last: str) -> tuple[str, ...]:
    """Every month from ``first`` to ``last``, both included; none where ``last`` comes before."""
    found, month = [], first
    while month <= last:
        found.append(month)
        month = next_month(month)
    return tuple(found)


def span_name(first: str, last: str) -> str:
    """The span as published counts name it: ``2026-Q1`` for a calendar quarter, ``2026`` for a calendar year,
    ``2026-03`` for a month, else ``first..last``.
    """
    months = span_months(first, last)
    start = int(first[5:])
    if len(months) == 1:
        return first
    if len(months) == 3 and start % 3 == 1:
        return f"{first[:4]}-Q{(start + 2) // 3}"
    if len(months) == 12 and start == 1:
        return first[:4]
    return f"{first}..{last}"
