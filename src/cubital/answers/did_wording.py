"""What is never said of a before and after, and how ratios, points and shares are said instead."""

from __future__ import annotations

from typing import Any

from cubital.domain.words import _, decimal_words, difference_words, ngettext, number_words, share_words
from cubital.stats.interval import Interval

# No sentence of these answers may hold one of them. The list serves the tests; the sentences are written without.
CAUSAL_WORDS = (
    "caused", "because of", "due to", "thanks to", "led to", "resulted in", "works", "worked because", "effective",
    "has reduced", "has lowered", "proves", "causado", "debido a", "gracias a", "eficaz", "demuestra que",
)  # fmt: skip


def ratio_words(value: float) -> str:
    """``0.94``, ``12``: a ratio with as many digits as anybody can use."""
    return decimal_words(f"{value:.0f}" if value >= 10 else f"{value:.2f}")


def range_words(interval: Interval) -> str:
    """``0.62 to 1.42``."""
    return _("{low} to {high}").format(low=ratio_words(interval.low), high=ratio_words(interval.high))


def roomy(picture: dict[str, Any], rows: int) -> dict[str, Any]:
    """A picture of few rows with room for each: the page fits axis and words into its height."""
    return {**picture, "height": 30 * rows + 60} if picture else picture


def points_words(change: float, digits: int = 1) -> str:
    """A difference of two shares: ``1.7 points``; without its sign."""
    return difference_words(abs(change), digits)


def signed_points(change: float) -> str:
    """The same with its sign, a real minus."""
    sign = "+" if change > 0 else "\u2212" if change < 0 else ""
    return f"{sign}{points_words(change)}"


def factor_words(ratio: float) -> str:
    """A ratio as what it means for the count: ``38 % fewer``, ``42 % more``."""
    part = share_words(abs(1 - ratio), 0)
    return _("{part} fewer").format(part=part) if ratio < 1 else _("{part} more").format(part=part)


def joined_words(names: tuple[str, ...] | list[str]) -> str:
    """``kit``, ``kit and period``, ``kit, collector and period``."""
    if len(names) < 2:
        return "".join(names)
    return _("{first} and {last}").format(first=", ".join(names[:-1]), last=names[-1])


def rows_words(count: int) -> str:
    """``three rows``."""
    return ngettext("{count} row", "{count} rows", count).format(count=number_words(count))


def unknowns_words(count: int) -> str:
    """``four unknowns``."""
    return ngettext("{count} unknown", "{count} unknowns", count).format(count=number_words(count))
