"""What a charter counts, as words: so many sets, bottles, series or patients."""

from __future__ import annotations

from cubital.domain.charter import UnitOfCount
from cubital.domain.words import _, grouped_words, ngettext


def counted_words(count: int, unit: UnitOfCount) -> str:
    """``1 set``, ``11,142 bottles``."""
    words = {
        UnitOfCount.SET: ngettext("{count} set", "{count} sets", count),
        UnitOfCount.BOTTLE: ngettext("{count} bottle", "{count} bottles", count),
        UnitOfCount.SERIES: ngettext("{count} series", "{count} series", count),
        UnitOfCount.PATIENT: ngettext("{count} patient", "{count} patients", count),
    }[unit]
    return words.format(count=grouped_words(count))


def things_words(unit: UnitOfCount) -> str:
    """The bare plural: ``sets``."""
    return {
        UnitOfCount.SET: _("sets"),
        UnitOfCount.BOTTLE: _("bottles"),
        UnitOfCount.SERIES: _("series"),
        UnitOfCount.PATIENT: _("patients"),
    }[unit]


def capital(sentence: str) -> str:
    """The sentence with a capital at its start; months are written small in Spanish."""
    return sentence[:1].upper() + sentence[1:]
