"""Phrases of a result that name no organism, and the plain words around one."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType

from cubital.reference.tables import read_rows, read_settings


class Meaning(StrEnum):
    """What a phrase does to the reading of the text around it."""

    NO_GROWTH = "no_growth"
    NO_GROWTH_SO_FAR = "no_growth_so_far"
    PENDING = "pending"
    CANCELLED = "cancelled"
    REJECTED = "rejected"
    GROWTH = "growth"  # growth without a name
    NOT_BEFORE = "not_before"  # denies what follows it
    NOT_AFTER = "not_after"  # denies what stands before it
    NEGATIVE = "negative"  # denies what stands before it; alone it is no growth
    VERB = "verb"  # ends the reach of a denial
    AND = "and"
    SIGNIFICANT = "significant"  # the laboratory says that what grew was judged significant
    BREAK = "break"
    NOISE = "noise"


@lru_cache
def phrases() -> Mapping[str, Meaning]:
    """Phrase (lower case) to its meaning; the longest phrase wins when reading."""
    return MappingProxyType({row["text"]: Meaning(row["meaning"]) for row in read_rows("phrases")})


@lru_cache
def plain_words() -> frozenset[str]:
    """Words of quantity, bottles, doubt, resistance and telephone notes: they name no organism."""
    return frozenset(word for words in read_settings("reading_words").values() for word in words.split())
