"""Guesses for misspelled names, never across genera without saying so.

A guess is taken only when the nearest name is near, no other genus is nearly as near, and the species word agrees.
Everything else stays unread and is listed with proposals.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from cubital.intake.result_vocabulary import (
    genus_words,
    key_of_genus_word,
)
from cubital.reference.commensals import Standing, commensal_lists, standing
from cubital.reference.organisms import holders
from cubital.reference.spellings import epithets, fold_word, genera_of_epithet

ACCEPTED_SCORE = 88.0  # of 100: one letter in eight, on genus and species together
_LATIN = re.compile(r"[a-z]{2,}(us|um|a|is|e|i|ans|ens|ax|ix|yx|or|er|on|o|es)$")
_GENUS_LIKE = re.compile(
    r"[a-z]*(bacter|bacteri?um|bacteria|coccus|cocci|monas|ella|bacillus|bacilli|myces|mycoides|spora|phaga|plasma"
    r"|nema|vibrio|spirillum)$"
)


@dataclass(frozen=True)
class Guess:
    """A key that may be taken, or none; ``contradicts`` when genus and species belong to different organisms."""

    key: str = ""
    score: float = 0.0
    species: bool = False
    contradicts: bool = False


def looks_latin(word: str) -> bool:
    """Whether a word might be a species word of an organism that no table has."""
    return len(word) >= 4 and bool(_LATIN.match(word))


def looks_like_genus(word: str) -> bool:
    """Whether a word alone looks like the name of an organism that no table has."""
    return len(word) >= 6 and bool(_GENUS_LIKE.match(word))


@lru_cache(maxsize=16384)
def guess_species(genus: str, word: str) -> Guess:
    """The species meant by ``word`` after the (folded) word of a known genus.

    No key and no contradiction: a species the tables do not have, to be read as the genus. A contradiction: the word
    belongs to a similar genus, or resembles a species that must not be lost in its genus.
    """
    own = epithets().get(genus, {})
    near = nearest_words(word, own, _letters_off(word))
    if near and (len(near) == 1 or near[0][1] < near[1][1] or _same_key(near, own)):
        key = own[near[0][0]]
        score = _score(f"{genus} {word}", f"{genus} {near[0][0]}")
        if score >= ACCEPTED_SCORE and not _borrowed(genus, word, key):
            return Guess(key, score, species=True)
    return Guess(contradicts=bool(near) or _borrowed(genus, word) or _hides_pathogen(genus, word))


@lru_cache(maxsize=16384)
def guess_genus(word: str, epithet: str) -> Guess:
    """The genus (or species, with ``epithet``) meant by a misspelled word; ``epithet`` is empty for a word alone."""
    if len(word) < 5:
        return Guess()
    allowed = _letters_off(word)
    near = nearest_words(word, genus_words(), allowed + 1)
    if not near or near[0][1] > allowed:
        return Guess()
    best, distance = near[0]
    others = [(name, far) for name, far in near[1:] if key_of_genus_word(name) != key_of_genus_word(best)]
    if not epithet:
        tied = any(far < 2 * distance for _name, far in others)
        return Guess() if tied else _accepted(key_of_genus_word(best), word, best)
    agreeing = {_genus_meant(name) for name, far in near if far <= allowed and epithet in _species_of(name)}
    if agreeing:
        keys = {epithets()[name][epithet] for name in agreeing}
        meant = f"{min(agreeing)} {epithet}"
        return Guess() if len(keys) > 1 else _accepted(keys.pop(), f"{word} {epithet}", meant, species=True)
    if any(far <= distance + 1 for _name, far in others) or _borrowed(best, epithet):
        return Guess(contradicts=True)
    return _guess_both(_genus_meant(best), word, epithet)


def _guess_both(genus: str, word: str, epithet: str) -> Guess:
    if genus not in genus_words():  # from "ecoli", a word for one species: no other species word belongs behind it
        return Guess(contradicts=True)
    inner = guess_species(genus, epithet)
    if inner.contradicts:
        return inner
    if not inner.key:
        return _accepted(key_of_genus_word(genus), word, genus)
    written = next(name for name, key in epithets()[genus].items() if key == inner.key)
    return _accepted(inner.key, f"{word} {epithet}", f"{genus} {written}", species=True)


def _genus_meant(word: str) -> str:
    """The genus word that has the species: *corynebacteria* has those of *Corynebacterium*."""
    return word if word in epithets() else fold_word(key_of_genus_word(word))


def _species_of(word: str) -> Mapping[str, str]:
    return epithets().get(_genus_meant(word), {})


def _accepted(key: str, written: str, meant: str, *, species: bool = False) -> Guess:
    score = _score(written, meant)
    return Guess(key, score, species=species) if score >= ACCEPTED_SCORE else Guess()


def _letters_off(word: str) -> int:
    return 1 if len(word) < 8 else 2


def nearest_words(word: str, choices: Any, letters: int) -> list[tuple[str, int]]:
    """Choices at most ``letters`` edits away (insert, delete, replace, swap neighbours), nearest first."""
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    found = process.extract(word, list(choices), scorer=OSA.distance, score_cutoff=letters, limit=6)
    return sorted(((name, int(far)) for name, far, _place in found), key=lambda pair: (pair[1], pair[0]))


def _score(written: str, meant: str) -> float:
    from rapidfuzz.distance import OSA

    return round(100 * OSA.normalized_similarity(written, meant), 1)


def _same_key(near: list[tuple[str, int]], own: Any) -> bool:
    return len({own[name] for name, far in near if far == near[0][1]}) == 1


def _borrowed(genus: str, epithet: str, key: str = "") -> bool:
    """Whether the species word is that of another genus with a similar name: *Bacillus fragilis*.

    Then one of the two words is wrong, and nobody can say which. An old name of ``key`` itself is no other genus.
    """
    words = {epithet, *(near for near, _far in _near_epithets(epithet))}
    others = {name for word in words for name in genera_of_epithet().get(word, ()) if epithets()[name][word] != key}
    return any(other != genus and _similar(other, genus) and not _related(genus, other) for other in others)


def _similar(one: str, other: str) -> bool:
    from rapidfuzz.distance import OSA

    return one[:3] == other[:3] or int(OSA.distance(one, other, score_cutoff=3)) <= 3


@lru_cache(maxsize=16384)
def _near_epithets(epithet: str) -> tuple[tuple[str, int], ...]:
    return tuple(nearest_words(epithet, genera_of_epithet(), 1)) if len(epithet) >= 5 else ()


def _related(one: str, other: str) -> bool:
    first, second = key_of_genus_word(one), key_of_genus_word(other)
    return first == second or second in holders(first) or first in holders(second)


def _hides_pathogen(genus: str, word: str) -> bool:
    """Whether ``word`` resembles a species that must not be lost in its genus: *anthracis*, *diphtheriae*."""
    from rapidfuzz.distance import OSA

    return any(OSA.normalized_similarity(word, epithet) >= 0.5 for epithet in _protected(genus))


@lru_cache
def _protected(genus: str) -> tuple[str, ...]:
    key = key_of_genus_word(genus)
    kept = []
    for epithet, species in epithets().get(genus, {}).items():
        for name in commensal_lists():
            if standing(key, name) is Standing.COMMENSAL and standing(species, name) is not Standing.COMMENSAL:
                kept.append(epithet)
    return tuple(dict.fromkeys(kept))
