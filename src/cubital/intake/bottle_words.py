"""Which bottle a label means: ``AER``, ``ANA``, ``PED``, ``Aerobic bottle 2``."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from cubital.domain.cultures import BottleKind
from cubital.intake.headers import tidy_header

# Whole words or starts of words; anaerobic first, because "aerobic" stands in it. Common practice, no source.
_WORDS: tuple[tuple[BottleKind, re.Pattern[str]], ...] = (
    (BottleKind.PAEDIATRIC, re.compile(r"\b(p(a?e)?d(iat\w*|s|i)?|child|neonat\w*|infant|peds?|pediatrico|kinder)\b")),
    (BottleKind.ANAEROBIC, re.compile(r"\b(an|ana|anaer\w*|anae|ano2|anx|anaerobi\w*|purple|lila)\b|anaerob")),
    (BottleKind.AEROBIC, re.compile(r"\b(ae|aer|aero|aerob\w*|aerobi\w*|o2|blue|blau)\b")),
)
_NUMBER = {BottleKind.AEROBIC: 1, BottleKind.ANAEROBIC: 2, BottleKind.PAEDIATRIC: 3, BottleKind.OTHER: 4}


@dataclass(frozen=True)
class BottleLabel:
    """The kind, and the number of the bottle within its set: the same label is the same bottle."""

    kind: BottleKind
    number: int
    known: bool


@lru_cache(maxsize=4096)
def read_bottle(text: str) -> BottleLabel:
    """Kind and number of a bottle label; ``known`` is false for a label that names no kind.

    The first aerobic bottle is 1, anaerobic 2, paediatric 3, other 4; ``AER 2`` is 11, ``AER 3`` is 21 and so on.
    """
    tidy = re.sub(r"(?<=[a-z])(?=\d)", " ", tidy_header(text))
    kind = next((kind for kind, pattern in _WORDS if pattern.search(tidy)), BottleKind.OTHER)
    which = re.search(r"\b([1-9])$", tidy)
    extra = int(which.group(1)) - 1 if which else 0
    return BottleLabel(kind, _NUMBER[kind] + 10 * extra, kind is not BottleKind.OTHER)
