"""Reads a culture's result as a laboratory writes it: which organisms grew, which are denied, or why there is none.

Nothing is guessed across genera, and what could not be read is listed and never becomes *other*.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

from cubital.domain.cultures import Match
from cubital.intake.organism_proposals import Proposal, propose_organisms
from cubital.intake.result_corrections import correct_tokens
from cubital.intake.result_growth import Grown, weigh_growth
from cubital.intake.result_notes import Note, note_words
from cubital.intake.result_scan import UNREAD, WORD, Piece, scan
from cubital.intake.result_scope import mark_denials, mark_significance
from cubital.intake.result_tokens import plain_result, split_tokens, tidy_result
from cubital.intake.result_vocabulary import STAIN
from cubital.intake.result_words import settle_words
from cubital.reference.organisms import organisms
from cubital.reference.phrases import Meaning

__all__ = [
    "OrganismReading", "Proposal", "ResultKind", "ResultReading", "propose_organisms", "read_result", "tidy_result",
]  # fmt: skip

_EMPTY_TEXTS = frozenset({"", "n/a", "na", "null", "nan", "-", "--", "---", "?", "*"})


class ResultKind(StrEnum):
    """What a result says as a whole."""

    GROWTH = "growth"
    NO_GROWTH = "no_growth"
    PENDING = "pending"
    CANCELLED = "cancelled"
    REJECTED = "rejected"
    EMPTY = "empty"
    UNMATCHED = "unmatched"  # says something that could not be read: a person must look
    STAIN = "stain"  # a Gram stain only: growth, not named yet


@dataclass(frozen=True)
class OrganismReading:
    """One organism of a result. ``organism_key`` is empty for unread text; ``score`` is 0 to 100, 100 for no guess.

    ``significant`` says that the laboratory itself judged it so, in the same text.
    """

    organism_key: str
    raw_text: str
    match: Match
    negated: bool
    score: float
    significant: bool = False


@dataclass(frozen=True)
class ResultReading:
    """A result's kind, its organisms in the order of the text (denied ones too), and what a person should know."""

    kind: ResultKind
    organisms: tuple[OrganismReading, ...]
    notes: tuple[str, ...]


def read_result(text: str, *, confirmed: Mapping[str, str] | None = None) -> ResultReading:
    """Reads one result cell.

    Parameters
    ----------
    text
        The cell as the file has it; any case, spacing and line breaks.
    confirmed
        What people have settled for this source: ``tidy_result`` of a whole cell or of a single unread or proposed
        name, to an organism key, to a word of ``ResultKind`` (``no_growth``, ``cancelled`` …), or to nothing where
        the text names no organism.

    Returns
    -------
    ResultReading
        Growth as soon as one organism is not denied. Denied organisms are listed with ``negated``. A stain beside a
        name that has its Gram reaction is dropped. Unread names stay as ``UNMATCHED`` with an empty key.

    Notes
    -----
    Readings are cached; the same text (but for case and spaces) always reads the same.
    """
    reading = _read_plain(text)
    if confirmed:
        reading = _with_confirmed(reading, text, confirmed)
    if not reading.notes:
        return reading
    return replace(reading, notes=tuple(note_words(Note(note)) for note in reading.notes))  # cached without a language


@lru_cache(maxsize=65536)
def _read_plain(text: str) -> ResultReading:
    plain = plain_result(text)
    if tidy_result(plain) in _EMPTY_TEXTS or not any(letter.isalnum() for letter in plain):
        return ResultReading(ResultKind.EMPTY, (), ())
    tokens = split_tokens(plain)
    pieces = scan(tokens)
    notes: list[Note] = []
    if any(piece.kind == WORD for piece in pieces):
        corrected = correct_tokens(tokens)
        if corrected != tokens:
            pieces = scan(corrected)
            notes.append(Note.SPELLING)
    worded = settle_words(pieces)
    mark_denials(worded.pieces)
    mark_significance(worded.pieces)
    if worded.new_species:
        notes.append(Note.NEW_SPECIES)
    return _conclude(plain, worded.pieces, notes)


