"""What month should we have noticed? The rules run month by month on the data as they were known at the time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import Baseline, Rule, SignalPolicy, SignalReading, assess_month
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, day_words, grouped_words, month_words, share_words
from cubital.stats.tails import chance_at_least

WORSE = (Rule.ABOVE, Rule.SHIFT_UP, Rule.TREND_UP)


@dataclass(frozen=True, kw_only=True)
class Known:
    """The months up to and with the last of ``counts``, as they stood after ``by`` was taken in on the day ``on``."""

    counts: tuple[MonthCount, ...]
    by: str
    on: date


@dataclass(frozen=True, kw_only=True)
class _Look:
    known: Known
    reading: SignalReading

    @property
    def could_judge(self) -> bool:
        return self.reading.state is Baseline.SOUND and self.reading.asked.sets > 0

    @property
    def noticed(self) -> bool:
        return self.could_judge and any(rule in self.reading.broken for rule in WORSE)


def build_noticed_answer(
    known: Sequence[Known],
    *,
    restated: Sequence[MonthCount] | None = None,
    policy: SignalPolicy | None = None,
    locked: tuple[str, str] | None = None,
    receipt: Receipt | None = None,
) -> Answer:
    """The first month that the rules would have called worse, on what was known then, and on today's data beside it.

    Parameters
    ----------
    known : one entry per month in time order, at least one.
    restated : the months as they stand today; none where they are what was known.
    locked : a baseline agreed earlier; none takes every month before the one looked at.
    """
    rules = policy or SignalPolicy()
    looks = [_look(one, rules, locked) for one in known]
    judged = [look for look in looks if look.could_judge]
    question = _("What month should we have noticed?")
    if not judged:
        return Answer(
            question=question, verdict=Verdict.TOO_FEW, receipt=receipt, table=_table(looks, ()),
            sentence=_(
                "Too early to say: no month had {months} months and {sets} sets before it, so none could be judged."
            ).format(months=rules.min_points, sets=grouped_words(rules.min_sets)),
        )  # fmt: skip
    first = next((look for look in looks if look.noticed), None)
    today = _first_today(known, restated, rules, locked)
    return Answer(
        question=question,
        verdict=Verdict.SIGNAL if first or today else Verdict.WITHIN_VARIATION,
        sentence=_sentence(first, today, judged=judged, restated=restated is not None),
        figures=_figures(judged, first),
        cautions=_cautions(judged),
        table=_table(looks, restated or ()),
        receipt=receipt,
    )


def _look(known: Known, policy: SignalPolicy, locked: tuple[str, str] | None) -> _Look:
    return _Look(known=known, reading=assess_month(known.counts, policy=policy, locked=locked))


def _first_today(
    known: Sequence[Known],
    restated: Sequence[MonthCount] | None,
    policy: SignalPolicy,
    locked: tuple[str, str] | None,
) -> MonthCount | None:
    """The first month that today's data would call worse; none where none, or where nothing was restated."""
    if restated is None:
        return None
    for end in range(1, len(restated) + 1):
        counts = tuple(restated[:end])
        look = _look(Known(counts=counts, by="", on=known[-1].on), policy, locked)
        if look.noticed:
            return counts[-1]
    return None


def _subject(count: MonthCount) -> str:
    return _("{month} ({count} of {sets}, {share})").format(
        month=month_words(count.month, with_year=True), count=grouped_words(count.contaminated),
        sets=grouped_words(count.sets), share=share_words(count.contaminated / count.sets),
    )  # fmt: skip


