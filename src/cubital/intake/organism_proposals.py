"""Proposals for a name that could not be read: the nearest names, with a word on whether the genus would change."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from cubital.intake.result_tokens import split_tokens, tidy_result
from cubital.reference.organisms import Rank, organisms
from cubital.reference.spellings import laboratory_spellings, scientific_names, stain_spellings

_SAME_GENUS = 80.0  # of 100: likeness of the first words from which a proposal counts as the same genus


@dataclass(frozen=True)
class Proposal:
    """One organism that the text may mean. ``crosses_genus``: taking it would change the genus that is written."""

    key: str
    name: str
    score: float
    crosses_genus: bool


def propose_organisms(text: str, limit: int = 5) -> tuple[Proposal, ...]:
    """The nearest names to ``text``, best first, at most one line per organism. Empty for a text without letters."""
    from rapidfuzz import fuzz, process

    words = " ".join(token.word for token in split_tokens(tidy_result(text)) if token.word.isalpha())
    if not words:
        return ()
    found = process.extract(words, _names(), scorer=fuzz.WRatio, limit=limit * 6)
    best: dict[str, Proposal] = {}
    for name, score, _place in found:
        key = _names_to_keys()[name]
        if key not in best:
            best[key] = Proposal(key, organisms()[key].name, round(score, 1), _crosses(words, key))
    ranked = sorted(best.values(), key=lambda one: (one.crosses_genus, -one.score, one.key))
    return tuple(ranked[:limit])


@lru_cache
def _names_to_keys() -> dict[str, str]:
    names = {**stain_spellings(), **laboratory_spellings(), **scientific_names()}
    names |= {one.name.lower(): one.key for one in organisms().values() if one.rank is Rank.GROUP}
    return {" ".join(token.word for token in split_tokens(text)): key for text, key in names.items()}


@lru_cache
def _names() -> list[str]:
    return sorted(_names_to_keys())


def _crosses(words: str, key: str) -> bool:
    from rapidfuzz import fuzz

    genus = organisms()[key].genus
    first = words.split(maxsplit=1)[0]
    return not (genus and (genus.startswith(first) or fuzz.ratio(first, genus) >= _SAME_GENUS))