def _conclude(plain: str, pieces: list[Piece], notes: list[Note]) -> ResultReading:
    grown = weigh_growth(pieces)
    kind = _kind(grown, notes)
    readings = tuple(_reading(plain, piece) for piece in grown.named)
    if kind is ResultKind.UNMATCHED and not any(not one.negated for one in readings):
        readings = (*readings, OrganismReading("", plain, Match.UNMATCHED, False, 0.0))
    notes += _said_beside(grown, kind)
    return ResultReading(kind, readings, tuple(dict.fromkeys(notes)))


def _kind(grown: Grown, notes: list[Note]) -> ResultKind:
    if grown.positive:
        return _kind_of_growth(grown.positive)
    for kind in (ResultKind.REJECTED, ResultKind.CANCELLED, ResultKind.NO_GROWTH, ResultKind.PENDING):
        if kind.value in grown.meanings:
            return kind
    if Meaning.NO_GROWTH_SO_FAR in grown.meanings:
        notes.append(Note.SO_FAR)
        return ResultKind.NO_GROWTH
    if grown.named and not grown.unknown_words and all(piece.denied_by != "not" for piece in grown.named):
        notes.append(Note.ONLY_DENIED)
        return ResultKind.NO_GROWTH
    return ResultKind.UNMATCHED


def _kind_of_growth(positive: tuple[Piece, ...]) -> ResultKind:
    kinds = {piece.kind for piece in positive}
    if kinds == {UNREAD}:
        return ResultKind.UNMATCHED
    return ResultKind.STAIN if kinds == {STAIN} else ResultKind.GROWTH


def _said_beside(grown: Grown, kind: ResultKind) -> list[Note]:
    notes = []
    if kind in (ResultKind.GROWTH, ResultKind.STAIN):
        if grown.meanings & {Meaning.NO_GROWTH, Meaning.NO_GROWTH_SO_FAR}:
            notes.append(Note.ALSO_NO_GROWTH)
        if grown.meanings & {Meaning.CANCELLED, Meaning.REJECTED}:
            notes.append(Note.ALSO_CANCELLED)
    elif grown.unknown_words and kind is not ResultKind.UNMATCHED:
        notes.append(Note.WORDS_LEFT)
    if any(piece.match is Match.PROPOSED for piece in grown.named):
        notes.append(Note.PROPOSED)
    if kind is not ResultKind.UNMATCHED and any(piece.kind == UNREAD for piece in grown.positive):
        notes.append(Note.UNREAD)
    return notes


def _reading(plain: str, piece: Piece) -> OrganismReading:
    raw = plain[piece.start : piece.end] if piece.end else plain
    negated = bool(piece.denied_by)
    if piece.kind == UNREAD:
        return OrganismReading("", raw, Match.UNMATCHED, negated, 0.0)
    return OrganismReading(piece.key, raw, piece.match, negated, piece.score, piece.significant and not negated)


def _with_confirmed(reading: ResultReading, text: str, confirmed: Mapping[str, str]) -> ResultReading:
    whole = confirmed.get(tidy_result(text))
    if whole is not None:
        return _confirmed_whole(text, whole)
    settled = [confirmed.get(tidy_result(one.raw_text)) for one in reading.organisms]
    for one, answer in zip(reading.organisms, settled, strict=True):
        if answer is not None and answer not in organisms():  # names nothing: the rest of the text is read anew
            rest = plain_result(text).replace(one.raw_text, " ", 1)
            return _with_confirmed(_read_plain(rest), rest, confirmed)
    if not any(settled):
        return reading
    kept = tuple(
        _confirm(one, answer) if answer else one for one, answer in zip(reading.organisms, settled, strict=True)
    )
    return replace(reading, organisms=kept, kind=_kind_after_confirming(reading, kept))


def _confirm(one: OrganismReading, key: str) -> OrganismReading:
    return replace(one, organism_key=key, match=Match.CONFIRMED, score=100.0)


def _confirmed_whole(text: str, settled: str) -> ResultReading:
    if settled in organisms():
        one = OrganismReading(settled, plain_result(text), Match.CONFIRMED, False, 100.0)
        return ResultReading(ResultKind.GROWTH, (one,), ())
    kind = ResultKind(settled) if settled in list(ResultKind) else ResultKind.EMPTY
    return ResultReading(kind, (), ())


def _kind_after_confirming(reading: ResultReading, kept: tuple[OrganismReading, ...]) -> ResultKind:
    if reading.kind is ResultKind.UNMATCHED and any(not one.negated and one.organism_key for one in kept):
        return ResultKind.GROWTH
    return reading.kind
