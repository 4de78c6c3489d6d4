"""Is the new starter learning? Watched attempts of one step, in order, against limits that were set beforehand.

Never on contamination: one person makes far too few for that. The person is a code, and the answer is private.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cubital.answers.hand_tables import Columns, hand_rows, refuse_problems
from cubital.answers.observation_sheets import Seen, read_mark
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, ngettext, share_words
from cubital.stats.learning_curve import attempts_to_competence, competence_chart, cost_of, scores, two_limits
from cubital.stats.proportions import wilson_interval


@dataclass(frozen=True, kw_only=True)
class LearningPolicy:
    """Shares of attempts not done well: ``adequate`` is good enough, ``inadequate`` is not. Set before watching begins.

    ``limit`` is the sum that signals competence. Example values, not from a source: the site sets its own.
    """

    adequate: float = 0.1
    inadequate: float = 0.2
    limit: float = 1.25


def learning_columns() -> Columns:
    """What a table of attempts looks like."""
    return Columns(
        names={"attempt": ("no", "number", "draw", "intento"), "done": ("well", "success", "done well", "bien")},
        needed=("attempt", "done"),
        advice=_("Give one row per watched attempt of one person in order: attempt, done (yes or no). No name."),
    )


def parse_attempts(rows: Iterable[Sequence[object]], *, where: str) -> tuple[bool, ...]:
    """Whether each attempt was done well, in the order of the rows; what was not seen is left out."""
    columns = learning_columns()
    read = hand_rows(rows, columns, where=where)
    found = []
    for row in read:
        mark = read_mark(row.text("done"))
        if mark is Seen.UNREADABLE:
            row.complain(_("'{text}' is neither yes nor no").format(text=row.text("done")[:20]))
        elif mark is not Seen.NOT_SEEN:
            found.append(mark is Seen.YES)
    refuse_problems(read, where=where, advice=columns.advice)
    return tuple(found)


def build_learning_answer(
    attempts: Sequence[bool], *, policy: LearningPolicy | None = None, receipt: Receipt | None = None
) -> Answer:
    """Whether the limits set beforehand have been reached. Without an attempt it is ``too_few``."""
    policy = policy or LearningPolicy()
    question = _("Is the new starter learning?")
    if not attempts:
        return Answer(
            question=question,
            verdict=Verdict.TOO_FEW,
            sentence=_("No attempt could be read: nothing can be said yet."),
            cautions=_cautions(),
            receipt=receipt,
        )
    failed = [int(not done) for done in attempts]
    chart = competence_chart(failed, inadequate=policy.inadequate, adequate=policy.adequate, limit=policy.limit)
    reached = chart.signals[0] + 1 if chart.signals else None
    poor = _unacceptable_at(failed, policy)
    return Answer(
        question=question,
        verdict=Verdict.SIGNAL if reached or poor else Verdict.TOO_FEW,
        sentence=_sentence(attempts, policy, reached=reached, poor=poor),
        figures=_figures(attempts, policy),
        cautions=_cautions(),
        table=_table(attempts, chart.values.tolist(), policy),
        receipt=receipt,
    )


def _unacceptable_at(failed: Sequence[int], policy: LearningPolicy) -> int | None:
    """The attempt at which Wald's upper limit is first reached, before the lower one; none where it is not."""
    limits = two_limits(acceptable=policy.adequate, unacceptable=policy.inadequate)
    for place, score in enumerate(scores(failed, limits), start=1):
        if score <= -limits.good:
            return None
        if score >= limits.bad:
            return place
    return None


def _sentence(attempts: Sequence[bool], policy: LearningPolicy, *, reached: int | None, poor: int | None) -> str:
    counts = ngettext(
        "{done} of {count} watched attempt was done well.", "{done} of {count} watched attempts were done well.",
        len(attempts),
    ).format(done=sum(attempts), count=len(attempts))  # fmt: skip
    if poor and (not reached or poor < reached):
        said = _(
            "At attempt {place} the limit for too many not done well was reached: draw together again before going on."
        ).format(place=poor)
    elif reached:
        said = _(
            "At attempt {place} the limit set beforehand for competence in this step was reached: it can be signed off "
            "by whoever may."
        ).format(place=reached)
    else:
        usual = attempts_to_competence(
            inadequate=policy.inadequate, adequate=policy.adequate, limit=policy.limit, share=policy.adequate
        )
        said = _(
            "No limit is reached yet: somebody who is good enough takes about {usual} attempts on average. Keep "
            "watching."
        ).format(usual=round(usual))
    return f"{counts} {said}"


def _figures(attempts: Sequence[bool], policy: LearningPolicy) -> tuple[Figure, ...]:
    interval = wilson_interval(sum(attempts), len(attempts))
    scheme = {"inadequate": policy.inadequate, "adequate": policy.adequate, "limit": policy.limit}
    limits = two_limits(acceptable=policy.adequate, unacceptable=policy.inadequate)
    cost = cost_of(limits, share=policy.adequate)
    return (
        Figure(
            key="done_well", label=_("Attempts done well"), value=sum(attempts) / len(attempts), unit="proportion",
            low=interval.low, high=interval.high, level=interval.level, method=interval.method,
            numerator=sum(attempts), denominator=len(attempts), definition=_("over attempts that could be read"),
        ),
        Figure(
            key="by_chance", label=_("Attempts until competence is signalled by mistake, on average"),
            value=round(attempts_to_competence(**scheme, share=policy.inadequate), 1), unit="attempts",
            method=_("exact"), definition=_("when {share} are not done well").format(
                share=share_words(policy.inadequate, 0)
            ),
        ),
        Figure(
            key="called_poor", label=_("Chance that somebody good enough is called not good enough"),
            value=cost.refused, unit="proportion", method=_("exact, Wald's two limits"),
            definition=_("when {share} are not done well").format(share=share_words(policy.adequate, 0)),
        ),
    )  # fmt: skip


def _cautions() -> tuple[str, ...]:
    return (
        _("Private, for support only: not for pay, discipline or contracts, and not to be shown to a group."),
        _("Limits must be set before watching begins; limits chosen afterwards say nothing."),
        _("Only what was watched counts here, never contamination: one person makes too few draws for that."),
    )


def _table(attempts: Sequence[bool], sums: Sequence[float], policy: LearningPolicy) -> AnswerTable:
    return AnswerTable(
        title=_("Attempts in order; competence is signalled at {limit}").format(
            limit=decimal_words(f"{policy.limit:g}")
        ),
        columns=(_("Attempt"), _("Done well"), _("Sum")),
        rows=tuple(
            (place, _("yes") if done else _("no"), round(total, 2))
            for place, (done, total) in enumerate(zip(attempts, sums, strict=True), start=1)
        ),
    )