def _sentence(first: _Look | None, today: MonthCount | None, *, judged: Sequence[_Look], restated: bool) -> str:
    if first is None:
        words = _(
            "By the rules, no month from {first} to {last} had to be noticed on what was known at the time."
        ).format(
            first=month_words(judged[0].reading.asked.month, with_year=True),
            last=month_words(judged[-1].reading.asked.month, with_year=True),
        )  # fmt: skip
    else:
        words = _(
            "{subject} is the first month that should have been noticed: {rule}. It was known from {by}, taken in on "
            "{day}."
        ).format(
            subject=_subject(first.reading.asked), rule=rule_words(first.reading), by=first.known.by,
            day=day_words(first.known.on),
        )  # fmt: skip
    return f"{words}{_today_words(first, today, restated=restated)}"


def _today_words(first: _Look | None, today: MonthCount | None, *, restated: bool) -> str:
    if not restated or (first is not None and today is not None and today.month == first.reading.asked.month):
        return ""
    if today is None:
        return " " + _("On the data as they stand today none would be.") if first else ""
    return " " + _("On the data as they stand today it would be {subject}; that was not known then.").format(
        subject=_subject(today)
    )


def rule_words(reading: SignalReading) -> str:
    """Which rule it broke, in words."""
    rule = next(rule for rule in reading.broken if rule in WORSE)
    return {
        Rule.ABOVE: _("it lay above what chance makes"),
        Rule.SHIFT_UP: _("it closed a run of {run} months above the baseline").format(run=abs(reading.current_run)),
        Rule.TREND_UP: _("it closed a steady rise over {trend} months").format(trend=abs(reading.trend)),
    }[rule]


def _false_chance(judged: Sequence[_Look]) -> float:
    """The chance that at least one judged month lay above its limit although nothing had changed."""
    quiet = 0.0
    for look in judged:
        first = look.reading.first_signal
        chance = chance_at_least(first, look.reading.asked.sets, rate=look.reading.rate) if first is not None else 0.0
        quiet += math.log1p(-chance)
    return -math.expm1(quiet)


def _figures(judged: Sequence[_Look], first: _Look | None) -> tuple[Figure, ...]:
    later = 0 if first is None else sum(look.reading.asked.month > first.reading.asked.month for look in judged)
    return (
        Figure(
            key="months_judged", label=_("Months that could be judged"), value=float(len(judged)), unit="months",
            definition=_("months with a sound baseline before them"),
        ),
        Figure(
            key="months_since", label=_("Months since then"), value=float(later) if first else None, unit="months",
            note="" if first else _("no month had to be noticed"),
            definition=_("months judged after the first that should have been noticed"),
        ),
        Figure(
            key="false_alarm_chance", label=_("Chance of a false alarm in all of them"), value=_false_chance(judged),
            unit="proportion", method=_("exact binomial, month by month"),
            definition=_("chance that at least one of these months lies above its limit although nothing changes"),
        ),
    )  # fmt: skip


def _cautions(judged: Sequence[_Look]) -> tuple[str, ...]:
    days = {look.known.on for look in judged}
    found = [
        _("Looking back is easy: the rules cry wolf too, as often as the chance of a false alarm says."),
    ]
    if len(days) < len(judged):
        found.append(
            _("Several months came in with one file; before that day none of them was known, whatever they show now.")
        )
    return tuple(found)


def _table(looks: Sequence[_Look], restated: Sequence[MonthCount]) -> AnswerTable:
    now = {count.month: count for count in restated}
    rows = []
    for look in looks:
        asked = look.reading.asked
        today = now.get(asked.month, asked)
        rows.append(
            (
                asked.month, look.known.by, look.known.on.isoformat(), asked.contaminated, asked.sets,
                today.contaminated, today.sets, _mark(look),
            )
        )  # fmt: skip
    return AnswerTable(
        title=_("Every month as it was known"),
        columns=(
            _("Month"), _("Known from"), _("On"), _("Contaminated then"), _("Sets then"), _("Contaminated today"),
            _("Sets today"), _("Mark"),
        ),
        rows=tuple(rows),
    )  # fmt: skip


def _mark(look: _Look) -> str:
    if not look.could_judge:
        return _("too early to judge")
    return rule_words(look.reading) if look.noticed else ""
