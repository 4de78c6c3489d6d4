"""Where a result stands, from the letter or word in the status column.

Letters follow the result status table of HL7 v2 (table 0085: F final, P preliminary, C correction, X cannot be obtained,
D deleted, W posted wrong, I in process, R not verified, S partial); words are common practice, no source.
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


_WORDS: dict[Standing, frozenset[str]] = {
    Standing.PRELIMINARY: frozenset(
        "p pre prelim preliminary preliminar provisional interim in process i s partial pending r ip o ordered registered"
        " unverified vorlaufig provisoire preliminaire preliminary report prelim report in progress received".split()
    )
    | {"in process", "preliminary report", "prelim report", "in progress", "not final"},
    Standing.FINAL: frozenset(
        "f fin final finalised finalized complete completed verified authorised authorized a released reported resulted"
        " definitivo endgultig definitif done v u".split()
    )
    | {"final report", "final result"},
    Standing.CORRECTED: frozenset(
        "c cor corr corrected correction amended amend revised modified updated corregido korrigiert corrige".split()
    )
    | {"corrected report", "final corrected", "corrected final", "amended report"},
    Standing.CANCELLED: frozenset(
        "x can canc cancel cancelled canceled d deleted w void voided nc dnr cancelado annule storniert".split()
    )
    | {"not done", "not performed", "entered in error"},
    Standing.REJECTED: frozenset("rej reject rejected rechazado abgelehnt refuse unsuitable".split()),
}
_BY_WORD = {word: standing for standing, words in _WORDS.items() for word in words}


def read_status(text: str) -> Standing | None:
    """The standing that a status cell names; none for a word not known."""
    return _BY_WORD.get(tidy_header(text))
