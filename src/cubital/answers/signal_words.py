"""One plain sentence per verdict: the counts before the percentage, the doubt, the action."""

from __future__ import annotations

from typing import Literal

from cubital.answers.counted_words import capital, counted_words, things_words
from cubital.answers.signal_reading import Baseline, Rule, SignalReading
from cubital.domain.answer import Verdict
from cubital.domain.words import _, grouped_words, month_words, ngettext, number_words, share_words
from cubital.stats.proportions import wilson_interval
from cubital.stats.tails import chance_at_most

Place = Literal["department", "hospital", "network"]
_USUAL = 0.5  # a month that comes at least every second time
_MOST_MONTHS = 1000  # beyond this "about once in ... months" is no longer a thing anybody can picture


def signal_verdict(reading: SignalReading) -> Verdict:
    """Which kind of answer the reading is."""
    if reading.state is Baseline.ALL_EVENTS:
        return Verdict.REFUSED
    if reading.state is Baseline.NO_EVENT and reading.asked.sets and reading.asked.contaminated:
        unlikely = reading.tail <= reading.policy.most_chance
        return Verdict.SIGNAL if unlikely else Verdict.TOO_FEW
    if reading.state is not Baseline.SOUND or not reading.asked.sets:
        return Verdict.TOO_FEW
    return Verdict.SIGNAL if reading.broken else Verdict.WITHIN_VARIATION


def signal_sentence(reading: SignalReading, *, place: Place) -> str:
    """What a person says aloud about the month, in the current language."""
    return capital(_sentence(reading, place=place))


def _sentence(reading: SignalReading, *, place: Place) -> str:
    if reading.state is Baseline.THIN:
        return _thin_sentence(reading)
    if not reading.asked.sets:
        return _("{month} has no {things}, so there is no rate to judge.").format(
            month=_month(reading), things=things_words(reading.unit)
        )
    if reading.state is Baseline.ALL_EVENTS:
        return _(
            "Every one of the {sets} before {month} is counted as contaminated, which cannot be right; check "
            "which column holds the contaminated sets."
        ).format(sets=counted_words(reading.baseline_sets, reading.unit), month=_month(reading))
    if reading.state is Baseline.NO_EVENT:
        return _no_event_sentence(reading)
    if reading.broken:
        return _signal_sentence(reading, place=place)
    return _within_sentence(reading, place=place)


def subject_words(reading: SignalReading) -> str:
    """``March (19 of 498, 3.8 %)``."""
    asked = reading.asked
    return _("{month} ({count} of {sets}, {share})").format(
        month=_month(reading),
        count=grouped_words(asked.contaminated),
        sets=grouped_words(asked.sets),
        share=share_words(asked.contaminated / asked.sets),
    )


def once_words(chance: float) -> str:
    """``about once in sixteen months`` for a monthly chance of 0.064."""
    months = round(1 / chance) if chance * _MOST_MONTHS >= 1 else _MOST_MONTHS
    if months <= 1:
        return _("in most months")
    if months == 2:
        return _("about every second month")
    if months >= _MOST_MONTHS:
        return _("less than once in {months} months").format(months=grouped_words(_MOST_MONTHS))
    return _("about once in {months} months").format(months=number_words(months))


def zero_is_usual(reading: SignalReading) -> bool:
    """Whether at least every second month of this many sets has none contaminated, and this month is one of them."""
    asked = reading.asked
    return asked.sets > 0 and not asked.contaminated and chance_at_most(0, asked.sets, rate=reading.rate) >= _USUAL


def variation_words(place: Place) -> str:
    """``this department's own variation``."""
    return {
        "department": _("this department's own variation"),
        "hospital": _("this hospital's own variation"),
        "network": _("this network's own variation"),
    }[place]


def _month(reading: SignalReading) -> str:
    return month_words(reading.asked.month)


def _within_sentence(reading: SignalReading, *, place: Place) -> str:
    words = (
        _(
            "{subject} is within what {variation} produces; we would expect a month this high {once}. "
            "No action beyond the current plan; {limit}"
        )
        if reading.high
        else _(
            "{subject} is within what {variation} produces; we would expect a month this low {once}. "
            "No action beyond the current plan; {limit}"
        )
    )
    return words.format(
        subject=subject_words(reading),
        variation=variation_words(place),
        once=once_words(reading.tail),
        limit=_limit_words(reading),
    )


def _limit_words(reading: SignalReading) -> str:
    if not reading.high and reading.last_low_signal is not None:
        return _("{count} or fewer would have been a signal of improvement.").format(count=reading.last_low_signal)
    if reading.first_signal is None:
        return _("with so few of them no count could have been a signal.")
    if zero_is_usual(reading):
        return _("months without any are usual at this size.")
    return _("{count} or more would have been a signal.").format(count=grouped_words(reading.first_signal))


