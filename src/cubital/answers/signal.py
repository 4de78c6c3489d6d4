"""Is this month really worse, or is it noise? Counts by month in, one answer out."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from cubital.answers.counted_words import capital, things_words
from cubital.answers.counts import MonthCount, missing_months
from cubital.answers.pictures import build_month_picture
from cubital.answers.signal_figures import signal_figures
from cubital.answers.signal_reading import Baseline, Rule, SignalPolicy, SignalReading, assess_month
from cubital.answers.signal_words import Place, signal_sentence, signal_verdict, zero_is_usual
from cubital.domain.answer import Answer, AnswerTable, Check, Receipt
from cubital.domain.words import _, month_words, ngettext, share_words

DEFAULT_POLICY = SignalPolicy()
_MOST_NAMED = 6  # months named in one caution before it says how many more


def build_signal_answer(
    counts: Sequence[MonthCount],
    *,
    place: Place = "department",
    policy: SignalPolicy = DEFAULT_POLICY,
    locked: tuple[str, str] | None = None,
    code: str = "",
) -> Answer:
    """The answer to "is the last of these months really worse?" from counts alone.

    Parameters
    ----------
    counts : months in time order, none twice, at least one (otherwise ``ValueError``); the last is asked about.
    place : whose variation it is; only the words change.
    policy : thresholds of the rules.
    locked : first and last month of a baseline agreed earlier; none takes every month before the last.
    code : the version of Cubital, for the receipt.

    Notes
    -----
    The baseline is the months before, all together; limits vary with the sets of each month. A thin baseline (by
    ``policy``), a month without sets, or a baseline without any contaminated set is refused with what is missing.
    """
    reading = assess_month(counts, policy=policy, locked=locked)
    sentence = signal_sentence(reading, place=place)
    return Answer(
        question=signal_question(reading),
        verdict=signal_verdict(reading),
        sentence=sentence,
        figures=signal_figures(reading),
        cautions=(*signal_cautions(reading), _("The definition behind these counts is not known to Cubital.")),
        picture=build_month_picture(reading, title=sentence),
        table=build_month_table(reading),
        receipt=counts_receipt(counts, policy=policy, code=code),
        checks=counts_checks(counts),
    )


def signal_question(reading: SignalReading) -> str:
    """``Is March 2026 really different, or is it noise?``"""
    return _("Is {month} really different, or is it noise?").format(
        month=month_words(reading.asked.month, with_year=True)
    )


def counts_checks(counts: Sequence[MonthCount]) -> tuple[Check, ...]:
    """What was asked of the table of counts: no month twice, no gap between the first month and the last."""
    missing = missing_months(counts)
    doubled = len({count.month for count in counts}) != len(counts)
    span = _("{first} to {last}").format(
        first=month_words(counts[0].month, with_year=True), last=month_words(counts[-1].month, with_year=True)
    )
    return (
        Check(
            key="no_month_twice",
            passed=not doubled,
            words=_("A month stands twice.") if doubled else _("No month stands twice."),
        ),
        Check(
            key="no_gap",
            passed=not missing,
            words=_gap_words(missing) if missing else _("No gap: every month is there, {span}.").format(span=span),
        ),
    )


def signal_cautions(reading: SignalReading) -> tuple[str, ...]:
    """What the person should keep in mind about this reading of the chart."""
    missing = missing_months(reading.counts)
    found = [_gap_words(missing) if missing else ""]
    if reading.state is Baseline.SOUND:
        found += [_limit_caution(reading), _dispersion_caution(reading), _baseline_caution(reading)]
        found.append(_second_rule_caution(reading))
        found.append(_usual_run_caution(reading))
    return tuple(words for words in found if words)


def build_month_table(reading: SignalReading) -> AnswerTable:
    """Every month with its counts, rate, limits (per cent) and what the chart says of it."""
    rows = zip(reading.counts, reading.rates, reading.lower, reading.upper, _marks(reading), strict=True)
    sound = reading.state is Baseline.SOUND
    return AnswerTable(
        title=_("Counted and contaminated {things} by month").format(things=things_words(reading.unit)),
        columns=(
            _("Month"), capital(things_words(reading.unit)), _("Contaminated"), _("Rate, %"), _("Lower limit, %"),
            _("Upper limit, %"), _("Mark"),
        ),
        rows=tuple(
            (
                count.month, count.sets, count.contaminated, _percent(rate),
                _percent(low) if sound else None, _percent(high) if sound else None,
                mark,
            )
            for count, rate, low, high, mark in rows
        ),
    )  # fmt: skip


def _marks(reading: SignalReading) -> list[str]:
    """One word per month: outside its limits, part of a run that is a signal, without sets, or nothing."""
    sound = reading.state is Baseline.SOUND
    return [
        _mark_words(rate, reading, marked=sound and marked, in_run=sound and in_run)
        for rate, marked, in_run in zip(reading.rates, reading.marked, reading.in_run, strict=True)
    ]


def _mark_words(rate: float | None, reading: SignalReading, *, marked: bool, in_run: bool) -> str:
    if rate is None:
        return _("no sets")
    if marked:
        return _("signal: above") if rate > reading.rate else _("signal: below")
    return _("signal: part of the run") if in_run else ""


def _percent(share: float | None) -> float | None:
    return None if share is None else round(100 * share, 2)


def _gap_words(missing: Sequence[str]) -> str:
    named = ", ".join(month_words(month, with_year=True) for month in missing[:_MOST_NAMED])
    if len(missing) > _MOST_NAMED:
        named += " …"
    return ngettext(
        "{count} month is missing between the first and the last: {months}.",
        "{count} months are missing between the first and the last: {months}.",
        len(missing),
    ).format(count=len(missing), months=named)


def _limit_caution(reading: SignalReading) -> str:
    if not reading.beyond[-1] or reading.marked[-1]:
        return ""
    return _(
        "The month lies outside the drawn limit, but with so few sets that happens by chance in {share} of months, so "
        "it is not called a signal."
    ).format(share=share_words(reading.tail))


def _dispersion_caution(reading: SignalReading) -> str:
    if reading.dispersion > reading.policy.dispersion_chance:
        return ""
    return _(
        "The months before vary more than chance alone would make them; something besides chance moves them, and "
        "limits drawn from chance alone are too narrow."
    )


def _baseline_caution(reading: SignalReading) -> str:
    held = {count.month for count in reading.baseline}
    months = [c.month for c, marked in zip(reading.counts, reading.marked, strict=True) if marked and c.month in held]
    if not months:
        return ""
    named = ", ".join(month_words(month, with_year=True) for month in months[:_MOST_NAMED])
    return ngettext(
        "The baseline itself holds a month outside its limits: {months}. It is kept in until someone can say why.",
        "The baseline itself holds {count} months outside its limits: {months}. They are kept in until someone can say "
        "why.",
        len(months),
    ).format(count=len(months), months=named)


def _second_rule_caution(reading: SignalReading) -> str:
    """A month that stands out by itself may also close a run; the sentence names only the first."""
    others = {
        Rule.SHIFT_UP: _("It also closes a run of {run} months above the baseline."),
        Rule.SHIFT_DOWN: _("It also closes a run of {run} months below the baseline."),
        Rule.TREND_UP: _("It also closes a steady rise over {trend} months."),
        Rule.TREND_DOWN: _("It also closes a steady fall over {trend} months."),
    }
    words = [others[rule] for rule in reading.broken[1:] if rule in others]
    return " ".join(words).format(run=abs(reading.current_run), trend=abs(reading.trend))


def _usual_run_caution(reading: SignalReading) -> str:
    """A run that is long enough but that chance makes too often, as it does in small months."""
    run = abs(reading.current_run)
    if run < reading.policy.shift_points or reading.run_chance <= reading.policy.run_chance:
        return ""
    if reading.current_run < 0 and zero_is_usual(reading):
        return _(
            "The last {run} months lie below the baseline, but months without any are usual at this size, so the run "
            "is not called a signal."
        ).format(run=run)
    words = (
        _("The last {run} months lie above the baseline, but chance alone makes such a run too often for a signal.")
        if reading.current_run > 0
        else _(
            "The last {run} months lie below the baseline, but chance alone makes such a run too often for a signal."
        )
    )
    return words.format(run=run)


def counts_receipt(counts: Sequence[MonthCount], *, policy: SignalPolicy, code: str) -> Receipt:
    """What an answer from counts alone was made of."""
    lines = "\n".join(f"{count.month},{count.sets},{count.contaminated}" for count in counts)
    months = ngettext("counts of {count} month", "counts of {count} months", len(counts)).format(count=len(counts))
    return Receipt(
        data=f"{months} {hashlib.sha256(lines.encode()).hexdigest()[:16]}",
        charter=_("no charter: counts were given ready made"),
        policy=policy_words(policy),
        code=code,
    )


def policy_words(policy: SignalPolicy) -> str:
    """The rules in one line, for the receipt."""
    return _(
        "signal rules: limits at {sigmas} times the usual spread, {shift} in a row, {trend} rising or falling, "
        "baseline of at least {points} months and {sets} sets"
    ).format(
        sigmas=f"{policy.sigmas:g}", shift=policy.shift_points, trend=policy.trend_points, points=policy.min_points,
        sets=policy.min_sets,
    )  # fmt: skip
