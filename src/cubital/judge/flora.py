"""What the judge asks about organisms: is this one on the list, and are these two the same?"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import IntFlag


class Growth(IntFlag):
    """What a set grew, as bits, so that engines can add organisms up."""

    NOTHING = 0
    COMMENSAL = 1  # on the charter's list
    OTHER = 2  # a known organism that is not on the list
    UNREAD = 4  # unmatched text, or a term too vague to place (a genus without a species, a stain)


@dataclass(frozen=True)
class Flora:
    """The two questions. ``grows(organism_key, list_key)`` and ``same(a, b)``; keys are never empty."""

    grows: Callable[[str, str], Growth]
    same: Callable[[str, str], bool]

    def standing(self, organism_key: str, list_key: str) -> Growth:
        """What growth of the organism means under the list; the empty key is unread text."""
        return self.grows(organism_key, list_key) if organism_key else Growth.UNREAD

    def same_pairs(self, keys: Iterable[str]) -> list[tuple[str, str]]:
        """Every ordered pair of the same organism among ``keys``, each with itself included; unread text has none."""
        named = sorted({key for key in keys if key})
        return [(a, b) for a in named for b in named if a == b or self.same(a, b)]


def reference_flora() -> Flora:
    """The answers of the organisms and lists that are shipped."""
    from cubital.reference.commensals import Standing, standing
    from cubital.reference.organisms import same_organism

    meaning = {
        Standing.COMMENSAL: Growth.COMMENSAL,
        Standing.OTHER: Growth.OTHER,
        Standing.UNRESOLVED: Growth.UNREAD,
    }
    return Flora(grows=lambda key, list_key: meaning[standing(key, list_key)], same=same_organism)
