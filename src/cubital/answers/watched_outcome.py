"""They are perfect when I watch. So what? Watched compliance beside the outcome, counts only, and never a cause."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.answers.steps_reading import StepsReading
from cubital.domain.answer import Answer, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, share_words
from cubital.stats.interval import Interval
from cubital.stats.proportions import wilson_interval

_WELL = 0.9  # share of steps done from which watched draws look fine; common practice, no source


@dataclass(frozen=True, kw_only=True)
class OutcomeReading:
    """Steps done over steps seen in ``draws`` watched draws, beside ``contaminated`` of ``sets`` of the same time.

    ``watched`` is the share of all sets that were watched, at most.
    """

    draws: int
    done: int
    seen: int
    contaminated: int
    sets: int

    @property
    def watched(self) -> float:
        """Watched draws over all sets."""
        return min(1.0, self.draws / self.sets)

    @property
    def compliance(self) -> float | None:
        """Steps done over steps that could be read."""
        return self.done / self.seen if self.seen else None

    @property
    def outcome(self) -> Interval:
        """The interval of the contaminated share."""
        return wilson_interval(self.contaminated, self.sets)


def read_outcome(steps: StepsReading, *, contaminated: int, sets: int) -> OutcomeReading:
    """Puts the two beside each other; ``ValueError`` for counts that cannot be."""
    if not 0 <= contaminated <= sets or not sets:
        raise ValueError(f"{contaminated} of {sets} is impossible")
    return OutcomeReading(
        draws=steps.coverage.draws, done=sum(step.yes for step in steps.steps),
        seen=sum(step.seen for step in steps.steps), contaminated=contaminated, sets=sets,
    )  # fmt: skip


def build_outcome_answer(reading: OutcomeReading, *, target: float = 0.03, receipt: Receipt | None = None) -> Answer:
    """The sentence with both counts; ``refused`` as an answer to "does it cause it", ``too_few`` with nothing seen."""
    return Answer(
        question=_("They are perfect when I watch. So what?"),
        verdict=Verdict.REFUSED if reading.seen else Verdict.TOO_FEW,
        sentence=outcome_sentence(reading, target=target),
        figures=_figures(reading),
        cautions=(
            _("Observed people behave differently: watched compliance is likely the best there is."),
            _(
                "Look at what nobody watches: minutes from collection to label, fill of the bottles, sets with one "
                "bottle, preparation packs used against sets drawn."
            ),
        ),
        receipt=receipt,
    )


def outcome_sentence(reading: OutcomeReading, *, target: float) -> str:
    """Both counts, how little was watched, and that neither explains the other."""
    if reading.compliance is None:
        return _("No step could be read on any sheet: there is nothing to put beside the outcome.")
    outcome = reading.outcome
    said = _(
        "Steps were done in {done} of {seen} readable boxes ({share}) of {draws} watched draws; {count} of {sets} sets "
        "of the same time are contaminated ({rate}, {low} to {high})."
    ).format(
        done=grouped_words(reading.done), seen=grouped_words(reading.seen), share=share_words(reading.compliance, 0),
        draws=grouped_words(reading.draws), count=grouped_words(reading.contaminated), sets=grouped_words(reading.sets),
        rate=share_words(reading.contaminated / reading.sets), low=share_words(outcome.low),
        high=share_words(outcome.high),
    )  # fmt: skip
    watched = _("Watched were {share} of the sets at most.").format(share=share_words(reading.watched))
    return " ".join((said, watched, _both_words(reading.compliance, outcome, target)))


def _both_words(compliance: float, outcome: Interval, target: float) -> str:
    if compliance >= _WELL and outcome.low > target:
        return _("Both can be true: what happens unwatched, and what no sheet asks about, decides most sets.")
    if compliance >= _WELL and outcome.high >= target:
        return _("The outcome may be at target or not; the two do not contradict each other.")
    if compliance >= _WELL:
        return _("Both are good; that the one makes the other is not shown by it.")
    return _("Both leave room; that the one makes the other is not shown by it.")


def _figures(reading: OutcomeReading) -> tuple[Figure, ...]:
    outcome = reading.outcome
    return (
        Figure(
            key="compliance", label=_("Steps done when watched"), value=reading.compliance, unit="proportion",
            numerator=reading.done, denominator=reading.seen,
            definition=_("boxes ticked yes over boxes that can be read"),
            note="" if reading.seen else _("nothing could be read"),
        ),
        Figure(
            key="contamination", label=_("Contaminated sets, all draws"), value=reading.contaminated / reading.sets,
            unit="proportion", low=outcome.low, high=outcome.high, level=outcome.level, method=outcome.method,
            numerator=reading.contaminated, denominator=reading.sets,
        ),
        Figure(
            key="watched", label=_("Sets that were watched, at most"), value=reading.watched, unit="proportion",
            numerator=min(reading.draws, reading.sets), denominator=reading.sets,
        ),
    )  # fmt: skip
