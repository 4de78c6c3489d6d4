"""Which step is left out? Watched draws in, one answer out: what can be said of a step, and what cannot."""

from __future__ import annotations

from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.answers.observer_words import observer_cautions, observer_figures
from cubital.answers.steps_reading import StepReading, StepsReading, more_needed
from cubital.domain.answer import Answer, AnswerTable, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, ngettext, share_words
from cubital.stats.sample_size import sets_per_group

_HALVING = (0.04, 0.02)  # the example with which the sentence says what a proof of cause would take
_MOST_NAMED = 3


def build_steps_answer(reading: StepsReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer. Without a draw in which a step could be read it is ``too_few``."""
    sentence = steps_sentence(reading)
    return Answer(
        question=_("Which step is left out?"),
        verdict=_verdict(reading),
        sentence=sentence,
        figures=steps_figures(reading),
        cautions=steps_cautions(reading),
        picture=_picture(reading, title=sentence),
        table=steps_table(reading),
        receipt=receipt,
        checks=steps_checks(reading),
    )


def _verdict(reading: StepsReading) -> Verdict:
    if reading.lowest is None:
        return Verdict.TOO_FEW
    return Verdict.SIGNAL if reading.below else Verdict.ESTIMATE


def steps_sentence(reading: StepsReading) -> str:
    """What can be said, what cannot, and what a proof of cause would take."""
    lowest = reading.lowest
    if lowest is None or lowest.interval is None:
        return _("No step could be read on any sheet: nothing can be said yet.")
    target = share_words(reading.policy.target, 0)
    counts = _("{step}: done in {yes} of {seen} watched draws, {share} ({low} to {high}).").format(
        step=lowest.step, yes=lowest.yes, seen=lowest.seen, share=share_words(lowest.share or 0.0),
        low=share_words(lowest.interval.low, 0), high=share_words(lowest.interval.high, 0),
    )  # fmt: skip
    if not reading.below:
        return " ".join((counts, _none_below_words(lowest, reading, target)))
    named = ", ".join(step.step for step in reading.below[:_MOST_NAMED])
    said = ngettext(
        "We can say that {steps} is below {target}.", "We can say that {steps} are below {target}.", len(reading.below)
    ).format(steps=named, target=target)
    return " ".join((counts, said, _cause_words()))


def _none_below_words(lowest: StepReading, reading: StepsReading, target: str) -> str:
    words = _("We cannot say of any step that it is below {target} yet").format(target=target)
    more = more_needed(lowest, reading.policy, truth=lowest.share or 0.0) if _askable(lowest, reading) else None
    if more:
        return _("{words}; about {more} more draws would show it if this share is the true one.").format(
            words=words, more=grouped_words(more)
        )
    return f"{words}."


def _askable(step: StepReading, reading: StepsReading) -> bool:
    return step.share is not None and 0 < step.share < reading.policy.target


def _cause_words() -> str:
    high, low = _HALVING
    return _(
        "We cannot say that it causes contamination; showing a halving from {high} to {low} would need about {sets} "
        "sets in each group."
    ).format(high=share_words(high, 0), low=share_words(low, 0), sets=grouped_words(sets_per_group(high, low)))


def steps_figures(reading: StepsReading) -> tuple[Figure, ...]:
    """Every step with its interval, the most likely lowest, agreement step by step, and how many more."""
    figures = [_step_figure(step, place) for place, step in enumerate(reading.steps)]
    lowest = reading.lowest
    if lowest is not None:
        figures.append(Figure(
            key="lowest", label=_("Chance that '{step}' is the step most often left out").format(step=lowest.step),
            value=lowest.lowest, unit="proportion", method=_("Beta distributions, Jeffreys' prior, ranked"),
            definition=_("lowest does not mean that it is the cause"),
        ))  # fmt: skip
        figures += _more_figures(lowest, reading)
    return (*figures, *observer_figures(reading))


def _step_figure(step: StepReading, place: int) -> Figure:
    interval = step.interval
    return Figure(
        key=f"step_{place}", label=step.step, value=step.share, unit="proportion",
        low=interval.low if interval else None, high=interval.high if interval else None,
        level=interval.level if interval else None, method=interval.method if interval else "",
        numerator=step.yes, denominator=step.seen, definition=_("draws in which it was done, over draws that show it"),
        note="" if step.seen else _("not seen in any draw"),
    )  # fmt: skip


def _more_figures(lowest: StepReading, reading: StepsReading) -> list[Figure]:
    if not _askable(lowest, reading) or lowest.below(reading.policy):
        return []
    more = more_needed(lowest, reading.policy, truth=lowest.share or 0.0)
    return [
        Figure(
            key="more_draws", label=_("Further draws of '{step}' to watch").format(step=lowest.step),
            value=None if more is None else float(more), unit="draws",
            method=_("exact, from the Wilson interval"),
            definition=_("for {share} assurance that the target is excluded, if the share seen is the true one").format(
                share=share_words(reading.policy.assurance, 0)
            ),
            note=_("out of reach: the share is too close to the target") if more is None else "",
        )
    ]  # fmt: skip


def steps_checks(reading: StepsReading) -> tuple[Check, ...]:
    """What was looked at first: unreadable boxes, missing policy versions, coverage of nights and weekends."""
    unreadable = sum(step.unreadable for step in reading.steps)
    coverage = reading.coverage
    nights = None if not coverage.timed else coverage.nights * 5 >= coverage.timed
    return (
        Check(
            key="readable", passed=not unreadable,
            words=ngettext(
                "{count} box cannot be read (both ticked, or unclear); it counts as neither yes nor no.",
                "{count} boxes cannot be read (both ticked, or unclear); they count as neither yes nor no.",
                unreadable,
            ).format(count=unreadable) if unreadable else _("Every box could be read."),
        ),
        Check(
            key="policy_named", passed=not coverage.without_policy,
            words=ngettext(
                "{count} draw does not say which policy version was in force.",
                "{count} draws do not say which policy version was in force.",
                coverage.without_policy,
            ).format(count=coverage.without_policy) if coverage.without_policy
            else _("Every sheet names the policy version."),
        ),
        Check(key="nights", passed=nights, words=_coverage_words(reading)),
    )  # fmt: skip


def _coverage_words(reading: StepsReading) -> str:
    coverage = reading.coverage
    if not coverage.timed:
        return _("The sheets do not say when the draws were watched: nights cannot be counted.")
    return _("Watched: nights {nights} of {draws}, weekends {weekends}, weekday mornings {mornings}.").format(
        nights=coverage.nights, draws=coverage.timed, weekends=coverage.weekends, mornings=coverage.weekday_mornings
    )


def steps_cautions(reading: StepsReading) -> tuple[str, ...]:
    """Being watched, few joint draws, poor agreement, and steps nobody saw."""
    watched = _("Observed people behave differently: these shares are likely the best there is.")
    unseen = [step.step for step in reading.steps if not step.seen]
    never = [_("Never seen: {steps}.").format(steps=", ".join(unseen[:_MOST_NAMED]))] if unseen else []
    return (watched, *observer_cautions(reading), *never)


def steps_table(reading: StepsReading) -> AnswerTable:
    """One row per step, counts first."""
    return AnswerTable(
        title=_("Steps in watched draws"),
        columns=(
            _("Step"), _("Done"), _("Readable"), _("Not seen"), _("Unreadable"), _("Done, %"), _("From, %"), _("To, %"),
            _("Below target"), _("Chance lowest, %"),
        ),
        rows=tuple(
            (
                step.step, step.yes, step.seen, step.not_seen, step.unreadable, _percent(step.share),
                _percent(step.interval.low if step.interval else None),
                _percent(step.interval.high if step.interval else None),
                _("yes") if step.below(reading.policy) else _("cannot be said"),
                _percent(step.lowest),
            )
            for step in reading.steps
        ),
    )  # fmt: skip


def _percent(share: float | None) -> float | None:
    return None if share is None else round(100 * share, 1)


def _picture(reading: StepsReading, *, title: str) -> dict[str, object]:
    rows = [
        IntervalRow(
            name=step.step,
            value=step.share,
            low=step.interval.low if step.interval else None,
            high=step.interval.high if step.interval else None,
            words=_("{yes} of {seen}").format(yes=step.yes, seen=step.seen) if step.seen else _("not seen"),
            stands_out=step.below(reading.policy),
        )
        for step in reading.steps
    ]
    target = reading.policy.target
    return build_interval_picture(
        rows, title=title, line=target, line_words=_("target {share}").format(share=share_words(target, 0))
    )
