"""The names of organisms in a file that were not simply known: for the page on which a person confirms them."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.cultures import Match
from cubital.domain.decisions import bare_key
from cubital.engine import Session, load_sql
from cubital.intake.organism_proposals import Proposal, propose_organisms


@dataclass(frozen=True, kw_only=True)
class DoubtfulName:
    """One text as the file has it, in ``rows`` rows. ``organism_key`` is empty where it was not read at all.

    ``match`` is proposed (read in spite of its spelling) or unmatched. ``proposals`` are the nearest names.
    """

    text: str
    rows: int
    match: Match
    organism_key: str
    proposals: tuple[Proposal, ...]


def read_doubtful_names(session: Session) -> tuple[DoubtfulName, ...]:
    """The doubtful names of the file that ``read_cultures`` has just read in this session, unread ones first."""
    rows = session.rows(load_sql("cubital.intake", "doubtful_names"))
    return tuple(
        DoubtfulName(
            text=text, organism_key=bare_key(key), match=Match(match), rows=count, proposals=propose_organisms(text)
        )
        for text, key, match, count in rows
    )
