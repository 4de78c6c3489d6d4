"""Whether an organism stands on a published list of usual skin or environmental organisms.

A list is for counting; it is never a judgement that a patient's result is contamination.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType

from cubital.domain.errors import CharterProblem
from cubital.reference.organisms import Rank, ancestors, organisms
from cubital.reference.tables import read_settings, sources


class Standing(StrEnum):
    COMMENSAL = "commensal"
    OTHER = "other"  # a named organism that the list does not count
    UNRESOLVED = "unresolved"  # a bare Staphylococcus or Streptococcus, a stain phrase, something unknown


@dataclass(frozen=True, kw_only=True)
class CommensalList:
    """One published list as rules on keys: ``include`` and ``exclude`` reach what a key holds, ``unresolved`` do not.

    ``confidence`` says what was read in the source and what is from memory; ``notes`` the reason of single rules.
    """

    key: str
    title: str
    source: str
    confidence: str
    include: frozenset[str]
    exclude: frozenset[str]
    unresolved: frozenset[str]
    notes: Mapping[str, str]


@lru_cache
def commensal_lists() -> Mapping[str, CommensalList]:
    """The shipped lists: ``short`` (CAP, CLSI), ``ecdc``, ``surveillance_2020`` (NHSN, January 2020)."""
    return MappingProxyType({key: _build_list(key, values) for key, values in read_settings("lists").items()})


@lru_cache(maxsize=16384)
def standing(organism_key: str, list_key: str) -> Standing:
    """How ``organism_key`` stands on the list: the nearest rule on the way from the organism upwards decides.

    A key that no table knows, or an empty one, is unresolved. An unknown list raises ``CharterProblem``.
    """
    commensals = _known_list(list_key)
    organism = organisms().get(organism_key)
    if organism is None or organism_key in commensals.unresolved:
        return Standing.UNRESOLVED
    for level in ((organism_key,), *ancestors(organism_key)):
        if not commensals.exclude.isdisjoint(level):
            return Standing.OTHER
        if not commensals.include.isdisjoint(level):
            return Standing.COMMENSAL
    return Standing.UNRESOLVED if organism.rank is Rank.PHRASE else Standing.OTHER


def listed_keys(list_key: str) -> frozenset[str]:
    """Every organism key that stands as a commensal on the list: the form in which a judge joins it."""
    return frozenset(key for key in organisms() if standing(key, list_key) is Standing.COMMENSAL)


def _known_list(key: str) -> CommensalList:
    try:
        return commensal_lists()[key]
    except KeyError:
        choices = ", ".join(commensal_lists())
        raise CharterProblem(f"there is no commensal list '{key}'.", fix=f"Choose one of: {choices}.") from None


def _build_list(key: str, values: dict[str, object]) -> CommensalList:
    def names(field: str) -> frozenset[str]:
        listed = values[field]
        assert isinstance(listed, list)  # noqa: S101 - our own data file
        return frozenset(listed)

    notes = values.get("notes", {})
    assert isinstance(notes, dict)  # noqa: S101 - our own data file
    return CommensalList(
        key=key, title=str(values["title"]), source=sources()[str(values["source"])].title,
        confidence=str(values["confidence"]), include=names("include"), exclude=names("exclude"),
        unresolved=names("unresolved"), notes=MappingProxyType(notes),
    )  # fmt: skip
