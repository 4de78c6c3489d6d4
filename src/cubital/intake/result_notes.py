"""What a person should know about how a result was read, in one sentence each."""

from __future__ import annotations

from enum import StrEnum

from cubital.domain.words import _


class Note(StrEnum):
    SPELLING = "spelling"
    NEW_SPECIES = "new_species"
    PROPOSED = "proposed"
    UNREAD = "unread"
    WORDS_LEFT = "words_left"
    SO_FAR = "so_far"
    ONLY_DENIED = "only_denied"
    ALSO_NO_GROWTH = "also_no_growth"
    ALSO_CANCELLED = "also_cancelled"


def note_words(note: Note) -> str:
    """The note as a sentence in the current language."""
    return {
        Note.SPELLING: _("A misspelled or broken word was read as the one it resembles."),
        Note.NEW_SPECIES: _("The species is not in the tables; it is read as its genus."),
        Note.PROPOSED: _("A misspelled name was read as the nearest one of the same genus."),
        Note.UNREAD: _("Another name in the text could not be read."),
        Note.WORDS_LEFT: _("Some words of the text were not read."),
        Note.SO_FAR: _("No growth so far; the result may be preliminary."),
        Note.ONLY_DENIED: _("The text only says what did not grow; it is read as no growth."),
        Note.ALSO_NO_GROWTH: _("The text also says no growth; it is read as growth."),
        Note.ALSO_CANCELLED: _("The text also says cancelled or rejected; it is read as growth."),
    }[note]
