"""The settings of a charter as questions and answers that education and laboratory can read out to each other."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cubital.domain import charter as rules
from cubital.domain.charter import Charter
from cubital.domain.words import _
from cubital.reference.commensals import commensal_lists


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One rule of the charter: the question it settles, its choices in words, and who usually decides."""

    name: str
    question: str
    choices: tuple[tuple[str, str], ...]
    decides: str


@dataclass(frozen=True, kw_only=True)
class SettingWords:
    """A rule as it stands in one charter."""

    name: str
    question: str
    answer: str
    decides: str


def settings() -> tuple[Setting, ...]:
    """Every rule that is a choice, in the order in which people argue about them."""
    laboratory, together, microbiology = _("the laboratory"), _("education and laboratory"), _("medical microbiology")
    return (
        _setting("rule", _("What makes a set contaminated?"), together, {
            rules.Rule.ONE_OF_SEVERAL: _("A commensal in one set of a series while another set of it lacks it"),
            rules.Rule.ANY_COMMENSAL: _("Any growth of a commensal"),
        }),
        _setting("window", _("Which sets of a patient belong together as one series?"), laboratory, {
            rules.Window.ROLLING_HOURS: _("Sets within so many hours of the first one"),
            rules.Window.SAME_DAY: _("Sets of the same calendar day"),
            rules.Window.SAME_OR_NEXT_DAY: _("Sets of the same or the next calendar day"),
        }),
        Setting(name="commensal_list", question=_("Which organisms are commensals?"), decides=laboratory,
                choices=tuple((key, entry.title) for key, entry in commensal_lists().items())),
        _setting("same_commensal", _("The same commensal in two or more sets of a series?"), microbiology, {
            rules.SameCommensal.PATHOGEN: _("Counts as a true growth"),
            rules.SameCommensal.ADJUDICATE: _("Someone looks at it and decides"),
        }),
        _setting("different_commensals", _("Different commensals in the sets of one series?"), microbiology, {
            rules.DifferentCommensals.CONTAMINATED: _("Each counts as contaminated"),
            rules.DifferentCommensals.PATHOGEN: _("Count as true growth"),
            rules.DifferentCommensals.ADJUDICATE: _("Someone looks at it and decides"),
        }),
        _setting("solitary_commensal", _("A commensal in a set that has no partner?"), together, {
            rules.SolitaryCommensal.SEPARATE: _("Stays in the sets counted, has its own line"),
            rules.SolitaryCommensal.COUNT: _("Counts as contaminated"),
            rules.SolitaryCommensal.EXCLUDE: _("Is left out above and below the line"),
        }),
        _setting("mixed_growth", _("A commensal together with another organism in one set?"), together, {
            rules.MixedGrowth.PATHOGEN: _("Judged by the other organism"),
            rules.MixedGrowth.BY_COMMENSAL: _("Judged as if the commensal were alone"),
            rules.MixedGrowth.ADJUDICATE: _("Someone looks at it and decides"),
        }),
        _setting("population", _("Whose sets are counted?"), together, {
            rules.Population.ADULTS: _("Adults, 18 and over; unknown age is kept and said"),
            rules.Population.CHILDREN: _("Children"),
            rules.Population.EVERYONE: _("Everyone"),
        }),
        _setting("denominator", _("Out of which sets?"), together, {
            rules.Denominator.ALL_SETS: _("All sets"),
            rules.Denominator.ELIGIBLE_SETS: _("Sets in series of two or more"),
        }),
        _setting("unit_of_count", _("What is counted?"), together, {
            rules.UnitOfCount.SET: _("Sets"),
            rules.UnitOfCount.BOTTLE: _("Bottles"),
            rules.UnitOfCount.SERIES: _("Series"),
            rules.UnitOfCount.PATIENT: _("Patients"),
        }),
        _setting("line_sets", _("Sets drawn from a line?"), _("infection prevention"), {
            rules.LineSets.INCLUDE: _("Are counted"),
            rules.LineSets.EXCLUDE: _("Are left out"),
        }),
        _setting("follow_up", _("Sets taken to follow a proven infection?"), together, {
            rules.FollowUp.INCLUDE: _("Are counted"),
            rules.FollowUp.EXCLUDE: _("Are left out"),
        }),
    )  # fmt: skip


def charter_in_words(charter: Charter) -> tuple[SettingWords, ...]:
    """Every rule of ``charter`` as question and answer."""
    return tuple(
        SettingWords(
            name=setting.name,
            question=setting.question,
            answer=_answer(charter, setting),
            decides=setting.decides,
        )
        for setting in settings()
    )


def _setting(name: str, question: str, decides: str, choices: dict[StrEnum, str]) -> Setting:
    return Setting(
        name=name,
        question=question,
        decides=decides,
        choices=tuple((key.value, words) for key, words in choices.items()),
    )


def _answer(charter: Charter, setting: Setting) -> str:
    chosen = str(getattr(charter, setting.name))
    words = dict(setting.choices).get(chosen, chosen)
    if setting.name == "window" and chosen == rules.Window.ROLLING_HOURS:
        return _("Sets within {hours} hours of the first one").format(hours=charter.window_hours)
    if setting.name == "follow_up" and chosen == rules.FollowUp.EXCLUDE:
        return _("Are left out for {days} days after the proven one").format(days=charter.follow_up_days)
    return words
