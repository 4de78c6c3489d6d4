"""Every way of writing an organism that the tables know, as one mapping from words to a key."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from cubital.reference.organisms import Rank, organism_slug, organisms, renamed
from cubital.reference.tables import read_rows, read_settings

_DIPHTHONG = re.compile(r"(?<=[a-z])(?<!an)(?<!\bp)(ae|oe)")


def fold_word(word: str) -> str:
    """British and American spelling as one: ``haemolyticus`` and ``hemolyticus`` fold to the same word.

    The ``ae`` of *anaero-*, *aero-* and *paeni-* stays, so that *Anaerococcus* and *Aerococcus* keep their distance.
    """
    return _DIPHTHONG.sub("e", word.lower())


@lru_cache
def scientific_names() -> Mapping[str, str]:
    """Current and old scientific names (lower case) to keys; *Bacillus megaterium* leads to *Priestia megaterium*."""
    taxa = (Rank.SPECIES, Rank.SUBSPECIES, Rank.GENUS)
    names = {old.lower(): organism_slug(current) for old, current in renamed().items()}
    names |= {one.name.lower(): one.key for one in organisms().values() if one.rank in taxa}
    return MappingProxyType(names)


@lru_cache
def laboratory_spellings() -> Mapping[str, str]:
    """Abbreviations, group names and habits of writing (lower case) to keys."""
    return MappingProxyType({row["text"]: row["key"] for row in read_rows("spellings")})


@lru_cache
def stain_spellings() -> Mapping[str, str]:
    """What a Gram stain shows (lower case) to the keys of its phrases."""
    return MappingProxyType({row["text"]: row["key"] for row in read_rows("stains")})


@lru_cache
def word_forms() -> Mapping[str, str]:
    """Short and plural forms of single words to the word that the tables use: ``staph`` to ``staphylococcus``."""
    forms = {row["text"]: row["genus"].lower() for row in read_rows("genus_words")}
    forms |= {form: word for word, short in read_settings("word_forms").items() for form in short["forms"]}
    return MappingProxyType(forms)


@lru_cache
def epithets() -> Mapping[str, Mapping[str, str]]:
    """Genus word (folded) to its species words (folded) to keys, under the old genus too."""
    by_genus: dict[str, dict[str, str]] = defaultdict(dict)
    for name, key in scientific_names().items():
        words = [fold_word(word) for word in name.split()]
        if len(words) == 2:
            by_genus[words[0]].setdefault(words[1], key)
    return MappingProxyType(dict(by_genus))


@lru_cache
def genera_of_epithet() -> Mapping[str, tuple[str, ...]]:
    """Species word (folded) to every genus word (folded) that has it."""
    genera: dict[str, list[str]] = defaultdict(list)
    for genus, words in epithets().items():
        for word in words:
            genera[word].append(genus)
    return MappingProxyType({word: tuple(found) for word, found in genera.items()})
