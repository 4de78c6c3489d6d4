"""What the judge asks about organisms: is this one on the list, and are these two the same?"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import IntFlag

from cubital.domain.decisions import Decision, bare_key, decision_of


class Growth(IntFlag):
    """What a set grew, as bits, so that engines can add organisms up."""

    NOTHING = 0
    COMMENSAL = 1  # on the charter's list
    OTHER = 2  # a known organism that is not on the list
    UNREAD = 4  # unmatched text, or a term too vague to place (a genus without a species, a stain)
    CONTAMINANT = 8  # medical microbiology decided that it is a contaminant
    SIGNIFICANT = 16  # medical microbiology decided that it is significant; counts as known beside what it is


_DECIDED = {
    Decision.SIGNIFICANT: Growth.SIGNIFICANT | Growth.OTHER,
    Decision.CONTAMINANT: Growth.CONTAMINANT,
}


@dataclass(frozen=True)
class Flora:
    """The two questions. ``grows(organism_key, list_key)`` and ``same(a, b)``; keys are never empty."""

    grows: Callable[[str, str], Growth]
    same: Callable[[str, str], bool]

    def standing(self, organism_key: str, list_key: str) -> Growth:
        """What growth of the organism means under the list; the empty key is unread text."""
        if not organism_key:
            return Growth.UNREAD
        grows = self.grows(bare_key(organism_key), list_key)
        decision = decision_of(organism_key)
        return grows | _DECIDED[decision] if decision else grows

    def alike(self, a: str, b: str) -> bool:
        """Whether two keys name the same organism, whatever was decided about either; unread text is like nothing."""
        one, other = bare_key(a), bare_key(b)
        return bool(one and other) and (one == other or self.same(one, other))

    def same_pairs(self, keys: Iterable[str]) -> list[tuple[str, str]]:
        """Every ordered pair of the same organism among ``keys``, each with itself included; unread text has none."""
        named = sorted({key for key in keys if key})
        return [(a, b) for a in named for b in named if self.alike(a, b)]


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
