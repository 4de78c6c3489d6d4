"""Codes of LOINC and SNOMED CT that exports of blood cultures carry, and the words they stand for here.

A short list for reading results that come with a code and no usable words; it is no copy of either code system.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType

from cubital.reference.organisms import organisms
from cubital.reference.tables import read_rows


class CodeMeaning(StrEnum):
    """What a code names. A PLAIN_CULTURE is one of blood only when the specimen is; a GROUP heads others."""

    CULTURE = "culture"
    OTHER_CULTURE = "other_culture"
    PLAIN_CULTURE = "plain_culture"
    STAIN = "stain"
    ORGANISM_TEST = "organism_test"
    SUSCEPTIBILITY = "susceptibility"
    GROUP = "group"
    SPECIMEN = "specimen"
    SITE = "site"
    METHOD = "method"
    ORGANISM = "organism"
    FINDING = "finding"


@dataclass(frozen=True)
class StandardCode:
    """``words`` are English words that the readers of laboratory text know; ``organism_key`` only of organisms."""

    meaning: CodeMeaning
    words: str
    organism_key: str = ""


@lru_cache
def standard_codes() -> Mapping[tuple[str, str], StandardCode]:
    """Every shipped code by system (``loinc``, ``snomed``) and code."""
    return MappingProxyType({(row["system"], row["code"]): _read(row) for row in read_rows("standard_codes")})


def _read(row: Mapping[str, str]) -> StandardCode:
    meaning = CodeMeaning(row["meaning"])
    if meaning is CodeMeaning.ORGANISM:
        return StandardCode(meaning, organisms()[row["reads"]].name, row["reads"])
    return StandardCode(meaning, row["reads"])
