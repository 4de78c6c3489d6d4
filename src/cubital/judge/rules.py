"""The charter's decision table, as data for the engine.

What a set grew decides its class at once, unless it grew a listed commensal and the charter looks at its partners:

==========================  ==========================  =============================================
grew                        rule: one of several         rule: any commensal
==========================  ==========================  =============================================
nothing                     no growth                    no growth
other organism              pathogen                     pathogen
unread only                 unresolved                   unresolved
other + unread              pathogen                     pathogen
commensal                   **looks at partners**        contaminated
commensal + unread          unresolved                   contaminated
commensal + other (+ any)   by ``mixed_growth``          contaminated
==========================  ==========================  =============================================

``mixed_growth``: pathogen, adjudicate, or *by commensal*, which then **looks at partners** as if the commensal were
alone. What the partners decide, in this order:

1. no other valid set in the series: ``solitary_commensal`` (excluded: outside; counted: contaminated; or separate);
2. another set of the series grew the same organism: ``same_commensal``. Any named growth of the other set is
   compared, so that an unspeciated *Staphylococcus* beside *S. epidermidis* is the same and is not called different;
3. another set grew a listed commensal too: ``different_commensals``;
4. otherwise contaminated: one of several. A partner whose growth could not be read does not change this; it is counted
   as unresolved and said beside the rate.

Partners are valid sets (final or preliminary) of the same patient at the same facility in the same series, whatever
their unit, line, age group or follow-up: the blood was drawn, so the set had a partner. Cancelled and rejected
specimens are no partners. A set without a patient or a time has none, and is called unpairable.

Series are made from the earliest set on: those within the window of the *first* set belong to it, inclusive, and the
next one starts a new series. Calendar windows use the local day. In a window of hours a set with a date but no hour
stands at the start of its local day, so that it joins every set of that day (its facility's other sets tell by how much
local time differs from UTC; where the clock changes over the year the later start is taken). A wider window never makes
more series, but it may leave the last of several sets alone: four sets ten hours apart are two pairs within ten hours,
and three and one within twenty.

Outside come, in this order: another population, drawn through a central line, an excluded unit (by any name it had or
has), a follow-up culture. A follow-up culture belongs to a *later* series of the patient than a set that grew an
organism outside the list, and its day is at most ``follow_up_days`` after that set's: the second set of the first
draw is no follow-up. An arterial puncture is not a line.
"""

from __future__ import annotations

from cubital.domain.charter import (
    Charter,
    DifferentCommensals,
    MixedGrowth,
    Reason,
    Rule,
    SameCommensal,
    SetClass,
    SolitaryCommensal,
)
from cubital.judge.flora import Growth

Judgement = tuple[SetClass, Reason]
LOOKS_AT_PARTNERS = None

SAME: dict[SameCommensal, Judgement] = {
    SameCommensal.PATHOGEN: (SetClass.PATHOGEN, Reason.SAME_IN_BOTH),
    SameCommensal.ADJUDICATE: (SetClass.ADJUDICATE, Reason.SAME_IN_BOTH),
}
DIFFERENT: dict[DifferentCommensals, Judgement] = {
    DifferentCommensals.CONTAMINATED: (SetClass.CONTAMINATED, Reason.DIFFERENT_IN_BOTH),
    DifferentCommensals.PATHOGEN: (SetClass.PATHOGEN, Reason.DIFFERENT_IN_BOTH),
    DifferentCommensals.ADJUDICATE: (SetClass.ADJUDICATE, Reason.DIFFERENT_IN_BOTH),
}
SOLITARY: dict[SolitaryCommensal, Judgement] = {
    SolitaryCommensal.EXCLUDE: (SetClass.OUTSIDE, Reason.SOLITARY_EXCLUDED),
    SolitaryCommensal.COUNT: (SetClass.CONTAMINATED, Reason.SOLITARY),
    SolitaryCommensal.SEPARATE: (SetClass.SOLITARY_COMMENSAL, Reason.SOLITARY),
}
MIXED: dict[MixedGrowth, Judgement | None] = {
    MixedGrowth.PATHOGEN: (SetClass.PATHOGEN, Reason.MIXED),
    MixedGrowth.ADJUDICATE: (SetClass.ADJUDICATE, Reason.MIXED),
    MixedGrowth.BY_COMMENSAL: LOOKS_AT_PARTNERS,
}
NO_GROWTH: Judgement = (SetClass.NO_GROWTH, Reason.NO_ORGANISM)


def decide_growths(charter: Charter) -> dict[Growth, Judgement | None]:
    """The class and reason of every possible growth; none where the partners decide."""
    plain = _decide_undecided(charter)
    return {grew: _decide(charter, grew, plain) for grew in (Growth(bits) for bits in range(2 * Growth.SIGNIFICANT))}


def _decide(charter: Charter, grew: Growth, plain: dict[Growth, Judgement | None]) -> Judgement | None:
    """What medical microbiology decided comes before the organisms, and after a rule that counts any commensal."""
    if charter.rule is Rule.ANY_COMMENSAL and grew & Growth.COMMENSAL:
        return SetClass.CONTAMINATED, Reason.ANY_COMMENSAL
    if grew & Growth.SIGNIFICANT:
        return SetClass.PATHOGEN, Reason.JUDGED_SIGNIFICANT
    if grew & Growth.CONTAMINANT and grew & Growth.COMMENSAL:
        return SetClass.CONTAMINATED, Reason.JUDGED_CONTAMINANT
    return plain[grew & ~(Growth.CONTAMINANT | Growth.SIGNIFICANT)]


def _decide_undecided(charter: Charter) -> dict[Growth, Judgement | None]:
    """The eight growths about which nobody decided anything."""
    commensal, other, unread = Growth.COMMENSAL, Growth.OTHER, Growth.UNREAD
    pathogen = (SetClass.PATHOGEN, Reason.PATHOGEN_GREW)
    unresolved = (SetClass.UNRESOLVED, Reason.UNREAD_ORGANISM)
    return {
        Growth.NOTHING: NO_GROWTH,
        other: pathogen,
        other | unread: pathogen,
        unread: unresolved,
        commensal: LOOKS_AT_PARTNERS,
        commensal | unread: unresolved,
        commensal | other: MIXED[charter.mixed_growth],
        commensal | other | unread: MIXED[charter.mixed_growth],
    }
