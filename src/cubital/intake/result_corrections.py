"""Puts right what is not a matter of names: a letter off in *growth*, a name cut in two by a space."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from cubital.intake.organism_guess import nearest_words
from cubital.intake.result_tokens import Token, table_word
from cubital.intake.result_vocabulary import known_words, phrase_words, taxon_words


def correct_tokens(tokens: Sequence[Token]) -> list[Token]:
    """The tokens with misspelled phrase words corrected and names cut in two joined (*Bacillu s subtilis*)."""
    joined: list[Token] = []
    for token in tokens:
        last = joined[-1] if joined else None
        if last is not None and _was_cut(last, token):
            joined[-1] = Token(table_word(last.raw + token.raw), last.raw + token.raw, last.start, token.end)
        else:
            joined.append(token._replace(word=correct_phrase_word(token.word)))
    return joined


@lru_cache(maxsize=16384)
def correct_phrase_word(word: str) -> str:
    """``grwoth`` to ``growth``: one letter off a phrase's word and not near any organism's; else the word itself."""
    if len(word) < 5 or not word.isalpha() or word in known_words():
        return word
    near = nearest_words(word, phrase_words(), 1)
    if len(near) != 1 or nearest_words(word, taxon_words(), 1):
        return word
    return near[0][0]


def _was_cut(first: Token, second: Token) -> bool:
    whole = table_word(first.raw + second.raw)
    return first.word.isalpha() and first.word not in taxon_words() and whole in taxon_words()
