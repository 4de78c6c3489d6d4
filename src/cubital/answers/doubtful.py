"""The sets about which medical microbiology decides, and how far their decisions can move the rate.

The list is blind: no unit, no collector, no hour. Who decides about a growth should not see whom the decision hurts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cubital.answers.class_words import reason_words
from cubital.answers.odd_growths import organism_name
from cubital.domain.answer import Answer, AnswerTable, Cell, Check, Figure, Receipt, Verdict
from cubital.domain.charter import Reason
from cubital.domain.decisions import Decision, bare_key
from cubital.domain.words import _, grouped_words, month_words, ngettext, share_words
from cubital.stats.proportions import wilson_interval


@dataclass(frozen=True, kw_only=True)
class Partner:
    """Another set of the same series and what it grew; no organism where nothing grew."""

    accession: str
    organisms: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class DoubtfulSet:
    """One set that the charter leaves to medical microbiology, as it is without any decision.

    ``decision`` is what was decided, none while it waits; ``number`` is the decision's, 0 while it waits.
    """

    facility: str
    accession: str
    month: str
    day: date | None
    reason: Reason
    organisms: tuple[str, ...]
    partners: tuple[Partner, ...]
    decision: Decision | None = None
    number: int = 0
    by: str = ""
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class DoubtfulCounts:
    """The rate of the span as it stands, and the doubtful sets of it."""

    contaminated: int
    sets: int
    doubtful: tuple[DoubtfulSet, ...]

    @property
    def waiting(self) -> int:
        """How many wait for a decision."""
        return sum(one.decision is None for one in self.doubtful)


def decision_words(decision: Decision | None) -> str:
    """What was decided, in words; they are for counting."""
    return {
        None: _("waits"),
        Decision.SIGNIFICANT: _("judged significant"),
        Decision.CONTAMINANT: _("judged a contaminant"),
    }[decision]


def organisms_words(organisms: Sequence[str]) -> str:
    """The organisms by name; text that could not be read is said so."""
    return ", ".join(organism_name(bare_key(key)) if key else _("not read") for key in organisms) or _("nothing grew")


def build_doubtful_answer(counts: DoubtfulCounts, *, first: str, last: str, receipt: Receipt | None = None) -> Answer:
    """The whole answer about the months ``first`` to ``last``."""
    return Answer(
        question=_("Which sets wait for medical microbiology?"),
        verdict=Verdict.ESTIMATE if counts.sets else Verdict.TOO_FEW,
        sentence=_sentence(counts, _span(first, last)),
        figures=_figures(counts),
        cautions=(
            _("Blind on purpose: no unit, no collector and no hour stand beside a set while it is decided."),
            _("Decisions are for counting, after the fact; they are no advice on a patient's treatment."),
        ),
        table=_table(counts.doubtful),
        receipt=receipt,
        checks=(Check(
            key="decided", passed=counts.waiting == 0,
            words=_("{decided} of {total} doubtful sets are decided.").format(
                decided=grouped_words(len(counts.doubtful) - counts.waiting), total=grouped_words(len(counts.doubtful))
            ),
        ),),
    )  # fmt: skip


def _span(first: str, last: str) -> str:
    start = month_words(first, with_year=True)
    if first == last:
        return start
    return _("{first} to {last}").format(first=start, last=month_words(last, with_year=True))


def _sentence(counts: DoubtfulCounts, span: str) -> str:
    if not counts.sets:
        return _("{span}: no set is counted, so there is nothing to decide.").format(span=span)
    held = _("{count} of {sets} sets count as contaminated, {share}").format(
        count=grouped_words(counts.contaminated), sets=grouped_words(counts.sets),
        share=share_words(counts.contaminated / counts.sets),
    )  # fmt: skip
    if not counts.doubtful:
        return _("{span}: no set is doubtful; {held}.").format(span=span, held=held)
    if not counts.waiting:
        return _("{span}: every doubtful set is decided; {held}.").format(span=span, held=held)
    waiting = ngettext(
        "{span}: {count} set waits for medical microbiology", "{span}: {count} sets wait for medical microbiology",
        counts.waiting,
    ).format(span=span, count=grouped_words(counts.waiting))  # fmt: skip
    return _(
        "{waiting}. As it stands {held}; whatever is decided about them, it will be between {low} and {high}."
    ).format(waiting=waiting, held=held, low=grouped_words(counts.contaminated),
             high=grouped_words(counts.contaminated + counts.waiting))  # fmt: skip


def _figures(counts: DoubtfulCounts) -> tuple[Figure, ...]:
    if not counts.sets:
        return ()
    highest = counts.contaminated + counts.waiting
    return (
        _rate("contamination", _("As it stands"), counts.contaminated, counts.sets),
        _rate("contamination_highest", _("If all that wait were contaminants"), highest, counts.sets),
        Figure(key="waiting", label=_("Sets that wait"), value=counts.waiting, unit="sets"),
    )


def _rate(key: str, label: str, count: int, sets: int) -> Figure:
    interval = wilson_interval(count, sets)
    return Figure(
        key=key, label=label, value=count / sets, unit="proportion", low=interval.low, high=interval.high,
        level=interval.level, method=interval.method, numerator=count, denominator=sets,
        definition=_("contaminated sets over counted sets"),
    )  # fmt: skip


def _table(doubtful: Sequence[DoubtfulSet]) -> AnswerTable:
    rows: list[tuple[Cell, ...]] = [
        (
            one.facility, one.accession, one.day.isoformat() if one.day else "", organisms_words(one.organisms),
            partners_words(one.partners), reason_words(one.reason), decision_words(one.decision), one.by, one.why,
        )
        for one in doubtful
    ]  # fmt: skip
    return AnswerTable(
        title=_("Doubtful sets"),
        columns=(
            _("Laboratory"), _("Set"), _("Day"), _("Grew"), _("Other sets of the series"), _("Why it is doubtful"),
            _("Decision"), _("By"), _("Reason given"),
        ),
        rows=tuple(rows),
    )  # fmt: skip


def partners_words(partners: Sequence[Partner]) -> str:
    """The other sets of the series and what they grew."""
    return "; ".join(f"{one.accession}: {organisms_words(one.organisms)}" for one in partners)
