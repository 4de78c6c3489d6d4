"""All known phrases and names in one tree of words, so that the longest one at a place is found in one walk."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from cubital.intake.result_tokens import split_tokens
from cubital.reference.organisms import organisms
from cubital.reference.phrases import Meaning, phrases, plain_words
from cubital.reference.spellings import (
    epithets,
    genera_of_epithet,
    laboratory_spellings,
    scientific_names,
    stain_spellings,
)

ORGANISM, STAIN = "organism", "stain"
SKIPPED_IN_NAMES = frozenset({".", "-", ",", "'", '"', "*", "#", "species", "subspecies"})


class Entry(NamedTuple):
    """What a run of words means: an organism or stain with its key, or a phrase. ``name`` is set for current names."""

    kind: str
    key: str = ""
    name: str = ""


class Node:
    """One word of the tree: what follows it, and what it means when the run of words ends here."""

    __slots__ = ("entry", "following")

    def __init__(self) -> None:
        self.following: dict[str, Node] = {}
        self.entry: Entry | None = None


@lru_cache
def vocabulary() -> Node:
    """The tree of every name, spelling, stain phrase, phrase and plain word; the first meaning of a run stays."""
    root = Node()
    for text, entry in _entries():
        node = root
        for token in split_tokens(text):
            if token.word not in SKIPPED_IN_NAMES or token.raw in ("species", "subspecies"):
                node = node.following.setdefault(token.word, Node())
        if node.entry is None and node is not root:
            node.entry = entry
    return root


def _entries() -> Iterator[tuple[str, Entry]]:
    for one in organisms().values():
        if one.rank != "phrase":
            yield one.name, Entry(ORGANISM, one.key, one.name.lower())
    for name, key in scientific_names().items():
        yield name, Entry(ORGANISM, key)
    for text, key in laboratory_spellings().items():
        yield text, Entry(ORGANISM, key)
    for text, key in stain_spellings().items():
        yield text, Entry(STAIN, key)
    for text, meaning in phrases().items():
        yield text, Entry(meaning)
    for word in plain_words():
        yield word, Entry(Meaning.NOISE)


@lru_cache
def genus_words() -> frozenset[str]:
    """Single words (folded) that name an organism alone: genera, old genera, ``diphtheroids``, ``coliform`` …"""
    return frozenset(
        word for word, node in vocabulary().following.items() if node.entry is not None and node.entry.kind == ORGANISM
    )


@lru_cache
def key_of_genus_word(word: str) -> str:
    """The organism key of one of ``genus_words``."""
    entry = vocabulary().following[word].entry
    return entry.key if entry else ""


@lru_cache
def phrase_words() -> frozenset[str]:
    """Longer words of the phrases and group names, for the correction of single letters."""
    texts = (*phrases(), *stain_spellings(), *laboratory_spellings())
    words = {token.word for text in texts for token in split_tokens(text)}
    return frozenset(word for word in words - taxon_words() if len(word) >= 5)


@lru_cache
def taxon_words() -> frozenset[str]:
    """Every genus and species word (folded)."""
    return frozenset(epithets()) | frozenset(genera_of_epithet()) | genus_words()


@lru_cache
def known_words() -> frozenset[str]:
    """Every word that any table uses."""

    def walk(node: Node) -> Iterator[str]:
        for word, child in node.following.items():
            yield word
            yield from walk(child)

    return frozenset(walk(vocabulary())) | taxon_words()
