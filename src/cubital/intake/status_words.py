"""Where a result stands, from the letter or word in the status column.

Letters follow the result status of HL7 v2 (table 0085: F final, P preliminary, C correction, X cannot be obtained,
D deleted, W posted wrong, I in process, R not verified, S partial). Words are common practice, no source.
"""

from __future__ import annotations

from enum import IntEnum

from cubital.intake.headers import tidy_header


class Standing(IntEnum):
    """The higher one replaces the lower one for the same bottle. A cancellation replaces what was preliminary."""

    PRELIMINARY = 1
    CANCELLED = 2
    REJECTED = 3
    FINAL = 4
    CORRECTED = 5


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_WORDS: dict[Standing, frozenset[str]] = {
    Standing.PRELIMINARY: _words(
        "p pre prelim preliminary preliminar provisional interim i s partial pending r ip o ordered registered"
        " unverified vorlaufig provisoire preliminaire preliminary report prelim report in progress received"
    )
    | {"in process", "preliminary report", "prelim report", "in progress", "not final"},
    Standing.FINAL: _words(
        "f fin final finalised finalized complete completed verified authorised authorized a released reported resulted"
        " definitivo endgultig definitif done v u"
    )
    | {"final report", "final result"},
    Standing.CORRECTED: _words(
        "c cor corr corrected correction amended amend revised modified updated corregido korrigiert corrige"
    )
    | {"corrected report", "final corrected", "corrected final", "amended report"},
    Standing.CANCELLED: _words(
        "x can canc cancel cancelled canceled d deleted w void voided nc dnr cancelado annule storniert"
    )
    | {"not done", "not performed", "entered in error", "withdrawn"},
    Standing.REJECTED: _words("rej reject rejected rechazado abgelehnt refuse unsuitable"),
}
_BY_WORD = {word: standing for standing, words in _WORDS.items() for word in words}


def read_status(text: str) -> Standing | None:
    """The standing that a status cell names; none for a word not known."""
    return _BY_WORD.get(tidy_header(text))
