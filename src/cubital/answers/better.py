"""Are we getting better? A trend with its interval, one lasting change, and the rules for runs: all three are asked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.counted_words import capital
from cubital.answers.counts import MonthCount
from cubital.answers.pictures import build_month_picture
from cubital.answers.signal import build_month_table
from cubital.answers.signal_reading import SignalPolicy, assess_month
from cubital.answers.since_when import FEWEST, SURE, too_few_words
from cubital.domain.answer import Answer, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, month_words, ngettext, share_words
from cubital.stats.change_point import ChangePoint, find_change
from cubital.stats.mixed_logistic import NotIdentifiable, fit_logistic
from cubital.stats.run_chart import RunChart, run_chart, run_false_alarm


@dataclass(frozen=True, kw_only=True)
class Trend:
    """The odds of contamination after a year over those before, with its 95 % interval; none where none can be had."""

    ratio: float
    low: float
    high: float

    @property
    def falls(self) -> bool:
        return self.high < 1

    @property
    def rises(self) -> bool:
        return self.low > 1


def fit_trend(counts: Sequence[MonthCount]) -> Trend | None:
    """The yearly odds ratio of a logistic line through the months; none where the months cannot give one."""
    held = [(place, count) for place, count in _placed(counts) if count.sets]
    if len({place for place, _count in held}) < 2:
        return None
    try:
        fit = fit_logistic(
            [count.contaminated for _place, count in held], [count.sets for _place, count in held],
            [[1.0, place / 12] for place, _count in held],
        )  # fmt: skip
    except NotIdentifiable:
        return None
    interval = fit.odds_ratio(1)
    ratio = math.exp(float(fit.coefficients[1]))
    if not all(math.isfinite(value) for value in (ratio, interval.low, interval.high)):
        return None
    return Trend(ratio=ratio, low=interval.low, high=interval.high)


def _placed(counts: Sequence[MonthCount]) -> list[tuple[int, MonthCount]]:
    """Months by their distance from the first, gaps included."""
    first = counts[0].month
    return [(_months_between(first, count.month), count) for count in counts]


def _months_between(first: str, last: str) -> int:
    (a, b), (c, d) = ((int(part) for part in month.split("-")) for month in (first, last))
    return (c - a) * 12 + d - b


def build_better_answer(
    counts: Sequence[MonthCount], *, policy: SignalPolicy | None = None, receipt: Receipt | None = None
) -> Answer:
    """Are we getting better over these months (time order, at least one)? Fewer than twelve are too early."""
    rules = policy or SignalPolicy()
    question = _("Are we getting better?")
    held = [count for count in counts if count.sets]
    sets, events = sum(c.sets for c in held), sum(c.contaminated for c in held)
    if len(held) < FEWEST or sets < rules.min_sets:
        return Answer(
            question=question, verdict=Verdict.TOO_FEW, sentence=too_few_words(len(held), sets, rules), receipt=receipt
        )
    if events in (0, sets):
        return _without_variation(question, events=events, sets=sets, receipt=receipt)
    reading = assess_month(counts, policy=rules)
    change = find_change([c.contaminated for c in counts], [c.sets for c in counts])
    trend, runs = fit_trend(counts), run_chart([c.contaminated / c.sets for c in held])
    sentence = capital(_sentence(counts, trend=trend, change=change, runs=runs))
    return Answer(
        question=question,
        verdict=_verdict(trend, change, runs),
        sentence=sentence,
        figures=_figures(trend, change, runs),
        cautions=_cautions(trend),
        picture=build_month_picture(reading, title=sentence),
        table=build_month_table(reading),
        receipt=receipt,
    )


def _without_variation(question: str, *, events: int, sets: int, receipt: Receipt | None) -> Answer:
    sentence = (
        _("Every set of these months is counted as contaminated, which cannot be right; check how they were counted.")
        if events == sets
        else _("None was contaminated in all these months: there is nothing to become better from.")
    )
    verdict = Verdict.REFUSED if events == sets else Verdict.NOT_IDENTIFIABLE
    return Answer(question=question, verdict=verdict, sentence=sentence, receipt=receipt)


def _verdict(trend: Trend | None, change: ChangePoint, runs: RunChart) -> Verdict:
    moves = trend is not None and (trend.falls or trend.rises)
    return Verdict.SIGNAL if moves or change.chance >= SURE or runs.signal else Verdict.WITHIN_VARIATION


def _direction(trend: Trend | None, change: ChangePoint) -> int:
    """−1 better, +1 worse, 0 neither: the line first, the lasting change where the line says nothing."""
    if trend is not None and trend.falls:
        return -1
    if trend is not None and trend.rises:
        return 1
    if change.chance >= SURE:
        return -1 if change.after < change.before else 1
    return 0


def _sentence(counts: Sequence[MonthCount], *, trend: Trend | None, change: ChangePoint, runs: RunChart) -> str:
    direction = _direction(trend, change)
    span = _("from {first} to {last}").format(
        first=month_words(counts[0].month, with_year=True), last=month_words(counts[-1].month, with_year=True)
    )
    values = {"span": span, "year": _year_words(trend), "change": _change_words(counts, change)}
    if direction < 0:
        return _("Yes, we are getting better {span}{year}{change}. Keep what changed it.").format(**values)
    if direction > 0:
        return _("No, it is getting worse {span}{year}{change}. Look for what changed.").format(**values)
    if runs.signal:
        return _(
            "The months {span} do not follow chance: they stay too long on one side of their middle. There is no "
            "steady rise or fall{year}; look at when they changed sides."
        ).format(**values)
    return _(
        "No sign of better or worse {span}{year}: the months come and go as chance makes them. A change that small "
        "cannot be told from chance yet."
    ).format(**values)


def _year_words(trend: Trend | None) -> str:
    """The line in words. Contaminations are rare, so that their odds and their share change alike."""
    if trend is None:
        return ""
    return _(" (along a line about {middle} a year; anything from {low} to {high} fits)").format(
        middle=_percent_words(trend.ratio), low=_percent_words(trend.low), high=_percent_words(trend.high)
    )


def _percent_words(ratio: float) -> str:
    """``12 % fewer``, ``30 % more``, ``nothing``, and from a tenfold rise on its factor."""
    percent = round(100 * abs(ratio - 1))
    if not percent:
        return _("nothing")
    if ratio >= 10:
        return _("{factor} times as many").format(factor=grouped_words(round(ratio)))
    return (_("{percent} % more") if ratio > 1 else _("{percent} % fewer")).format(percent=percent)


def _change_words(counts: Sequence[MonthCount], change: ChangePoint) -> str:
    if change.chance < SURE:
        return ""
    return _(", most likely since {month}: {before} before, {after} from then on").format(
        month=month_words(counts[change.first].month, with_year=True), before=share_words(change.before),
        after=share_words(change.after),
    )  # fmt: skip


def _figures(trend: Trend | None, change: ChangePoint, runs: RunChart) -> tuple[Figure, ...]:
    alarm = run_false_alarm(runs.useful) if runs.useful >= 2 else None
    return (
        Figure(
            key="yearly_ratio", label=_("Odds after a year over odds before"), unit="",
            value=trend.ratio if trend else None, low=trend.low if trend else None, high=trend.high if trend else None,
            level=0.95 if trend else None, method=_("logistic line through the months, Wald interval"),
            definition=_("below 1 is better, above 1 worse"),
            note="" if trend else _("these months give no line"),
        ),
        Figure(
            key="chance_of_change", label=_("Chance that the rate changed"), value=change.chance, unit="proportion",
            method=_("posterior probability of one change, even odds beforehand"),
            definition=_("given these months, one lasting change against none"),
        ),
        Figure(
            key="longest_run", label=_("Longest run"), value=float(runs.longest_run), unit="months",
            definition=_("most months in a row on one side of their median"),
            note="" if runs.limits is None else ngettext(
                "more than {count} would be a signal", "more than {count} would be a signal",
                runs.limits.longest_run_max,
            ).format(count=runs.limits.longest_run_max),
        ),
        Figure(
            key="crossings", label=_("Changes of side"), value=float(runs.crossings), unit="",
            definition=_("how often the months cross their median"),
            note="" if runs.limits is None else _("fewer than {count} would be a signal").format(
                count=runs.limits.crossings_min
            ),
        ),
        Figure(
            key="run_false_alarm", label=_("These two rules cry wolf in"), unit="proportion",
            value=alarm.either if alarm else None, method=_("exact, independent months"),
            definition=_("share of such tables in which a run or crossings signal although nothing changes"),
            note="" if alarm else _("too few months off the median"),
        ),
    )  # fmt: skip


def _cautions(trend: Trend | None) -> tuple[str, ...]:
    found = (
        _("Better or worse does not say why: who draws, where and when may have changed together."),
        "" if trend else _("No line could be laid through these months."),
    )
    return tuple(words for words in found if words)
