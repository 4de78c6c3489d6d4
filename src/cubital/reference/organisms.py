"""Organisms as this project knows them: species, genera, groups and stain phrases, and which of them hold which.

A *parent* is the next wider thing: the group a species belongs to, its genus, the genus it was split off from.
Keys are slugs of the current name (``staphylococcus-epidermidis``); old names lead to the current one. No codes of
any terminology are shipped; ``codes`` lets a laboratory bring its own.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType

from cubital.reference.tables import read_rows


class Rank(StrEnum):
    SPECIES = "species"
    SUBSPECIES = "subspecies"
    GENUS = "genus"
    GROUP = "group"  # several species or genera that a laboratory names as one
    PHRASE = "phrase"  # what a stain or a plate shows, before there is a name


@dataclass(frozen=True, kw_only=True)
class Organism:
    """One thing a laboratory may name. ``gram`` is positive, negative, variable, none (fungi) or empty (not known).

    ``genus`` is the key of the genus, empty for what spans several. ``caution`` is a sentence to show beside it.
    """

    key: str
    name: str
    rank: Rank
    genus: str
    gram: str
    parents: tuple[str, ...]
    source: str
    kind: str = "bacterium"
    caution: str = ""


def organism_slug(name: str) -> str:
    """``Staphylococcus epidermidis`` as ``staphylococcus-epidermidis``."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


@lru_cache
def organisms() -> Mapping[str, Organism]:
    """Every organism by its key."""
    cautions = {row["key"]: row["words"] for row in read_rows("cautions")}
    known: dict[str, Organism] = {}
    for organism in (*_groups(cautions), *_taxa(cautions)):
        known.setdefault(organism.key, organism)
    return MappingProxyType(known)


@lru_cache
def renamed() -> Mapping[str, str]:
    """Old scientific name to current scientific name, followed to the end."""
    steps = {row["old"]: row["current"] for row in read_rows("renamed")}

    def last(name: str) -> str:
        seen = {name}
        while steps.get(name, name) not in seen:
            name = steps[name]
            seen.add(name)
        return name

    return MappingProxyType({old: last(old) for old in steps})


@lru_cache(maxsize=8192)
def ancestors(key: str) -> tuple[tuple[str, ...], ...]:
    """What holds ``key``, nearest first, in levels: groups and genus, then what holds those. Empty for unknown keys."""
    known, levels = organisms(), []
    seen, here = {key}, [key]
    while here:
        wider = dict.fromkeys(parent for name in here if name in known for parent in known[name].parents)
        here = [parent for parent in wider if parent not in seen]
        seen.update(here)
        if here:
            levels.append(tuple(here))
    return tuple(levels)


def holders(key: str) -> frozenset[str]:
    """Every ancestor of ``key`` in one set."""
    return frozenset(parent for level in ancestors(key) for parent in level)


def same_organism(a: str, b: str) -> bool:
    """Equal, or one holds the other: a genus matches its species, a group its members, two species never.

    Unknown keys match only themselves; the empty key (unread text) matches nothing.
    """
    if not a or not b:
        return False
    return a == b or a in holders(b) or b in holders(a)


def _groups(cautions: Mapping[str, str]) -> Iterator[Organism]:
    for row in read_rows("groups"):
        yield Organism(
            key=row["key"], name=row["name"], rank=Rank(row["rank"]), genus=row["genus"], gram=row["gram"],
            parents=tuple(row["parents"].split()), source=row["source"],
            kind="fungus" if row["gram"] == "none" else "bacterium", caution=cautions.get(row["key"], ""),
        )  # fmt: skip


def _taxa(cautions: Mapping[str, str]) -> Iterator[Organism]:
    memberships = _memberships()
    for row in read_rows("genera"):
        genus = organism_slug(row["genus"])
        names = [row["genus"], *(f"{row['genus']} {epithet.replace('/', ' ')}" for epithet in row["species"].split())]
        for name in names:
            key, words = organism_slug(name), name.split()
            yield Organism(
                key=key, name=name, rank=(Rank.GENUS, Rank.SPECIES, Rank.SUBSPECIES)[len(words) - 1], genus=genus,
                gram=row["gram"], kind=row["kind"], source=row["source"], caution=cautions.get(key, ""),
                parents=tuple(dict.fromkeys((*memberships[key], *_next_wider(words, row["within"])))),
            )  # fmt: skip


def _next_wider(words: list[str], within: str) -> tuple[str, ...]:
    if len(words) == 1:
        return (within,) if within else ()
    if len(words) == 2:
        return (organism_slug(words[0]),)
    species = f"{words[0]} {words[1]}"
    return (organism_slug(renamed().get(species, species)), organism_slug(words[0]))


def _memberships() -> dict[str, list[str]]:
    groups: dict[str, list[str]] = defaultdict(list)
    for row in read_rows("members"):
        for epithet in row["species"].split():
            groups[organism_slug(f"{row['genus']} {epithet}")].append(row["group"])
    return groups
