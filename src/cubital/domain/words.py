"""How numbers, months and shares are written in a sentence, and the way of every sentence through gettext."""

from __future__ import annotations

import gettext as _gettext
from contextvars import ContextVar
from datetime import date
from functools import lru_cache
from importlib import resources

LANGUAGES = ("en", "es")
_language: ContextVar[str] = ContextVar("cubital_language", default="en")


def choose_language(language: str) -> None:
    """Sentences are made in ``language`` from here on in this context; an unknown language falls back to English."""
    _language.set(language if language in LANGUAGES else "en")


def current_language() -> str:
    """The language in which sentences are being made: ``en`` or ``es``."""
    return _language.get()


@lru_cache
def _catalogue(language: str) -> _gettext.NullTranslations:
    folder = str(resources.files("cubital.domain") / "locale")
    return _gettext.translation("cubital", folder, languages=[language], fallback=True)


def _(text: str) -> str:
    """``text`` in the current language."""
    return _catalogue(_language.get()).gettext(text)


def ngettext(one: str, many: str, count: int) -> str:
    """``one`` or ``many`` in the current language, by its rule of plurals."""
    return _catalogue(_language.get()).ngettext(one, many, count)


def share_words(value: float, digits: int = 1) -> str:
    """A proportion (0 to 1) as a percentage: ``3.8 %``; Spanish writes ``3,8 %``."""
    text = f"{100 * value:z.{digits}f}"  # z: never a minus before nothing
    return f"{decimal_words(text)} %"


def difference_words(value: float, digits: int = 1) -> str:
    """A difference of two proportions in points, a real minus before a rise or fall: ``1.7 points``."""
    text = f"{100 * abs(value):.{digits}f}"
    sign = "\u2212" if value < 0 and float(text) else ""
    return _("{change} points").format(change=f"{sign}{decimal_words(text)}")


def decimal_words(text: str) -> str:
    """A number already written with a point, with the current language's decimal sign."""
    return text.replace(".", ",") if current_language() == "es" else text


def grouped_words(count: int) -> str:
    """A count with its thousands set apart: ``11,142``; Spanish uses a narrow space."""
    return f"{count:,}".replace(",", "\u202f" if current_language() == "es" else ",")


def month_words(month: str, *, with_year: bool = False) -> str:
    """``2026-03`` as ``March`` or ``March 2026``."""
    year, number = month.split("-")
    name = month_names()[int(number) - 1]
    return _("{month} {year}").format(month=name, year=year) if with_year else name


def month_names() -> tuple[str, ...]:
    """The twelve months in the current language."""
    return (
        _("January"), _("February"), _("March"), _("April"), _("May"), _("June"),
        _("July"), _("August"), _("September"), _("October"), _("November"), _("December"),
    )  # fmt: skip


def number_words(count: int) -> str:
    """One to twenty as a word, larger numbers in figures: for "once in sixteen months"."""
    words = (
        _("zero"), _("one"), _("two"), _("three"), _("four"), _("five"), _("six"), _("seven"), _("eight"), _("nine"),
        _("ten"), _("eleven"), _("twelve"), _("thirteen"), _("fourteen"), _("fifteen"), _("sixteen"),
        _("seventeen"), _("eighteen"), _("nineteen"), _("twenty"),
    )  # fmt: skip
    return words[count] if 0 <= count < len(words) else str(count)


def day_words(day: date) -> str:
    """A day as ``3 November 2025``."""
    return _("{day} {month} {year}").format(day=day.day, month=month_names()[day.month - 1], year=day.year)
