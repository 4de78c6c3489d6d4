"""The figures behind the signal sentence, each with what is counted over what and how it was made."""

from __future__ import annotations

from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import Baseline, SignalReading
from cubital.domain.answer import Figure
from cubital.domain.words import _, month_words, ngettext, share_words
from cubital.stats.proportions import wilson_interval
from cubital.stats.tails import chance_at_least, chance_at_most, chance_of_any, chance_rate_below, most_below

_SPREADS = "spreads"


def signal_figures(reading: SignalReading) -> tuple[Figure, ...]:
    """Rate, baseline, limits, first signal, tails, runs, and the chance of being below the target, in this order.

    On a thin baseline the figures that need one have no value and say why.
    """
    return (
        _month_rate(reading),
        _baseline_rate(reading),
        _limit("upper_limit", _("Upper limit"), reading, reading.upper[-1]),
        _limit("lower_limit", _("Lower limit"), reading, reading.lower[-1]),
        _first_signal(reading),
        *_tails(reading),
        _z(reading),
        *_runs(reading),
        *_target(reading),
    )


def _share(key: str, label: str, *, contaminated: int, sets: int, definition: str, nothing: str) -> Figure:
    if not sets:
        return Figure(key=key, label=label, value=None, unit="proportion", definition=definition, note=nothing)
    interval = wilson_interval(contaminated, sets)
    return Figure(
        key=key, label=label, value=contaminated / sets, unit="proportion", low=interval.low, high=interval.high,
        level=interval.level, method=interval.method, numerator=contaminated, denominator=sets, definition=definition,
    )  # fmt: skip


def _month_rate(reading: SignalReading) -> Figure:
    return _share(
        "month_rate",
        month_words(reading.asked.month, with_year=True),
        contaminated=reading.asked.contaminated,
        sets=reading.asked.sets,
        definition=_("contaminated sets over sets, this month"),
        nothing=_("no sets this month"),
    )


def _baseline_rate(reading: SignalReading) -> Figure:
    months = ngettext("{count} month", "{count} months", reading.baseline_points).format(count=reading.baseline_points)
    return _share(
        "baseline_rate",
        _("Baseline"),
        contaminated=reading.baseline_contaminated,
        sets=reading.baseline_sets,
        definition=_("contaminated sets over sets, all months of the baseline together ({months})").format(
            months=months
        ),
        nothing=_("no months before"),
    )


def _unsound(reading: SignalReading) -> str:
    """Why figures that need a baseline have no value; empty where they have one."""
    if reading.state is Baseline.THIN:
        return _("the baseline has too few months or sets")
    if reading.state is not Baseline.SOUND:
        return _("the baseline does not vary")
    return "" if reading.asked.sets else _("no sets this month")


def _limit(key: str, label: str, reading: SignalReading, value: float | None) -> Figure:
    note = _unsound(reading)
    return Figure(
        key=key, label=label, value=None if note else value, unit="proportion", note=note,
        method=_("proportion chart, baseline ± {sigmas} standard deviations").format(
            sigmas=f"{reading.policy.sigmas:g}"
        ),
        definition=_("how far a month of this many sets strays from the baseline by chance"),
    )  # fmt: skip


def _first_signal(reading: SignalReading) -> Figure:
    note = _unsound(reading)
    first = None if note else reading.first_signal
    if not note:
        note = (
            _("no count of so few sets could be a signal")
            if first is None
            else _("reached by chance in {share} of months").format(
                share=share_words(chance_at_least(first, reading.asked.sets, rate=reading.rate), 2)
            )
        )
    return Figure(
        key="first_signal", label=_("First signal"), unit="sets", note=note,
        value=None if first is None else float(first),
        numerator=first, denominator=None if first is None else reading.asked.sets,
        method=_("above the upper limit, and an exact chance of at most {share}").format(
            share=share_words(reading.policy.most_chance)
        ),
        definition=_("the smallest number of contaminated sets that would have been a signal this month"),
    )  # fmt: skip