def _signal_sentence(reading: SignalReading, *, place: Place) -> str:
    rule = reading.broken[0]
    return _signal_template(rule).format(
        subject=subject_words(reading),
        variation=variation_words(place),
        once=once_words(reading.tail),
        baseline=share_words(reading.rate),
        run=number_words(abs(reading.current_run)),
        trend=number_words(abs(reading.trend)),
        first=grouped_words(reading.first_signal or 0),
        last=grouped_words(reading.last_low_signal or 0),
    )


def _signal_template(rule: Rule) -> str:
    return {
        Rule.ABOVE: _(
            "{subject} is a signal: it is above what {variation} produces, where {first} or more is a signal and a "
            "month this high comes {once}. Look at the sets of this month before naming a cause."
        ),
        Rule.BELOW: _(
            "{subject} is a signal of improvement: it is below what {variation} produces, where {last} or fewer is a "
            "signal and a month this low comes {once}. Check that every result is in, then find out what went well."
        ),
        Rule.SHIFT_UP: _(
            "{subject} is a signal: it is the latest of {run} months in a row above the baseline of {baseline}, a "
            "sustained rise although no single month need stand out. Ask what changed when the run began."
        ),
        Rule.SHIFT_DOWN: _(
            "{subject} is a signal of improvement: it is the latest of {run} months in a row below the baseline of "
            "{baseline}, a sustained low. Find out what changed when the run began, and keep it."
        ),
        Rule.TREND_UP: _(
            "{subject} is a signal: it is the last of {trend} months that rise steadily. Ask what has been changing "
            "since the first of them."
        ),
        Rule.TREND_DOWN: _(
            "{subject} is a signal of improvement: it is the last of {trend} months that fall steadily. Find out what "
            "has been changing since the first of them, and keep it."
        ),
    }[rule]


def _thin_sentence(reading: SignalReading) -> str:
    asked, policy = reading.asked, reading.policy
    held = (
        _("the baseline before it has {months} with {sets}").format(
            months=_months_words(reading.baseline_points), sets=counted_words(reading.baseline_sets, reading.unit)
        )
        if reading.baseline_points
        else _("there is no month before it to compare with")
    )
    missing = []
    if reading.baseline_points < policy.min_points:
        missing.append(_months_words(policy.min_points - reading.baseline_points))
    if reading.baseline_sets < policy.min_sets:
        missing.append(counted_words(policy.min_sets - reading.baseline_sets, reading.unit))
    return _(
        "Too few to say whether {subject} is signal or noise: {held}, and it takes at least {months} and {sets}; "
        "still missing: {missing}.{range}"
    ).format(
        subject=subject_words(reading) if asked.sets else _month(reading),
        held=held,
        months=_months_words(policy.min_points),
        sets=counted_words(policy.min_sets, reading.unit),
        missing=_(" and ").join(missing),
        range=_range_words(reading),
    )


def _range_words(reading: SignalReading) -> str:
    """What the month alone says, so that a refusal is not empty."""
    asked = reading.asked
    if not asked.sets:
        return ""
    interval = wilson_interval(asked.contaminated, asked.sets)
    return " " + _("On this month alone the true rate may lie anywhere from {low} to {high}.").format(
        low=share_words(interval.low), high=share_words(interval.high)
    )


def _no_event_sentence(reading: SignalReading) -> str:
    sets = counted_words(reading.baseline_sets, reading.unit)
    if not reading.asked.contaminated:
        return _(
            "Too few to say: {month} had none contaminated in {count}, and neither had any of the {sets} before "
            "it, so there is nothing to compare. With none in {all} the true rate may still be as high as {high}."
        ).format(
            month=_month(reading),
            count=counted_words(reading.asked.sets, reading.unit),
            sets=sets,
            all=grouped_words(reading.baseline_sets + reading.asked.sets),
            high=share_words(wilson_interval(0, reading.baseline_sets + reading.asked.sets).high),
        )
    values = {"subject": subject_words(reading), "sets": sets, "once": once_words(reading.tail)}
    if reading.tail <= reading.policy.most_chance:
        return _(
            "{subject} is a signal: none of the {sets} before it was contaminated. If nothing had changed, all of "
            "them would fall in this very month {once}. Look at the sets of this month before naming a cause."
        ).format(**values)
    return _(
        "Too few to say: {subject}, and none of the {sets} before it was contaminated. If nothing had changed, "
        "all of them would still fall in this very month {once}. Look at the sets of this month and wait for the next."
    ).format(**values)


def _months_words(count: int) -> str:
    return ngettext("{count} month", "{count} months", count).format(count=grouped_words(count))
