"""We met the target in most months; is the true rate below it? A probability, and not a count of green months."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cubital.answers.counts import MonthCount
from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.answers.signal_reading import SignalPolicy
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, month_words, share_words
from cubital.stats.proportions import jeffreys_interval
from cubital.stats.tails import chance_at_most, chance_rate_below, most_below

SURE = 0.95
_NEVER = 0.0005  # below it a share written with one decimal would read 0.0 %


def build_target_answer(
    counts: Sequence[MonthCount], *, target: float, policy: SignalPolicy | None = None, receipt: Receipt | None = None
) -> Answer:
    """Is the true rate below ``target`` (a share, above 0, below 1) over the last months (``policy.look_months``)?"""
    if not 0 < target < 1:
        raise ValueError(f"a target of {target} is no share between 0 and 1")
    rules = policy or SignalPolicy()
    recent = [count for count in counts[-rules.look_months :] if count.sets]
    sets, events = sum(c.sets for c in recent), sum(c.contaminated for c in recent)
    question = _("Are we below {target}?").format(target=share_words(target))
    if sets < rules.min_sets:
        sentence = _(
            "Too few to say: {sets} sets, and it takes at least {least}; still missing: {missing} sets."
        ).format(
            sets=grouped_words(sets), least=grouped_words(rules.min_sets), missing=grouped_words(rules.min_sets - sets)
        )
        return Answer(question=question, verdict=Verdict.TOO_FEW, sentence=sentence, receipt=receipt)
    below = chance_rate_below(events, sets, target=target)
    sentence = _sentence(recent, target=target, below=below)
    return Answer(
        question=question,
        verdict=Verdict.ESTIMATE,
        sentence=sentence,
        figures=_figures(recent, target=target, below=below),
        cautions=(
            _("A month below the target is half luck: the number of green months is no measure of the rate."),
            _("The rate is taken as one and the same over these months; where it changed, ask since when first."),
        ),
        picture=_picture(recent, target=target, title=sentence),
        table=_table(recent, target=target),
        receipt=receipt,
    )


def _sentence(recent: Sequence[MonthCount], *, target: float, below: float) -> str:
    sets, events = sum(c.sets for c in recent), sum(c.contaminated for c in recent)
    green = sum(c.contaminated <= most_below(target, c.sets) for c in recent)
    if below >= SURE:
        head = _("Yes: {count} of {sets} ({share}); the chance that the true rate is below {target} is {chance}.")
    elif below <= 1 - SURE:
        head = _(
            "No, we are not below {target}: {count} of {sets} ({share}); the chance that the true rate is below it is "
            "{chance}."
        )
    else:
        head = _(
            "Not known yet: {count} of {sets} ({share}); the chance that the true rate is below {target} is {chance}."
        )
    tail = _(
        "{green} of {months} months came in below it; at this rate {expected} of months do by luck and rate together."
    )
    middle = sorted(c.sets for c in recent)[len(recent) // 2]
    expected = chance_at_most(most_below(target, middle), middle, rate=events / sets)
    return (head + " " + tail).format(
        count=grouped_words(events), sets=grouped_words(sets), share=share_words(events / sets),
        target=share_words(target), chance=_chance_words(below), green=green, months=len(recent),
        expected=share_words(expected, 0),
    )  # fmt: skip


def _chance_words(chance: float) -> str:
    if chance < _NEVER:
        return _("less than {share}").format(share=share_words(0.001))
    if chance > 1 - _NEVER:
        return _("more than {share}").format(share=share_words(0.999))
    return share_words(chance, 0 if 0.01 <= chance <= 0.99 else 1)


def _figures(recent: Sequence[MonthCount], *, target: float, below: float) -> tuple[Figure, ...]:
    sets, events = sum(c.sets for c in recent), sum(c.contaminated for c in recent)
    interval = jeffreys_interval(events, sets)
    last = recent[-1]
    return (
        Figure(
            key="rate", label=_("Rate over these months"), value=events / sets, unit="proportion", low=interval.low,
            high=interval.high, level=interval.level, method=interval.method, numerator=events, denominator=sets,
            definition=_("contaminated sets over sets"),
        ),
        Figure(
            key="chance_below_target", value=below, unit="proportion", numerator=events, denominator=sets,
            label=_("Chance that the true rate is below {target}").format(target=share_words(target)),
            method=_("posterior probability, Beta with Jeffreys' prior"),
            definition=_("over the months asked about, together"),
        ),
        Figure(
            key="month_below_target", unit="proportion",
            label=_("Chance that a month comes in below {target}").format(target=share_words(target)),
            value=chance_at_most(most_below(target, last.sets), last.sets, rate=events / sets),
            method=_("exact binomial at the rate of these months"),
            definition=_("for a month of as many sets as the last"),
        ),
        Figure(
            key="months_below_target", label=_("Months below {target}").format(target=share_words(target)),
            value=float(sum(c.contaminated <= most_below(target, c.sets) for c in recent)), unit="months",
            definition=_(
                "months that came in below the target; their number does not show that the true rate is below it"
            ),
        ),
    )  # fmt: skip


def _picture(recent: Sequence[MonthCount], *, target: float, title: str) -> dict[str, Any]:
    rows = []
    for count in recent:
        interval = jeffreys_interval(count.contaminated, count.sets)
        rows.append(
            _row(month_words(count.month, with_year=True), count.contaminated, count.sets, interval.low, interval.high)
        )
    sets, events = sum(c.sets for c in recent), sum(c.contaminated for c in recent)
    interval = jeffreys_interval(events, sets)
    rows.append(_row(_("all together"), events, sets, interval.low, interval.high))
    words = _("target {share}").format(share=share_words(target))
    return build_interval_picture(rows, title=title, line=target, line_words=words)


def _row(name: str, events: int, sets: int, low: float, high: float) -> IntervalRow:
    words = _("{count} of {sets}").format(count=grouped_words(events), sets=grouped_words(sets))
    return IntervalRow(name=name, value=events / sets, low=low, high=high, words=words)


def _table(recent: Sequence[MonthCount], *, target: float) -> AnswerTable:
    return AnswerTable(
        title=_("Months against the target"),
        columns=(_("Month"), _("Sets"), _("Contaminated"), _("Rate, %"), _("Below the target")),
        rows=tuple(
            (
                c.month, c.sets, c.contaminated, round(100 * c.contaminated / c.sets, 2),
                _("yes") if c.contaminated <= most_below(target, c.sets) else _("no"),
            )
            for c in recent
        ),
    )  # fmt: skip
