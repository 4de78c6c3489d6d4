"""Classes and reasons of sets, in words. They are for counting and never a diagnosis."""

from __future__ import annotations

from cubital.domain.charter import Reason, SetClass
from cubital.domain.words import _


def class_words(set_class: SetClass) -> str:
    """What a set is counted as."""
    return {
        SetClass.NO_GROWTH: _("nothing grew"),
        SetClass.PATHOGEN: _("another organism grew"),
        SetClass.CONTAMINATED: _("counted as contaminated"),
        SetClass.SOLITARY_COMMENSAL: _("a usual skin organism in a set without a partner"),
        SetClass.ADJUDICATE: _("the microbiologist decides"),
        SetClass.UNRESOLVED: _("grew something that could not be read or is on no list"),
        SetClass.OUTSIDE: _("not among the sets that the charter counts"),
    }[set_class]


def reason_words(reason: Reason) -> str:
    """Why a set has its class."""
    return {
        Reason.NO_ORGANISM: _("no organism was reported"),
        Reason.PATHOGEN_GREW: _("an organism outside the agreed list grew"),
        Reason.ONE_OF_SEVERAL: _("a listed organism grew in this set, and another set of the series lacks it"),
        Reason.ANY_COMMENSAL: _("a listed organism grew, and the charter counts any such growth"),
        Reason.SAME_IN_BOTH: _("the same listed organism grew in two or more sets of the series"),
        Reason.DIFFERENT_IN_BOTH: _("different listed organisms grew in two or more sets of the series"),
        Reason.SOLITARY: _("a listed organism grew in a set that has no partner in the window"),
        Reason.MIXED: _("a listed organism grew together with another organism"),
        Reason.UNREAD_ORGANISM: _("the organism could not be read or is on no list"),
        Reason.NOT_IN_POPULATION: _("the patient is not among those whom the charter counts"),
        Reason.LINE_SET: _("the set was taken from a line, and the charter leaves these out"),
        Reason.FOLLOW_UP: _("the set follows a proven infection, and the charter leaves these out"),
        Reason.UNIT_EXCLUDED: _("the charter leaves this unit out"),
        Reason.SOLITARY_EXCLUDED: _("a listed organism in a set without a partner, and the charter leaves these out"),
        Reason.JUDGED_SIGNIFICANT: _("medical microbiology judged the growth significant"),
        Reason.JUDGED_CONTAMINANT: _("medical microbiology judged the growth a contaminant"),
    }[reason]
