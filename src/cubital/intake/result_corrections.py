"""Puts right what is not a matter of names: a letter off in *growth*, a name cut in two by a space."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from cubital.intake.organism_guess import nearest_words
from cubital.intake.result_tokens import Token, table_word
from cubital.intake.result_vocabulary import known_words, phrase_words, taxon_words
from cubital.reference.spellings import fold_word

_JOINING = frozenset({"-", "."})


def correct_tokens(tokens: Sequence[Token]) -> list[Token]:
    """The tokens with misspelled phrase words corrected and names cut in two joined (*Bacillu s*, *Micro-coccus*)."""
    joined: list[Token] = []
    for token in tokens:
        place = _cut_from(joined, token)
        if place is None:
            joined.append(token._replace(word=correct_phrase_word(token.word)))
        else:
            first = joined[place]
            del joined[place:]
            whole = table_word(first.raw + token.raw)
            joined.append(Token(whole, f"{first.raw} {token.raw}", first.start, token.end))
    return joined


def _cut_from(before: Sequence[Token], second: Token) -> int | None:
    """The place of the word that ``second`` is the rest of, over a space or a mark without spaces; none otherwise."""
    place = len(before) - 1
    if place >= 1 and before[place].raw in _JOINING and before[place - 1].end + 1 == second.start:
        place -= 1
    if place < 0 or not (before[place].raw.isalpha() and second.raw.isalpha()):
        return None
    return place if _is_cut_name(before[place].raw, second.raw) else None


@lru_cache(maxsize=16384)
def correct_phrase_word(word: str) -> str:
    """``grwoth`` to ``growth``: one letter off a phrase's word and not near any organism's; else the word itself."""
    if len(word) < 5 or not word.isalpha() or word in known_words():
        return word
    near = nearest_words(word, phrase_words(), 1)
    if len(near) != 1 or nearest_words(word, taxon_words(), 1):
        return word
    return near[0][0]


@lru_cache(maxsize=16384)
def _is_cut_name(first: str, second: str) -> bool:
    """Whether two written words are one name with a space in it, or with a space for one of its letters."""
    before, after, whole = fold_word(first), table_word(second), table_word(first + second)
    if before in taxon_words():
        return False
    if whole in taxon_words():
        return True
    unknown = {before, after} - known_words()
    if (
        not unknown
        or len(whole) < 7
        or any(len(word) > 4 and nearest_words(word, taxon_words(), 1) for word in unknown)
    ):
        return False
    return bool(nearest_words(whole, taxon_words(), 1))
