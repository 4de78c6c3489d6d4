"""The list for the laboratory: the doubtful sets, blind, with empty columns to fill in."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.class_words import reason_words
from cubital.answers.doubtful import DoubtfulSet, organisms_words, partners_words
from cubital.domain.charter import Reason
from cubital.domain.decisions import Decision
from cubital.domain.words import _
from cubital.papers.tidy_table import Column, Kind, TidyTable


def build_doubtful_table(sets: Sequence[DoubtfulSet]) -> TidyTable[DoubtfulSet]:
    """One row per doubtful set; ``decision`` and ``why`` are what the laboratory fills in and sends back."""
    columns: tuple[Column[DoubtfulSet], ...] = (
        Column(key="facility", read=lambda s: s.facility, meaning=_("the hospital whose laboratory has the set")),
        Column(key="accession", read=lambda s: s.accession, meaning=_("the laboratory's number of the set")),
        Column(
            key="day", kind=Kind.DAY, read=lambda s: s.day.isoformat() if s.day else None,
            meaning=_("day of collection; no hour, so that no shift can be seen"),
        ),
        Column(key="grew", read=lambda s: organisms_words(s.organisms), meaning=_("organisms that grew in the set")),
        Column(
            key="others", read=lambda s: partners_words(s.partners),
            meaning=_("the other sets of the patient's series and what they grew"),
        ),
        Column(
            key="doubt", kind=Kind.CODE, read=lambda s: s.reason.value,
            values={item.value: reason_words(item) for item in Reason}, meaning=_("why the charter leaves it open"),
        ),
        Column(
            key="decision", kind=Kind.CODE, read=lambda s: s.decision.value if s.decision else None,
            values={
                Decision.SIGNIFICANT.value: _("significant: not counted as contaminated"),
                Decision.CONTAMINANT.value: _("a contaminant: counted as contaminated"),
            },
            meaning=_("to be filled in by medical microbiology; empty while it waits"),
        ),
        Column(key="why", read=lambda s: s.why or None, meaning=_("the reason, to be filled in beside a decision")),
    )  # fmt: skip
    return TidyTable(name="doubtful", columns=columns, rows=sets, count=len(sets))
