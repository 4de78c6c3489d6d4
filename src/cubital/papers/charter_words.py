"""A charter in plain words: every choice as one sentence that a nurse and a microbiologist read alike."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.charter import (
    Charter,
    Denominator,
    DifferentCommensals,
    FollowUp,
    LineSets,
    MixedGrowth,
    Population,
    Rule,
    SameCommensal,
    SolitaryCommensal,
    UnitOfCount,
    Window,
)
from cubital.domain.words import _, ngettext


@dataclass(frozen=True)
class Choice:
    """One question that the charter settles, and what it says."""

    topic: str
    words: str


def charter_choices(charter: Charter, *, list_title: str = "") -> tuple[Choice, ...]:
    """Every choice of the charter in reading order. ``list_title`` names the list of commensals in words."""
    return (
        Choice(_("What is counted"), _unit_words(charter.unit_of_count)),
        Choice(_("When it counts as contaminated"), rule_words(charter.rule)),
        Choice(_("Sets that belong together"), window_words(charter)),
        Choice(_("List of usual skin organisms"), list_title or charter.commensal_list),
        Choice(_("The same one in two or more sets"), _same_words(charter.same_commensal)),
        Choice(_("Different ones in two or more sets"), _different_words(charter.different_commensals)),
        Choice(_("One in a set without a partner"), _solitary_words(charter.solitary_commensal)),
        Choice(_("Together with another organism"), _mixed_words(charter.mixed_growth)),
        Choice(_("Whose sets"), _population_words(charter.population)),
        Choice(_("Sets taken from a line"), _line_words(charter.line_sets)),
        Choice(_("Sets that follow a proven infection"), _follow_up_words(charter)),
        Choice(_("Divided by"), _denominator_words(charter.denominator)),
        Choice(_("Units left out"), ", ".join(charter.excluded_units) or _("None.")),
    )


def counted_words(charter: Charter) -> str:
    """The charter in half a line: ``charter 2 (one of several, 24 hours)``."""
    rule = {Rule.ONE_OF_SEVERAL: _("one of several"), Rule.ANY_COMMENSAL: _("any usual skin organism")}[charter.rule]
    window = {
        Window.ROLLING_HOURS: _("{count} hours").format(count=charter.window_hours),
        Window.SAME_DAY: _("same day"),
        Window.SAME_OR_NEXT_DAY: _("same or next day"),
    }[charter.window]
    return _("charter {version} ({rule}, {window})").format(version=charter.version, rule=rule, window=window)


def definition_words(charter: Charter, *, list_title: str = "") -> str:
    """The footnote of every page with a rate on it: rule, window, list, denominator, and what the word is not."""
    return " ".join(
        (
            rule_words(charter.rule),
            window_words(charter),
            _("List: {title}.").format(title=list_title or charter.commensal_list),
            _("Divided by: {words}").format(words=_denominator_words(charter.denominator)),
            _("Class words are for counting, never a diagnosis."),
        )
    )


def rule_words(rule: Rule) -> str:
    """When a set counts as contaminated, as a sentence."""
    return {
        Rule.ONE_OF_SEVERAL: _(
            "A set is contaminated when a usual skin organism grew in it while another set of the same series lacks it."
        ),
        Rule.ANY_COMMENSAL: _("A set is contaminated when any usual skin organism grew in it."),
    }[rule]


def window_words(charter: Charter) -> str:
    """Which sets of one patient form a series, as a sentence."""
    return {
        Window.ROLLING_HOURS: _(
            "A series is one patient's sets within {count} hours of the first; later sets start a new one."
        ).format(count=charter.window_hours),
        Window.SAME_DAY: _("A series is one patient's sets of the same calendar day."),
        Window.SAME_OR_NEXT_DAY: _("A series is one patient's sets of the first set's day and the day after."),
    }[charter.window]


def _unit_words(unit: UnitOfCount) -> str:
    return {
        UnitOfCount.SET: _("The set: the bottles filled from one draw."),
        UnitOfCount.BOTTLE: _("The bottle."),
        UnitOfCount.SERIES: _("The series: one patient's sets that belong together."),
        UnitOfCount.PATIENT: _("The patient."),
    }[unit]


def _same_words(choice: SameCommensal) -> str:
    return {
        SameCommensal.PATHOGEN: _("Not contaminated: counted as a pathogen."),
        SameCommensal.ADJUDICATE: _("Decided by the medical microbiologist, set by set."),
    }[choice]


def _different_words(choice: DifferentCommensals) -> str:
    return {
        DifferentCommensals.CONTAMINATED: _("Each of these sets counts as contaminated."),
        DifferentCommensals.PATHOGEN: _("Not contaminated: counted as pathogens."),
        DifferentCommensals.ADJUDICATE: _("Decided by the medical microbiologist, set by set."),
    }[choice]


def _solitary_words(choice: SolitaryCommensal) -> str:
    return {
        SolitaryCommensal.EXCLUDE: _("Left out, above and below the line."),
        SolitaryCommensal.COUNT: _("Counts as contaminated."),
        SolitaryCommensal.SEPARATE: _("Not contaminated; stays among the sets and is reported on its own line."),
    }[choice]


def _mixed_words(choice: MixedGrowth) -> str:
    return {
        MixedGrowth.PATHOGEN: _("Counted by the other organism, as a pathogen."),
        MixedGrowth.BY_COMMENSAL: _("Counted as if the skin organism were alone."),
        MixedGrowth.ADJUDICATE: _("Decided by the medical microbiologist, set by set."),
    }[choice]


def _population_words(population: Population) -> str:
    return {
        Population.EVERYONE: _("Everyone's, adults and children."),
        Population.ADULTS: _("Adults', 18 years and over; unknown age is kept and said."),
        Population.CHILDREN: _("Children's, under 18 years."),
    }[population]


def _line_words(choice: LineSets) -> str:
    return {LineSets.INCLUDE: _("Counted like any other."), LineSets.EXCLUDE: _("Left out.")}[choice]


def _follow_up_words(charter: Charter) -> str:
    if charter.follow_up is FollowUp.INCLUDE:
        return _("Counted like any other.")
    return ngettext(
        "Left out for {count} day after a set that grew an organism outside the list.",
        "Left out for {count} days after a set that grew an organism outside the list.",
        charter.follow_up_days,
    ).format(count=charter.follow_up_days)


def _denominator_words(choice: Denominator) -> str:
    return {
        Denominator.ALL_SETS: _("All valid sets."),
        Denominator.ELIGIBLE_SETS: _("Sets of series with two sets or more."),
    }[choice]
