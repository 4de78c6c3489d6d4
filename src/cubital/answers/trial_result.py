"""The result of a trial or of a look at it: arms side by side, the limit that was written, what it cannot say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cubital.answers.counted_words import capital
from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.answers.trial_boundary import Limit
from cubital.answers.trial_deviations import deviation_lines, late_words
from cubital.answers.trial_result_reading import ResultReading, ResultState, widened
from cubital.domain.answer import Answer, AnswerTable, Check, Figure, Receipt, Verdict
from cubital.domain.trial import TrialDesign, TrialPlan
from cubital.domain.words import _, decimal_words, grouped_words, share_words
from cubital.stats.proportions import wilson_interval


@dataclass(frozen=True, kw_only=True)
class LookMade:
    """One look that was made: its number, whether it ends the trial, its limit; ``crossed`` says what it came to."""

    number: int
    last: bool
    limit: Limit
    crossed: bool


def build_result_answer(
    reading: ResultReading, look: LookMade, *, deviations: Sequence[str] = (), receipt: Receipt | None = None
) -> Answer:
    """The answer to "what did the trial show?" at this look."""
    sentence = result_sentence(reading, look)
    return Answer(
        question=_("What did the trial show?"), verdict=result_verdict(reading, look), sentence=sentence,
        figures=_figures(reading, look), cautions=limit_lines(reading.plan),
        picture=_picture(reading, title=sentence), table=_table(reading), receipt=receipt,
        checks=_checks(deviations),
    )  # fmt: skip


def result_verdict(reading: ResultReading, look: LookMade) -> Verdict:
    """A crossed limit is a signal; an early look that did not reach it is too few; the end is within variation."""
    if reading.state is ResultState.EMPTY:
        return Verdict.TOO_FEW
    if reading.state is not ResultState.SAID:
        return Verdict.NOT_IDENTIFIABLE
    if look.crossed:
        return Verdict.SIGNAL
    return Verdict.WITHIN_VARIATION if look.last else Verdict.TOO_FEW


def result_sentence(reading: ResultReading, look: LookMade) -> str:
    """Whether it was written late, the arms, the difference with its doubt, the limit, and who decides."""
    late = late_words(reading.plan)
    if reading.state is not ResultState.SAID:
        parts = [_refusal(reading)]
    else:
        parts = [_arms_words(reading), _difference_words(reading, look), _limit_words(reading, look)]
    return " ".join(part for part in (late, *parts) if part)


def _refusal(reading: ResultReading) -> str:
    plan = reading.plan
    if reading.state is ResultState.EMPTY:
        return _("There are not sets of both '{usual}' and '{new}' yet: nothing can be compared.").format(
            usual=plan.usual, new=plan.new
        )
    if reading.state is ResultState.FEW_CLUSTERS:
        return _(
            "Too few units or turns on each side, or no event at all: how much chance does between them cannot be "
            "measured, so no difference is said."
        )
    return _("Time and the new way cannot be told apart in these data: no difference is said.")


def _arms_words(reading: ResultReading) -> str:
    plan = reading.plan
    new, usual = (_arm_words(reading, arm) for arm in (1, 0))
    return _("{new_name}: {new}; {usual_name}: {usual}.").format(
        new_name=capital(plan.new), new=new, usual_name=plan.usual, usual=usual
    )


def _arm_words(reading: ResultReading, arm: int) -> str:
    x, n = reading.counts.of_arm(arm)
    return _("{count} of {sets} sets ({share})").format(
        count=grouped_words(x), sets=grouped_words(n), share=share_words(x / n)
    )


def _difference_words(reading: ResultReading, look: LookMade) -> str:
    interval = widened(reading, look.limit.z)
    if reading.difference is None or interval is None or reading.meaningful is None:
        return ""
    return _(
        "The difference is {difference} ({low} to {high}); the probability of a fall of at least {least} is {chance}."
    ).format(
        difference=points_words(reading.difference), low=bare_points(interval.low), high=bare_points(interval.high),
        least=points_words(reading.plan.meaningful, signed=False), chance=chance_words(reading.meaningful),
    )  # fmt: skip


def _limit_words(reading: ResultReading, look: LookMade) -> str:
    plan, better = reading.plan, (reading.difference or 0.0) < 0
    if look.crossed and better:
        return _(
            "The limit that was written beforehand is crossed. {who} decides, by the rule that was written."
        ).format(who=capital(plan.decides))
    if look.crossed:
        return _("The limit is crossed in the wrong direction: '{new}' does worse. {who} decides today.").format(
            new=plan.new, who=capital(plan.decides)
        )
    if look.last:
        return _(
            "The limit that was written beforehand is not crossed: this trial does not show that '{new}' is better, "
            "and does not show that it is not."
        ).format(new=plan.new)
    return _("Look {number}, with {share} of the planned sets: go on, nothing is decided yet.").format(
        number=look.number, share=share_words(reading.share, 0)
    )


def points_words(change: float, *, signed: bool = True) -> str:
    """A difference of shares in points: ``−1.6 points``."""
    return _("{change} points").format(change=bare_points(change) if signed else bare_points(change).lstrip("+\u2212"))


def bare_points(change: float) -> str:
    """The same without its unit."""
    text = f"{100 * abs(change):.1f}"
    sign = "" if text == "0.0" else "+" if change > 0 else "\u2212"
    return f"{sign}{decimal_words(text)}"


def chance_words(chance: float) -> str:
    """A probability in whole per cent, its ends in words."""
    if chance > 0.995:
        return _("over 99 %")
    return _("under 1 %") if chance < 0.005 else share_words(chance, 0)


def limit_lines(plan: TrialPlan) -> tuple[str, ...]:
    """What the design cannot say, whatever the numbers are."""
    how = {
        TrialDesign.STEPPED: _(
            "Which unit began when was drawn by lot, so a difference may be read as the effect of the new way in these "
            "units and months, if time moved all units alike. Elsewhere it may be another."
        )
    }.get(
        plan.design,
        _(
            "Who had what when was drawn by lot, so a difference may be read as the effect of the new way in these "
            "units and months. Elsewhere it may be another."
        ),
    )
    if plan.late:
        how = _("Written after data were there, so that choosing cannot be excluded: read it as a description.")
    return (
        how,
        _("Counted is what was planned for the day, not what was used: the data do not say which kit was in hand."),
        _("Contaminated is a label for counting; it says nothing of how patients fared."),
    )


def _figures(reading: ResultReading, look: LookMade) -> tuple[Figure, ...]:
    plan = reading.plan
    figures = [_arm_figure(reading, arm) for arm in (0, 1)]
    interval = widened(reading, look.limit.z)
    if reading.state is ResultState.SAID and interval is not None:
        figures += [
            Figure(
                key="difference", label=_("Difference"), value=reading.difference, unit="proportion", low=interval.low,
                high=interval.high, level=interval.level, method=interval.method,
                definition=_("share in '{new}' minus share in '{usual}'").format(new=plan.new, usual=plan.usual),
            ),
            Figure(
                key="meaningful", label=_("Probability of a fall that matters"), value=reading.meaningful,
                unit="proportion", method=_("nothing believed beforehand"),
                definition=_("a true fall of at least {least}").format(
                    least=points_words(plan.meaningful, signed=False)
                ),
            ),
            Figure(
                key="any_fall", label=_("Probability of any fall"), value=reading.any_fall, unit="proportion",
                method=_("nothing believed beforehand"),
            ),
            Figure(key="z", label=_("Score of this look"), value=round(reading.z or 0.0, 3), unit=""),
        ]  # fmt: skip
    figures += [
        Figure(
            key="limit", label=_("Limit of this look"), value=round(look.limit.z, 3) if look.limit.z < 99 else None,
            unit="", note="" if look.limit.z < 99 else _("so early that nothing could cross it"),
            definition=_("score that it takes, by how much chance of a false finding was spent so far"),
        ),
        Figure(
            key="share", label=_("Sets so far, of those planned"), value=reading.share, unit="proportion",
            numerator=reading.counts.sets, denominator=2 * plan.sets_per_arm,
        ),
    ]  # fmt: skip
    return tuple(figures)


def _arm_figure(reading: ResultReading, arm: int) -> Figure:
    x, n = reading.counts.of_arm(arm)
    name = reading.plan.new if arm else reading.plan.usual
    if not n:
        return Figure(key=f"arm_{arm}", label=name, value=None, unit="proportion", note=_("no set yet"))
    interval = wilson_interval(x, n, level=reading.plan.level)
    return Figure(
        key=f"arm_{arm}", label=name, value=x / n, unit="proportion", low=interval.low, high=interval.high,
        level=interval.level, method=_("Wilson, sets taken as independent"), numerator=x, denominator=n,
        definition=_("contaminated sets over counted sets"),
    )  # fmt: skip


def _checks(deviations: Sequence[str]) -> tuple[Check, ...]:
    lines = deviation_lines(deviations)
    return tuple(Check(key="deviation", passed=not deviations, words=words) for words in lines[:1]) + tuple(
        Check(key="deviation", passed=False, words=words) for words in lines[1:]
    )


def _table(reading: ResultReading) -> AnswerTable:
    rows = []
    for place in sorted({one.place for one in reading.counts.turns}):
        pair = []
        for arm in (0, 1):
            mine = [one for one in reading.counts.turns if one.place == place and one.arm == arm]
            pair.append((sum(one.sets for one in mine), sum(one.contaminated for one in mine)))
        rows.append((place, *pair[0], *pair[1]))
    plan = reading.plan
    return AnswerTable(
        title=_("By unit"),
        columns=(
            _("Unit"), _("Sets, {arm}").format(arm=plan.usual), _("Contaminated, {arm}").format(arm=plan.usual),
            _("Sets, {arm}").format(arm=plan.new), _("Contaminated, {arm}").format(arm=plan.new),
        ),
        rows=tuple(rows),
    )  # fmt: skip


def _picture(reading: ResultReading, *, title: str) -> dict[str, Any]:
    rows = []
    for arm, name in ((0, reading.plan.usual), (1, reading.plan.new)):
        x, n = reading.counts.of_arm(arm)
        if not n:
            return {}
        interval = wilson_interval(x, n, level=reading.plan.level)
        words = _("{count} of {sets}").format(count=grouped_words(x), sets=grouped_words(n))
        rows.append(IntervalRow(name=name, value=x / n, low=interval.low, high=interval.high, words=words))
    return build_interval_picture(rows, title=title)
