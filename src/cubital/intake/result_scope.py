"""Decides which organisms of a text are denied: *no … isolated*, *… not detected*, *(not …)*."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from cubital.intake.result_scan import CLOSE, COMMA, OPEN, WORD, Piece
from cubital.reference.phrases import Meaning
from cubital.reference.spellings import genera_of_epithet

_FORWARD = "no"
_REACHES_OVER_COMMAS = frozenset({_FORWARD, "without", "negative", "absence"})
_EXCEPTIONS = frozenset({"other", "except", "excluding"})
_STOPS_LOOKING_BACK = frozenset({COMMA, Meaning.BREAK, Meaning.VERB})


@dataclass
class _Reach:
    """The denial in force, those suspended by an open parenthesis, and whether the clause has denied already."""

    word: str = ""
    outer: list[str] = field(default_factory=list)
    clause_denies: bool = False
    has_denied: bool = False


def mark_denials(pieces: Sequence[Piece]) -> None:
    """Writes ``denied_by`` into every piece whose organism the text denies.

    A denial in front reaches to the end of the clause, its verb (*isolated*) or its parenthesis; *not*, unlike *no*,
    stops at a comma. A denial behind reaches back to the last comma or verb. What is left open is growth.
    """
    reach = _Reach()
    for place, piece in enumerate(pieces):
        if piece.names_something:
            piece.denied_by = piece.denied_by or reach.word
            reach.has_denied = bool(reach.word)
        elif piece.kind == Meaning.NOT_AFTER:
            if not _deny_back(pieces[:place]):  # "Not detected: Staphylococcus aureus"
                reach.word, reach.clause_denies, reach.has_denied = _FORWARD, True, False
        elif piece.kind == Meaning.NEGATIVE:
            _deny_nearest(pieces[:place], piece)
        else:
            _move_reach(reach, piece)


def _move_reach(reach: _Reach, piece: Piece) -> None:
    if piece.kind == Meaning.BREAK:
        reach.word, reach.clause_denies = "", False
    elif piece.kind == Meaning.NOT_BEFORE:
        excepted = piece.word in _EXCEPTIONS and reach.clause_denies
        reach.word, reach.clause_denies, reach.has_denied = "" if excepted else piece.word, True, False
    elif piece.kind in (Meaning.NO_GROWTH, Meaning.NO_GROWTH_SO_FAR):
        reach.clause_denies = True
    elif piece.kind == OPEN:
        reach.outer.append(reach.word)
    elif piece.kind == CLOSE:
        reach.word = reach.outer.pop() if reach.outer else ""
    elif _ends_reach(reach, piece):
        reach.word = ""


def _ends_reach(reach: _Reach, piece: Piece) -> bool:
    if piece.kind == Meaning.VERB:
        return reach.has_denied
    if piece.kind == WORD:  # "non-aureus staphylococcus": only the species word is denied
        return piece.word in genera_of_epithet() and reach.word not in _REACHES_OVER_COMMAS
    return piece.kind == COMMA and piece.word == "," and reach.word not in _REACHES_OVER_COMMAS


def _deny_back(before: Sequence[Piece]) -> bool:
    """Denies the names back to the last comma or verb; a comma just before the denial does not count. Whether any."""
    found = False
    for distance, piece in enumerate(reversed(before)):
        if piece.kind in _STOPS_LOOKING_BACK and not (piece.kind == COMMA and distance == 0):
            break
        if piece.names_something:
            piece.denied_by, found = Meaning.NOT_AFTER, True
    return found


def _deny_nearest(before: Sequence[Piece], negative: Piece) -> None:
    """*MRSA negative*: the organism just before, with nothing but plain words between. Alone it means no growth."""
    for piece in reversed(before):
        if piece.names_something:
            piece.denied_by = negative.word
            return
        if piece.kind != Meaning.NOISE:
            break
    negative.kind = Meaning.NO_GROWTH


def mark_significance(pieces: Sequence[Piece]) -> None:
    """What the laboratory judged significant: the names before it in its sentence, or else every name of the text."""
    for place, piece in enumerate(pieces):
        if piece.kind == Meaning.SIGNIFICANT:
            start = max((at for at, one in enumerate(pieces[:place]) if one.kind == Meaning.BREAK), default=-1)
            meant = [one for one in pieces[start + 1 : place] if one.names_something]
            for one in meant or [one for one in pieces if one.names_something]:
                one.significant = True
