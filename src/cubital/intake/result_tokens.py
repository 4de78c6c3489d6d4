"""Cuts a result's text into words and marks, with every word in the form that the tables use."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

from cubital.reference.spellings import fold_word, word_forms

_TOKEN = re.compile(r"[^\W\d_]+|\d+|\n|[^\w\s]")
_SPACES = re.compile(r"[^\S\n]+")
_GREEK = str.maketrans({"α": " alpha ", "β": " beta ", "γ": " gamma ", "’": "'", "–": "-", "—": "-", "_": " "})
_COAGULASE = re.compile(r"\b(coag(?:ulase)?)[\s.]*[(/]?\s*([+-])(?:ve)?\s*\)?(?=[\s,;.)]|$)", re.IGNORECASE)
_GRAM = re.compile(r"\b(gram)\s*[(]?\s*([+-])\s*(?:ve)?\)?(?=\s)", re.IGNORECASE)
_SIGNS = {"+": " positive ", "-": " negative "}


class Token(NamedTuple):
    """One word, number or mark: ``word`` as the tables write it, ``raw`` as written, and its place in the text."""

    word: str
    raw: str
    start: int
    end: int


def tidy_result(text: str) -> str:
    """The text under which a reading is remembered: lower case, single spaces, no space or full stop at the ends."""
    return " ".join(unicodedata.normalize("NFKC", text).lower().split()).strip(" .;,")


def plain_result(text: str) -> str:
    """The text with one form of spaces, dashes, Greek letters and plus or minus signs; lines stay lines."""
    text = unicodedata.normalize("NFKC", text).replace("\r\n", "\n").replace("\r", "\n").translate(_GREEK)
    text = _COAGULASE.sub(lambda found: found[1] + _SIGNS[found[2]], text)
    text = _GRAM.sub(lambda found: found[1] + _SIGNS[found[2]], text)
    return _SPACES.sub(" ", text).strip()


def split_tokens(text: str) -> list[Token]:
    """The words, numbers and marks of a plain text in order."""
    return [
        Token(table_word(found[0]), found[0].lower(), found.start(), found.end()) for found in _TOKEN.finditer(text)
    ]


@lru_cache(maxsize=65536)
def table_word(word: str) -> str:
    """A single word as the tables use it: lower case, folded, long form (``Staph`` to ``staphylococcus``)."""
    lower = word.lower()
    return fold_word(word_forms().get(lower, lower))
