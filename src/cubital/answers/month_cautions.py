"""What to keep in mind about a month's figures, the most important first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from cubital.answers.month_checks import rename_words
from cubital.answers.month_material import MonthMaterial, OldFigure, RenameMark
from cubital.domain.charter import SetClass
from cubital.domain.cultures import TimeQuality
from cubital.domain.words import _, day_words, grouped_words, ngettext, share_words
from cubital.indicators.contamination import definition_words
from cubital.stats.tails import chance_at_most

MOST_OLD_FIGURES = 3
NONE_AT = 0.02  # a rate that most places would be content with
NONE_WORTH_SAYING = 0.05


def month_cautions(material: MonthMaterial, *, chart: Iterable[str] = ()) -> tuple[str, ...]:
    """Restated figures, open results, blanks, names, agreements, what the chart warns of, and the definition, last."""
    found = (
        *(old_figure_words(old) for old in material.old_figures[-MOST_OLD_FIGURES:]),
        none_of_few_words(material),
        _preliminary(material),
        _to_adjudicate(material),
        _unread(material),
        _collectors(material),
        *_doubtful_times(material),
        _outside(material),
        *(f"{rename_words(mark)}." for mark in _shown_renames(material)),
        *chart,
        *_agreements(material),
        _definition(material),
    )
    return tuple(words for words in found if words)


def countless_cautions(material: MonthMaterial, *, shown: bool) -> tuple[str, ...]:
    """What can be said to anybody: no caution that tells a count; ``shown`` where the month's own may be known."""
    found = (
        none_of_few_words(material) if shown else "",
        _("Some results are preliminary and may still change class.") if material.asked.preliminary else "",
        *_agreements(material),
        _definition(material),
    )
    return tuple(words for words in found if words)


def none_of_few_words(material: MonthMaterial) -> str:
    """How little a month without any proves, where it has few sets; empty where it does not need saying."""
    asked = material.asked
    chance = chance_at_most(0, asked.denominator, rate=NONE_AT)
    if asked.numerator or not asked.denominator or chance < NONE_WORTH_SAYING:
        return ""
    return _(
        "None of {total} does not show that the rate is low: even at a true {rate} it would be so in {share} of months."
    ).format(
        total=grouped_words(asked.denominator), rate=share_words(NONE_AT, digits=0), share=share_words(chance, digits=0)
    )


def old_figure_words(old: OldFigure) -> str:
    """``Restated: was 4 of 18 until 10 December 2025 (batch 3).``"""
    if old.decisions:
        return ngettext(
            "Restated: was {count} of {total} until {day} (a decision of medical microbiology).",
            "Restated: was {count} of {total} until {day} ({decisions} decisions of medical microbiology).",
            old.decisions,
        ).format(
            count=grouped_words(old.numerator), total=grouped_words(old.denominator), day=day_words(old.until),
            decisions=old.decisions,
        )  # fmt: skip
    return _("Restated: was {count} of {total} until {day} (batch {batch}).").format(
        count=grouped_words(old.numerator), total=grouped_words(old.denominator), day=day_words(old.until),
        batch=old.batch,
    )  # fmt: skip


def _preliminary(material: MonthMaterial) -> str:
    count = material.asked.preliminary
    if not count:
        return ""
    return ngettext(
        "{count} set is preliminary and may still change class.",
        "{count} sets are preliminary and may still change class.",
        count,
    ).format(count=grouped_words(count))


def _to_adjudicate(material: MonthMaterial) -> str:
    """How far the rate could rise when every open set were counted as contaminated: the doubt, as a number."""
    asked = material.asked
    count = asked.of_class(SetClass.ADJUDICATE)
    if not count or not asked.denominator:
        return ""
    most = min(asked.numerator + count, asked.denominator)
    return ngettext(
        "{count} set waits for the microbiologist; counted as contaminated it would make {most} of {total} ({share}).",
        "{count} sets wait for the microbiologist; all counted as contaminated they would make {most} of {total} "
        "({share}).",
        count,
    ).format(
        count=grouped_words(count), most=grouped_words(most), total=grouped_words(asked.denominator),
        share=share_words(most / asked.denominator),
    )  # fmt: skip


def _unread(material: MonthMaterial) -> str:
    count = material.asked.of_class(SetClass.UNRESOLVED)
    if not count:
        return ""
    return ngettext(
        "{count} set grew something that could not be read or is on no list; it is not counted as contaminated.",
        "{count} sets grew something that could not be read or is on no list; they are not counted as contaminated.",
        count,
    ).format(count=grouped_words(count))


def _collectors(material: MonthMaterial) -> str:
    process = material.process[-1]
    if not process.collector_sets:
        return ""
    if not process.collector_measurable:
        return _("Who collected is not in the file.")
    unknown = process.collector_sets - process.attributed
    if not unknown:
        return ""
    return _("Collector unknown for {share} ({count} of {total} sets).").format(
        share=share_words(unknown / process.collector_sets), count=grouped_words(unknown),
        total=grouped_words(process.collector_sets),
    )  # fmt: skip


def _doubtful_times(material: MonthMaterial) -> tuple[str, ...]:
    seen = Counter(one.time_quality for one in material.sets)
    repeated, backwards = seen[TimeQuality.AMBIGUOUS_HOUR], seen[TimeQuality.AFTER_RECEIPT]
    words = []
    if repeated:
        words.append(
            ngettext(
                "{count} set was drawn in the hour that the clock change repeats; its time was settled by order.",
                "{count} sets were drawn in the hour that the clock change repeats; their times were settled by order.",
                repeated,
            ).format(count=grouped_words(repeated))
        )
    if backwards:
        words.append(
            ngettext(
                "{count} set was received before it was collected: one of its times is wrong and neither is used.",
                "{count} sets were received before they were collected: one of the times is wrong and neither is used.",
                backwards,
            ).format(count=grouped_words(backwards))
        )
    return tuple(words)


def _outside(material: MonthMaterial) -> str:
    count = material.asked.of_class(SetClass.OUTSIDE)
    if not count:
        return ""
    return ngettext(
        "{count} more set is not counted: it is outside the charter's population.",
        "{count} more sets are not counted: they are outside the charter's population.",
        count,
    ).format(count=grouped_words(count))


def _shown_renames(material: MonthMaterial) -> list[RenameMark]:
    first, last = material.history[0].month, material.month
    return [mark for mark in material.renames if first <= mark.on.isoformat()[:7] <= last]


def _agreements(material: MonthMaterial) -> tuple[str, ...]:
    standing = material.standing
    return (
        "" if standing.charter_signed else _("The charter is not signed yet; the definition is not agreed."),
        ""
        if standing.policy_approved or standing.policy_expired
        else _("The thresholds are those of a policy that nobody has approved yet."),
        _("The approval of the policy has expired; have its thresholds looked at again.")
        if standing.policy_expired
        else "",
    )


def _definition(material: MonthMaterial) -> str:
    return _(
        "Counted: {definition}, by charter {version} '{name}'. Figures from elsewhere use other definitions."
    ).format(
        definition=definition_words(material.charter), version=material.charter.version, name=material.charter.name
    )
