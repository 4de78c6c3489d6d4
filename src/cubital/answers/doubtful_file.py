"""The list that the laboratory filled in: one decision a row, read whole or refused with every problem."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.hand_tables import Columns, HandRow, hand_rows, refuse_problems
from cubital.domain.decisions import Decision
from cubital.domain.words import _

_INITIALS = re.compile(r"[^\W\d_]{1,6}\Z")
_WORDS = {
    Decision.SIGNIFICANT: frozenset({"significant", "s", "judged significant"}),
    Decision.CONTAMINANT: frozenset({"contaminant", "contaminated", "c", "judged a contaminant"}),
}
LONGEST_WHY = 400


@dataclass(frozen=True, kw_only=True)
class Saying:
    """What somebody decided about one set: the decision, and the reason in their words."""

    facility: str
    accession: str
    decision: Decision
    why: str


def list_columns() -> Columns:
    """What the columns of a filled list may be called."""
    return Columns(
        names={
            "facility": ("laboratory", "hospital", "site"),
            "accession": ("set", "specimen", "accession number"),
            "decision": ("decided",),
            "why": ("reason given", "comment", "reason"),
        },
        needed=("facility", "accession", "decision"),
        advice=_(
            "Fill in the list as Cubital exported it: facility, accession, decision (significant or contaminant), why."
        ),
    )


def parse_decisions(rows: Sequence[Sequence[object]], *, where: str) -> tuple[Saying, ...]:
    """The decisions of a filled list; rows without one still wait and are passed over.

    ``FileProblem`` with every row that is wrong: a word that is no decision, a set twice, a decision without a reason.
    """
    columns = list_columns()
    held = hand_rows(rows, columns, where=where)
    found = [_saying(row) for row in held]
    seen: set[tuple[str, str]] = set()
    for row, saying in zip(held, found, strict=True):
        if saying is not None:
            if (saying.facility, saying.accession) in seen:
                row.complain(_("set {accession} stands twice").format(accession=saying.accession))
            seen.add((saying.facility, saying.accession))
    refuse_problems(held, where=where, advice=columns.advice)
    return tuple(saying for saying in found if saying is not None)


def _saying(row: HandRow) -> Saying | None:
    word = row.text("decision").casefold()
    if not word:
        return None
    decision = next((one for one, words in _WORDS.items() if word in words), None)
    facility, accession = row.text("facility", needed=True), row.text("accession", needed=True)
    why = row.text("why")
    if decision is None:
        row.complain(
            _("'{word}' is no decision; write significant or contaminant, or leave it empty").format(word=word[:40])
        )
        return None
    if not why:
        row.complain(_("the decision has no reason"))
    if len(why) > LONGEST_WHY:
        row.complain(_("the reason is longer than {most} letters").format(most=LONGEST_WHY))
    # A spreadsheet's guard against formulas stands before some numbers.
    return Saying(facility=facility, accession=accession.removeprefix("'"), decision=decision, why=why)


def good_initials(text: str) -> bool:
    """Whether it is what initials look like: one to six letters, no name."""
    return bool(_INITIALS.match(text))
