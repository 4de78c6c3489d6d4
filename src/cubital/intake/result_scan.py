"""Walks over the words of a result and cuts it into pieces: organisms, phrases, marks, and words not known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.domain.cultures import Match
from cubital.intake.result_tokens import Token
from cubital.intake.result_vocabulary import ORGANISM, SKIPPED_IN_NAMES, STAIN, Entry, Node, vocabulary
from cubital.reference.phrases import Meaning
from cubital.reference.spellings import epithets, genera_of_epithet

WORD, COMMA, OPEN, CLOSE = "word", "comma", "open", "close"
UNREAD = "unread"  # names an organism, but nobody can say which
_NAMING = frozenset({ORGANISM, STAIN, UNREAD})
_MARKS = {
    ";": Meaning.BREAK, "|": Meaning.BREAK, "\n": Meaning.BREAK, ",": COMMA, "/": COMMA, "&": Meaning.AND,
    "+": Meaning.AND, "(": OPEN, ")": CLOSE, "[": OPEN, "]": CLOSE,
}  # fmt: skip
_STAYS_IN_SENTENCE = frozenset({"or", "and", "nor"})


@dataclass(slots=True)
class Piece:
    """A run of tokens with one meaning. ``denied_by`` is the word that says it did not grow, ``significant`` whether
    the laboratory says that it was judged so."""

    kind: str
    start: int
    end: int
    word: str
    key: str = ""
    match: Match = Match.EXACT
    score: float = 100.0
    denied_by: str = ""
    significant: bool = False

    @property
    def names_something(self) -> bool:
        return self.kind in _NAMING


def scan(tokens: Sequence[Token]) -> list[Piece]:
    """The pieces of a text in order. Whitespace and full stops inside names leave no piece."""
    pieces: list[Piece] = []
    genus, place = "", 0
    while place < len(tokens):
        context = "" if pieces and pieces[-1].kind == WORD else genus
        piece, place = _next_piece(tokens, place, context)
        if piece is None:
            continue
        if piece.kind == ORGANISM:
            genus = _genus_word(piece) or genus
        pieces.append(piece)
    return pieces


def _next_piece(tokens: Sequence[Token], place: int, genus: str) -> tuple[Piece | None, int]:
    token = tokens[place]
    if token.word.isdigit():
        return None, place + 1
    entry, after = _longest(tokens, place)
    if entry is not None and entry.kind in (ORGANISM, STAIN):
        return _named(tokens, place, after, entry), after
    short = _abbreviation(tokens, place, genus) if entry is None or entry.kind == Meaning.NOISE else None
    if short is not None:
        return short
    if entry is not None:
        return Piece(entry.kind, token.start, tokens[after - 1].end, token.word), after
    return _single(tokens, place, genus), place + 1


def _longest(tokens: Sequence[Token], place: int) -> tuple[Entry | None, int]:
    """The longest known run from ``place`` on, and the place after it."""
    first = vocabulary().following.get(tokens[place].word)
    if first is None:
        return None, place
    return _walk(tokens, place, place + 1, first)


def _walk(tokens: Sequence[Token], start: int, here: int, node: Node) -> tuple[Entry | None, int]:
    """Walks on from a node that was reached at ``here``; the last meaning on the way and the place after it."""
    best, after = node.entry, here
    while here < len(tokens):
        step = node.following.get(tokens[here].word)
        if step is None:
            if tokens[here].word not in SKIPPED_IN_NAMES:
                break
            here += 1
            continue
        node, here = step, here + 1
        if node.entry is not None and _holds_together(tokens, start, here, node.entry):
            best, after = node.entry, here
    return best, after


def _holds_together(tokens: Sequence[Token], start: int, stop: int, entry: Entry) -> bool:
    """Phrases do not reach over commas and sentences: *growth. negative* is not *growth negative*."""
    if entry.kind in (ORGANISM, STAIN) or stop - start < 2:
        return True
    return all(
        token.word not in (",", ".") or (token.word == "." and tokens[index].end == tokens[index + 1].start)
        for index, token in enumerate(tokens[start : stop - 1], start)
    )


def _named(tokens: Sequence[Token], place: int, after: int, entry: Entry) -> Piece:
    run = tokens[place:after]
    written = " ".join(token.raw for token in run if token.raw not in SKIPPED_IN_NAMES)
    exact = Match.EXACT if entry.name and written == entry.name else Match.SYNONYM
    return Piece(entry.kind, run[0].start, run[-1].end, run[0].word, key=entry.key, match=exact)


def _abbreviation(tokens: Sequence[Token], place: int, genus: str) -> tuple[Piece, int] | None:
    """*E. coli*, *Staph. aureus*, *Entero faecalis*: the start of a genus and a species word of it."""
    second = place + 1
    while second < len(tokens) and tokens[second].word in (".", "-"):
        second += 1
    if second >= len(tokens) or not tokens[place].word.isalpha():
        return None
    start, epithet = tokens[place].word, tokens[second].word
    fitting = [name for name in genera_of_epithet().get(epithet, ()) if name.startswith(start) and name != start]
    if not fitting:
        return None
    if len({epithets()[name][epithet] for name in fitting}) > 1 and genus in fitting:
        fitting = [genus]
    if len({epithets()[name][epithet] for name in fitting}) > 1:
        return Piece(UNREAD, tokens[place].start, tokens[second].end, start), second + 1
    binomial = vocabulary().following[fitting[0]].following[epithet]
    entry, after = _walk(tokens, place, second + 1, binomial)  # "S. schleiferi subsp. coagulans"
    key = entry.key if entry is not None else epithets()[fitting[0]][epithet]
    return Piece(ORGANISM, tokens[place].start, tokens[after - 1].end, fitting[0], key, Match.SYNONYM), after


def _single(tokens: Sequence[Token], place: int, genus: str) -> Piece | None:
    token = tokens[place]
    if token.word == ".":
        return Piece(Meaning.BREAK, token.start, token.end, ".") if _ends_sentence(tokens, place) else None
    if token.word in _MARKS:
        return Piece(_MARKS[token.word], token.start, token.end, token.word)
    if not token.word.isalpha():
        return None
    key = epithets().get(genus, {}).get(token.word)
    if key:  # "Bacillus sp (not anthracis)", "Staphylococcus capitis and hominis"
        return Piece(ORGANISM, token.start, token.end, genus, key=key, match=Match.SYNONYM)
    return Piece(WORD, token.start, token.end, token.word)


def _ends_sentence(tokens: Sequence[Token], place: int) -> bool:
    """A full stop before a space ends a sentence, unless it belongs to a single letter or to *sp. or …*."""
    if place + 1 < len(tokens) and tokens[place + 1].start == tokens[place].end:
        return False
    before = tokens[place - 1].word if place else ""
    follows = tokens[place + 1].word if place + 1 < len(tokens) else ""
    if before == "species" and follows in _STAYS_IN_SENTENCE:
        return False
    return len(before) > 1 or before.isdigit()


def _genus_word(piece: Piece) -> str:
    return piece.word if piece.word in epithets() else ""
