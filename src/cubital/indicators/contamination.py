"""The contamination rate under one charter, and the sets that wait for a decision."""

from __future__ import annotations

from cubital.domain.answer import Figure
from cubital.domain.charter import Charter, Denominator, Population, Rule, SetClass, SolitaryCommensal, UnitOfCount
from cubital.domain.words import _, ngettext
from cubital.indicators.shares import LEVEL, build_count, build_share
from cubital.judge.counts import MonthCounts


def contamination_rate(counts: MonthCounts, charter: Charter, *, level: float = LEVEL) -> Figure:
    """The charter's numerator over its denominator, in the charter's unit of count.

    Never show it alone: ``cubital.indicators.month.month_figures`` puts its companions beside it.
    """
    notes = []
    if counts.preliminary:
        notes.append(
            ngettext(
                "{count} set is preliminary and may still change class",
                "{count} sets are preliminary and may still change class",
                counts.preliminary,
            ).format(count=counts.preliminary)
        )
    nothing = _("no bottles are told apart in this file") if charter.unit_of_count is UnitOfCount.BOTTLE else ""
    return build_share(
        "contamination",
        _("Contaminated"),
        numerator=counts.numerator,
        denominator=counts.denominator,
        definition=definition_words(charter),
        note="; ".join(notes),
        nothing=nothing,
        level=level,
    )


def waiting_counts(counts: MonthCounts) -> tuple[Figure, ...]:
    """Sets to adjudicate, sets that grew something unread, and commensals without a partner: always beside the rate."""
    return (
        build_count(
            "to_adjudicate",
            _("To adjudicate"),
            count=counts.of_class(SetClass.ADJUDICATE),
            unit="sets",
            definition=_("sets whose class the charter leaves to the microbiologist; not in the numerator"),
        ),
        build_count(
            "unresolved",
            _("Unresolved"),
            count=counts.of_class(SetClass.UNRESOLVED),
            unit="sets",
            definition=_("sets that grew something that could not be read or is on no list; not in the numerator"),
        ),
        build_count(
            "solitary_commensals",
            _("Commensal without a partner"),
            count=counts.of_class(SetClass.SOLITARY_COMMENSAL),
            unit="sets",
            definition=_("sets with a listed commensal and no other set in the window; not in the numerator"),
        ),
    )


def definition_words(charter: Charter) -> str:
    """What is counted over what, in one line: ``contaminated sets (...) over all sets of adults``."""
    counted = {
        UnitOfCount.SET: _("contaminated sets ({rule}) over {denominator}"),
        UnitOfCount.BOTTLE: _("bottles that grew in contaminated sets ({rule}) over bottles of {denominator}"),
        UnitOfCount.SERIES: _("series with a contaminated set ({rule}) over series of {denominator}"),
        UnitOfCount.PATIENT: _("patients with a contaminated set ({rule}) over patients with {denominator}, per month"),
    }[charter.unit_of_count]
    return counted.format(rule=_rule_words(charter), denominator=_denominator_words(charter))


def _rule_words(charter: Charter) -> str:
    if charter.rule is Rule.ANY_COMMENSAL:
        return _("any growth of a listed commensal")
    if charter.solitary_commensal is SolitaryCommensal.COUNT:
        return _("a commensal in one of several sets, or in a single set")
    return _("a commensal in one of several sets")


def _denominator_words(charter: Charter) -> str:
    people = {
        Population.EVERYONE: _("of everyone"),
        Population.ADULTS: _("of adults"),
        Population.CHILDREN: _("of children"),
    }[charter.population]
    if charter.denominator is Denominator.ELIGIBLE_SETS:
        return _("sets {people} in series of two or more").format(people=people)
    if charter.solitary_commensal is SolitaryCommensal.EXCLUDE:
        return _("sets {people} without commensals that have no partner").format(people=people)
    return _("all sets {people}").format(people=people)
