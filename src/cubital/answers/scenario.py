"""If we stop drawing from new cannulas, what should happen? A range from a published comparison, never a promise."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.answers.counted_words import capital
from cubital.domain.answer import Answer, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, number_words, share_words


@dataclass(frozen=True, kw_only=True)
class PublishedRisk:
    """How many times as often one way of drawing is contaminated as another, with its 95 % range and source."""

    ratio: float
    low: float
    high: float
    source: str


# 505 pairs, cannula and venepuncture within ten minutes of each other.
CANNULA_RISK = PublishedRisk(
    ratio=1.83, low=1.08, high=3.11, source="Self WH et al., Infect Control Hosp Epidemiol 2012;33:524-526 (PMC5242221)"
)
MIN_SETS = 100  # fewer sets than this make no usual rate worth multiplying (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class LocalDraws:
    """Counted sets of the place, all and from new cannulas, and how many of all were contaminated."""

    sets: int
    contaminated: int
    cannula_sets: int

    def __post_init__(self) -> None:
        if not 0 <= self.cannula_sets <= self.sets or not 0 <= self.contaminated <= self.sets:
            raise ValueError("parts are not larger than the whole")


def rate_without(rate: float, *, share: float, ratio: float) -> float:
    """The rate if every cannula draw were as often contaminated as a venepuncture: rate / (1 - share + share·ratio).

    With share p from cannulas at ``ratio`` times the venepuncture rate v, the whole rate is v(1 - p + p·ratio).
    """
    return rate / (1 - share + share * ratio)


def build_cannula_answer(
    draws: LocalDraws, *, risk: PublishedRisk = CANNULA_RISK, receipt: Receipt | None = None
) -> Answer:
    """The scenario as a range over the published interval; too few sets or no cannula draw is said as that."""
    question = _("If we stop drawing from new cannulas, what should happen?")
    caution = _("A scenario, not a forecast: people may draw differently once the rule changes, and other things move.")
    if draws.sets < MIN_SETS:
        words = _("There are {sets} sets; {more} more are needed before a scenario means anything.").format(
            sets=grouped_words(draws.sets), more=grouped_words(MIN_SETS - draws.sets)
        )
        return Answer(question=question, verdict=Verdict.TOO_FEW, sentence=words, cautions=(caution,), receipt=receipt)
    if not draws.cannula_sets:
        words = _("No set is marked as drawn from a new cannula, so stopping it would change nothing that is counted.")
        return Answer(
            question=question, verdict=Verdict.NOT_IDENTIFIABLE, sentence=words, cautions=(caution,), receipt=receipt
        )
    return Answer(
        question=question, verdict=Verdict.ESTIMATE, sentence=_sentence(draws, risk), figures=_figures(draws, risk),
        cautions=(
            caution,
            _("The ratio is published ({source}), not measured here; check that your cannula draws are marked.").format(
                source=risk.source
            ),
        ),
        receipt=receipt,
    )  # fmt: skip


def _sentence(draws: LocalDraws, risk: PublishedRisk) -> str:
    best, least, most = (_fewer(draws, ratio) for ratio in (risk.ratio, risk.low, risk.high))
    words = _(
        "{cannula} of {sets} sets ({share}) came from new cannulas. If these had been venepunctures, {best} of the "
        "{count} contaminated sets would not be expected, {least} to {most} by the published range: {rate} would "
        "become about {new}. A scenario, not a forecast."
    )
    rate = draws.contaminated / draws.sets
    return capital(words.format(
        cannula=grouped_words(draws.cannula_sets), sets=grouped_words(draws.sets),
        share=share_words(draws.cannula_sets / draws.sets), best=number_words(round(best)),
        count=grouped_words(draws.contaminated), least=number_words(round(least)), most=number_words(round(most)),
        rate=share_words(rate), new=share_words(_without(draws, risk.ratio)),
    ))  # fmt: skip


def _figures(draws: LocalDraws, risk: PublishedRisk) -> tuple[Figure, ...]:
    return (
        Figure(
            key="local_rate", label=_("Contaminated sets now"), value=draws.contaminated / draws.sets,
            unit="proportion", numerator=draws.contaminated, denominator=draws.sets,
        ),
        Figure(
            key="cannula_share", label=_("Sets from new cannulas"), value=draws.cannula_sets / draws.sets,
            unit="proportion", numerator=draws.cannula_sets, denominator=draws.sets,
        ),
        Figure(
            key="scenario_rate", label=_("Rate without cannula draws, in this scenario"),
            value=_without(draws, risk.ratio), unit="proportion", low=_without(draws, risk.high),
            high=_without(draws, risk.low), level=0.95,
            method=_("local share times the published relative risk {ratio} ({low} to {high})").format(
                ratio=decimal_words(f"{risk.ratio}"), low=decimal_words(f"{risk.low}"),
                high=decimal_words(f"{risk.high}"),
            ),
            definition=_("if every cannula draw were a venepuncture and nothing else changed"),
        ),
    )  # fmt: skip


def _without(draws: LocalDraws, ratio: float) -> float:
    return rate_without(draws.contaminated / draws.sets, share=draws.cannula_sets / draws.sets, ratio=ratio)


def _fewer(draws: LocalDraws, ratio: float) -> float:
    return draws.contaminated - draws.sets * _without(draws, ratio)