def _tails(reading: SignalReading) -> tuple[Figure, ...]:
    note = _unsound(reading)
    tail, months = reading.tail, reading.policy.look_months
    definition = (
        _("chance of this many contaminated sets or more when nothing has changed")
        if reading.high
        else _("chance of this many contaminated sets or fewer when nothing has changed")
    )
    exact = _("exact binomial at the baseline rate")
    return (
        Figure(
            key="tail", label=_("Chance of such a month"), value=None if note else tail, unit="proportion",
            method=exact, definition=definition, note=note,
        ),
        Figure(
            key="once_in_months", label=_("Such a month comes once in"), value=1 / tail if tail and not note else None,
            unit="months", method=exact, definition=_("one over the chance of such a month"), note=note,
        ),
        Figure(
            key="any_of_twelve", label=_("Chance of at least one in {months} months").format(months=months),
            value=None if note else chance_of_any(tail, months), unit="proportion", method=exact, note=note,
            definition=_("chance that some month of {months} looks like this when nothing has changed").format(
                months=months
            ),
        ),
    )  # fmt: skip


def _z(reading: SignalReading) -> Figure:
    note = _unsound(reading)
    return Figure(
        key="z", label=_("Distance from the baseline"), value=None if note else reading.z, unit=_SPREADS, note=note,
        method=_("normal approximation"),
        definition=_("month minus baseline, in usual spreads of a month of this many sets"),
    )  # fmt: skip


def _runs(reading: SignalReading) -> tuple[Figure, ...]:
    note, policy = _unsound(reading), reading.policy
    rows = (
        (
            "longest_run", _("Longest run"), reading.longest_run,
            _("most months in a row on one side of the baseline; a month exactly on it is passed over"),
        ),
        (
            "current_run", _("Run up to this month"), abs(reading.current_run),
            _(
                "months in a row, this one included, on one side of the baseline; {points} or more are a signal where "
                "chance alone makes such a run in at most {share}"
            ).format(points=policy.shift_points, share=share_words(policy.run_chance)),
        ),
        (
            "current_trend", _("Steady rise or fall up to this month"), abs(reading.trend),
            _("months in a row, this one included, that only rise or only fall; {points} are a signal").format(
                points=policy.trend_points
            ),
        ),
    )  # fmt: skip
    return tuple(
        Figure(
            key=key, label=label, value=None if note else float(value), unit="months", definition=definition, note=note,
            method=_("run rules of the proportion chart"),
        )
        for key, label, value, definition in rows
    )  # fmt: skip


def _target(reading: SignalReading) -> tuple[Figure, ...]:
    target, months = reading.policy.target, reading.policy.look_months
    if target is None:
        return ()
    recent = [count for count in reading.counts[-months:] if count.sets]
    return (
        _chance_below(reading, recent, target=target),
        _month_below(reading, target=target),
        _green(reading, recent, target=target),
    )


def _thin(reading: SignalReading) -> str:
    return _unsound(reading) if reading.state is Baseline.THIN else ""


def _chance_below(reading: SignalReading, recent: list[MonthCount], *, target: float) -> Figure:
    contaminated, sets = sum(c.contaminated for c in recent), sum(c.sets for c in recent)
    note = _thin(reading) or ("" if sets else _("no sets to go by"))
    return Figure(
        key="chance_below_target", label=_("Chance that the true rate is below {target}").format(
            target=share_words(target)
        ),
        value=None if note else chance_rate_below(contaminated, sets, target=target), unit="proportion",
        numerator=contaminated, denominator=sets, note=note,
        method=_("posterior probability, Beta with Jeffreys' prior"),
        definition=ngettext(
            "over the last {count} month with sets, together", "over the last {count} months with sets, together",
            len(recent),
        ).format(count=len(recent)),
    )  # fmt: skip


def _month_below(reading: SignalReading, *, target: float) -> Figure:
    note, most = _unsound(reading), most_below(target, reading.asked.sets)
    value = None if note else chance_at_most(most, reading.asked.sets, rate=reading.rate)
    return Figure(
        key="month_below_target", label=_("Chance that a month comes in below {target}").format(
            target=share_words(target)
        ),
        value=value, unit="proportion", method=_("exact binomial at the baseline rate"),
        note=note or _("below means {count} or fewer").format(count=most),
        definition=_("chance that a month of this many sets looks below the target when the baseline rate is true"),
    )  # fmt: skip


def _green(reading: SignalReading, recent: list[MonthCount], *, target: float) -> Figure:
    note = _thin(reading)
    below = sum(count.contaminated <= most_below(target, count.sets) for count in recent)
    return Figure(
        key="months_below_target", label=_("Months below {target}").format(target=share_words(target)),
        value=None if note else float(below), unit="months", note=note, numerator=below, denominator=len(recent),
        definition=_("months that came in below the target; their number does not show that the true rate is below it"),
    )  # fmt: skip
