"""One figure in words: its value, the counts behind it, its interval."""

from __future__ import annotations

import re

from cubital.domain.answer import Figure
from cubital.domain.words import _, decimal_words, grouped_words, share_words


def value_words(figure: Figure) -> str:
    """The value with its unit (``3.8 %``, ``41 min``); a dash where there is none, whose reason is in the note."""
    if figure.value is None:
        return "–"
    if figure.unit == "proportion":
        return share_words(figure.value)
    number = _number_words(figure.value)
    units = {
        "minutes": _("{number} min"),
        "per_1000": _("{number} per 1,000"),
        "hours": _("{number} h"),
        "ml": _("{number} ml"),
    }
    return units.get(figure.unit, "{number}").format(number=number)


def count_words(figure: Figure) -> str:
    """``19 of 498``; empty where the figure is no ratio of counts."""
    if figure.numerator is None or figure.denominator is None:
        return ""
    return _("{count} of {total}").format(
        count=grouped_words(figure.numerator), total=grouped_words(figure.denominator)
    )


def interval_words(figure: Figure) -> str:
    """``2.4 to 5.9 %``; empty where no interval applies."""
    if figure.low is None or figure.high is None:
        return ""
    if figure.unit == "proportion":
        low, high = share_words(figure.low).removesuffix(" %"), share_words(figure.high)
    else:
        low, high = _number_words(figure.low), _number_words(figure.high)
    return _("{low} to {high}").format(low=low, high=high)


def unbroken(words: str) -> str:
    """The same words with every number held to its per cent sign, hours or minutes at the end of a line."""
    return re.sub(r"(?<=\d) (?=%|h\b|min\b)", "\u00a0", words)


def _number_words(value: float) -> str:
    return grouped_words(int(value)) if float(value).is_integer() else decimal_words(f"{value:.1f}")
