"""Weighs the pieces of a result: what grew, what is denied, and what else the text says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cubital.intake.result_scan import COMMA, UNREAD, WORD, Piece
from cubital.intake.result_vocabulary import ORGANISM, STAIN
from cubital.reference.organisms import Rank, holders, organisms
from cubital.reference.phrases import Meaning

_MEANINGS = frozenset(Meaning)
_UNNAMED = "growth-unnamed"
_VAGUE = frozenset(
    {_UNNAMED, "mixed-flora", "skin-flora", "anaerobe", "aerobe"}
)  # said beside a name, they add nothing
_SEPARATES = frozenset({COMMA, Meaning.BREAK, Meaning.AND, Meaning.VERB})


@dataclass(frozen=True)
class Grown:
    """``named``: organisms, stains and unread names, denied or not. ``meanings``: the phrases beside them."""

    named: tuple[Piece, ...]
    meanings: frozenset[str]
    unknown_words: bool

    @property
    def positive(self) -> tuple[Piece, ...]:
        return tuple(piece for piece in self.named if not piece.denied_by)


def weigh_growth(pieces: Sequence[Piece]) -> Grown:
    """Drops repeats, the genus beside its species, vague words beside names, and stains that a name explains."""
    meanings = frozenset(piece.kind for piece in pieces) & _MEANINGS
    unknown = any(piece.kind == WORD for piece in pieces)
    named = _without_repeats(_joined(pieces))
    named = [piece for piece in named if piece.denied_by or not _explained(piece, named)]
    if not any(not piece.denied_by for piece in named) and Meaning.GROWTH in meanings and not unknown:
        named = [*named, _unnamed(pieces)]
    return Grown(tuple(named), meanings, unknown)


def _joined(pieces: Sequence[Piece]) -> list[Piece]:
    """Related names with only plain words or parentheses between are one: *Corynebacterium (diphtheroids)*."""
    joined: list[Piece] = []
    fresh = True
    for piece in pieces:
        if piece.kind in _SEPARATES:
            fresh = True
        elif piece.names_something:
            last = joined[-1] if joined and not fresh else None
            if last is not None and not last.denied_by and not piece.denied_by and _related(last.key, piece.key):
                kept = last if last.key == piece.key or piece.key in holders(last.key) else piece
                joined[-1] = replace(kept, significant=last.significant or piece.significant)
            else:
                joined.append(piece)
            fresh = False
    return joined


def _related(a: str, b: str) -> bool:
    return bool(a and b) and (a == b or a in holders(b) or b in holders(a))


def _without_repeats(named: Sequence[Piece]) -> list[Piece]:
    if len(named) < 2:
        return list(named)
    first: dict[tuple[str, bool, int], Piece] = {}
    for place, piece in enumerate(named):
        distinct = place if piece.kind == UNREAD else -1
        first.setdefault((piece.key, bool(piece.denied_by), distinct), piece)
    return list(first.values())


def _explained(piece: Piece, named: Sequence[Piece]) -> bool:
    """Whether a named organism of the same text says more than this stain or vague phrase."""
    if piece.kind == UNREAD or organisms()[piece.key].rank is not Rank.PHRASE:
        return False
    if any(piece.key in holders(one.key) for one in named if not one.denied_by):
        return True
    others = [one for one in named if one.kind == ORGANISM and not one.denied_by and one is not piece]
    if piece.key in _VAGUE:
        return any(one.key not in _VAGUE for one in others) or any(one.kind in (STAIN, UNREAD) for one in named)
    grams = {organisms()[one.key].gram for one in others if organisms()[one.key].rank is not Rank.PHRASE}
    return organisms()[piece.key].gram in grams


def _unnamed(pieces: Sequence[Piece]) -> Piece:
    said = next(piece for piece in pieces if piece.kind == Meaning.GROWTH)
    return replace(said, kind=ORGANISM, key=_UNNAMED)
