"""What medical microbiology decided about a growth, carried by the organism's key from there to the judge.

``bacillus-cereus~significant`` is *Bacillus cereus* that was judged significant. The part before the mark is the key of
the organism, which every question about organisms asks for.
"""

from __future__ import annotations

from enum import StrEnum

_MARK = "~"


class Decision(StrEnum):
    """For counting, after the fact: what those who decide about significance said. Never advice on a patient."""

    SIGNIFICANT = "significant"
    CONTAMINANT = "contaminant"


def decided_key(organism_key: str, decision: Decision) -> str:
    """The key of an organism about which that was decided; unread text, which has no key, stays without one."""
    return f"{bare_key(organism_key)}{_MARK}{decision}" if organism_key else organism_key


def bare_key(organism_key: str) -> str:
    """The key of the organism alone."""
    return organism_key.partition(_MARK)[0]


def decision_of(organism_key: str) -> Decision | None:
    """What was decided about it; none where nothing was."""
    mark = organism_key.partition(_MARK)[2]
    return Decision(mark) if mark else None
