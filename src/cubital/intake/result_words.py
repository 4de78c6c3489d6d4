"""What to do with the words of a result that no table knows: misspelled names, new species, comments."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from cubital.domain.cultures import Match
from cubital.intake.organism_guess import Guess, guess_genus, guess_species, looks_latin, looks_like_genus
from cubital.intake.result_scan import CLOSE, COMMA, OPEN, UNREAD, WORD, Piece
from cubital.intake.result_vocabulary import ORGANISM, STAIN
from cubital.reference.organisms import Rank, organisms
from cubital.reference.phrases import Meaning
from cubital.reference.spellings import epithets

_NO_NEIGHBOURS = frozenset({Meaning.NOISE, OPEN, CLOSE, WORD})


@dataclass
class Worded:
    """The pieces with every unknown word settled, and the text places whose species no table has."""

    pieces: list[Piece] = field(default_factory=list)
    new_species: list[Piece] = field(default_factory=list)


def settle_words(pieces: Sequence[Piece]) -> Worded:
    """Reads unknown words as a species of the genus before them, as a misspelled name, as unread, or as comment."""
    done = Worded()
    place = 0
    while place < len(pieces):
        piece = pieces[place]
        if piece.kind == ORGANISM and done.pieces and _is_misspelled_species(done.pieces[-1], piece):
            _settle_species(done, piece)
            place += 1
        elif piece.kind != WORD:
            done.pieces.append(_rod_or_genus(piece, pieces, place))
            place += 1
        elif done.pieces and _is_genus(done.pieces[-1]) and done.pieces[-1] not in done.new_species:
            _settle_species(done, piece)
            place += 1
        else:
            place += _settle_name(done, piece, pieces[place + 1 : place + 2])
    return done


def _rod_or_genus(piece: Piece, pieces: Sequence[Piece], place: int) -> Piece:
    """*Bacillus* is a genus, and any rod where a stain or another word stands before it: *curved bacillus*."""
    if piece.kind != ORGANISM or (piece.key, piece.word) != ("bacillus", "bacillus"):
        return piece
    before = [one for one in pieces[:place] if one.kind not in _NO_NEIGHBOURS][-1:]
    after = [one for one in pieces[place + 1 :] if one.kind not in (*_NO_NEIGHBOURS, COMMA)][:1]
    if any(_shows_negative_rods(one) for one in (*before, *after)):
        return replace(piece, kind=STAIN, key="gram-negative-bacilli")
    if place and pieces[place - 1].kind == WORD:
        return replace(piece, kind=UNREAD, key="", start=pieces[place - 1].start)
    return piece


def _shows_negative_rods(piece: Piece) -> bool:
    return piece.kind == STAIN and organisms()[piece.key].gram in ("negative", "variable")


def _is_genus(piece: Piece) -> bool:
    known = organisms().get(piece.key)
    return piece.kind == ORGANISM and known is not None and known.rank is Rank.GENUS and piece.word in epithets()


def _is_misspelled_species(genus: Piece, piece: Piece) -> bool:
    """*Actinotignum schaalia*: a genus name right after another genus, one letter off that one's species."""
    return _is_genus(genus) and _is_genus(piece) and bool(guess_species(genus.word, piece.word).key)


def _settle_species(done: Worded, word: Piece) -> None:
    genus = done.pieces[-1]
    guess = guess_species(genus.word, word.word)
    if guess.key:
        score = min(guess.score, genus.score)
        done.pieces[-1] = replace(genus, key=guess.key, match=Match.PROPOSED, score=score, end=word.end)
    elif guess.contradicts:
        done.pieces[-1] = replace(genus, kind=UNREAD, key="", end=word.end)
    elif looks_latin(word.word):
        done.pieces[-1] = replace(genus, end=word.end)
        done.new_species.append(done.pieces[-1])
    else:
        done.pieces.append(word)


def _settle_name(done: Worded, word: Piece, following: Sequence[Piece]) -> int:
    """Settles a word that follows no genus; the number of pieces used up."""
    second = following[0] if following and following[0].kind == WORD and looks_latin(following[0].word) else None
    guess = guess_genus(word.word, second.word if second else "")
    if not guess.key and not guess.contradicts and not _names_unknown(word, following):
        done.pieces.append(word)
        return 1
    end = second.end if second else word.end
    if guess.key:
        named = _proposed(word, guess, end)
        done.pieces.append(named)
        if second and not guess.species:
            done.new_species.append(named)
    else:
        done.pieces.append(replace(word, kind=UNREAD, end=end))
    return 2 if second else 1


def _names_unknown(word: Piece, following: Sequence[Piece]) -> bool:
    before_species = bool(following) and following[0].word == "species"
    return looks_like_genus(word.word) or (before_species and looks_latin(word.word))


def _proposed(word: Piece, guess: Guess, end: int) -> Piece:
    genus = organisms()[guess.key].genus
    return replace(word, kind=ORGANISM, key=guess.key, word=genus, end=end, match=Match.PROPOSED, score=guess.score)
