"""The sentences about a trial's length: what is needed, what it takes here, and why not where it cannot be."""

from __future__ import annotations

from cubital.answers.trial_ask import IccSource
from cubital.answers.trial_reading import LONGEST_MONTHS, Needed, TrialReading, TrialState
from cubital.domain.trial import TrialDesign
from cubital.domain.words import _, decimal_words, grouped_words, ngettext, number_words, share_words


def trial_question() -> str:
    """The question as it is asked."""
    return _("How long must the trial run?")


def trial_sentence(reading: TrialReading) -> str:
    """Sets in each arm first, months here second, what clustering adds third; or the refusal."""
    if reading.state is not TrialState.SAID or reading.needed is None:
        return refusal_words(reading)
    return " ".join((_plain_words(reading), _clustered_words(reading, reading.needed), _verdict_words(reading)))


def refusal_words(reading: TrialReading) -> str:
    """Why no size can be said, and what is missing."""
    ask = reading.ask
    if reading.state is TrialState.NO_BENEFIT:
        return _(
            "{expected} after {baseline} is no benefit (a relative risk of {ratio}): a trial is planned for a fall. "
            "Give the rate that is hoped for, below {baseline}."
        ).format(
            expected=rate_words(ask.expected), baseline=rate_words(ask.baseline),
            ratio=decimal_words(f"{ask.expected / ask.baseline:.2f}"),
        )  # fmt: skip
    if reading.state is TrialState.FEW_UNITS:
        return _few_words(reading)
    return {
        TrialState.NO_SHARE: _(
            "No size can be said: both rates must lie between 0 and 100 %, neither of them 0 or 100. Give the rate of "
            "the last twelve months, and the rate that would make it worth the money."
        ),
        TrialState.ONE_UNIT: _(
            "With one unit there is nothing to compare it with at the same time. Let it have both ways in turn, week "
            "by week or day by day, or bring a second unit in."
        ),
        TrialState.FEW_STEPS: _(
            "Steps need three units at least: with fewer, the new way cannot be told from the units. Let each have "
            "both ways in turn instead."
        ),
    }.get(reading.state) or _(
        "No size can be said: the level, the power, the sets a month or the number of units cannot be right. Usual are "
        "95 %, 80 %, and the sets that the laboratory received last month."
    )


def _few_words(reading: TrialReading) -> str:
    units, least = number_words(reading.ask.units), reading.least_units
    if least is None:
        return _("No number of units in steps can show a difference this small at this correlation.")
    if reading.ask.design is TrialDesign.STEPPED:
        words = _(
            "With {units} units in steps no trial can show it, however long it runs: units swing by more than that by "
            "themselves. It takes at least {least} units, or units that have both ways in turn."
        )
    else:
        words = _(
            "With {units} units no trial that compares units can show it, however long it runs: units differ by more "
            "than that by themselves. It takes at least {least} units on each side, or units that have both ways in "
            "turn."
        )
    return words.format(units=units, least=least)


def _plain_words(reading: TrialReading) -> str:
    ask = reading.ask
    size = -(-reading.uncorrected // 1)
    return _(
        "To show a fall from {baseline} to {expected}, {sets} sets are needed in each arm (found in {power} of such "
        "trials); at {volume} sets a month that is {each} for each arm, {both} for both."
    ).format(
        baseline=rate_words(ask.baseline), expected=rate_words(ask.expected), sets=grouped_words(int(size)),
        power=share_words(ask.power, 0), volume=volume_words(ask.per_month),
        each=months_words(reading.months_each), both=months_words(2 * reading.months_each),
    )  # fmt: skip


def _clustered_words(reading: TrialReading, needed: Needed) -> str:
    source = {
        IccSource.ASSUMED: _("an assumption"), IccSource.GIVEN: _("as you gave it"),
        IccSource.LEARNT: _("learnt from your units"),
    }[reading.ask.icc_source]  # fmt: skip
    values = {
        "sets": grouped_words(needed.per_arm), "icc": decimal_words(f"{needed.icc:.2g}"), "source": source,
        "months": months_words(needed.months),
    }  # fmt: skip
    if needed.effect < 1.005:
        return _("Sets of one unit resemble each other, but hardly matter here: plan for {sets} in each arm.").format(
            **values
        )
    return _(
        "Because sets of one unit resemble each other (correlation {icc}, {source}), plan for {sets} in each arm: "
        "{months}."
    ).format(**values)


def _verdict_words(reading: TrialReading) -> str:
    months = reading.needed.months if reading.needed else 0.0
    if reading.ask.months is not None and months > reading.ask.months:
        return _(
            "That is longer than the {months} there are: see below what a trial of that length could show."
        ).format(months=months_words(reading.ask.months))
    if months > LONGEST_MONTHS:
        return _(
            "Longer than two years, staff and kit change meanwhile: bring more units in, or do not start for a "
            "difference this small."
        )
    return _("Start only when somebody has agreed beforehand what will be done with either result.")


def rate_words(rate: float) -> str:
    """A contamination rate with a digit more where it is under 1 %, and two where it is under 0.1 %: never a bare 0."""
    return share_words(rate, 1 if rate >= 0.00995 or rate <= 0 else 2 if rate >= 0.000995 else 3)


def volume_words(per_month: float) -> str:
    """A number of sets a month."""
    return grouped_words(round(per_month)) if per_month >= 10 else decimal_words(f"{per_month:.1f}")


def months_words(months: float) -> str:
    """``6.5 months``, ``13 months``, ``1 month``; below ten with one decimal."""
    rounded = round(months, 1) if months < 10 else round(months)
    text = f"{rounded:.1f}".removesuffix(".0") if months < 10 else f"{rounded:.0f}"
    return ngettext("{count} month", "{count} months", 1 if text == "1" else 2).format(count=decimal_words(text))


def design_words(design: TrialDesign) -> str:
    """The design in one phrase."""
    return {
        TrialDesign.WEEKS: _("every unit has both ways in turn, week by week"),
        TrialDesign.DAYS: _("every unit has both ways in turn, day by day"),
        TrialDesign.PARALLEL: _("half of the units get the new way, the other half stay as they are"),
        TrialDesign.STEPPED: _("all units get the new way, one after the other, in an order that was drawn"),
    }[design]
