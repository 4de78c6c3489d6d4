"""How many infections are missed because only one set is taken: published detection by sets, over the local share.

Of all infections N, episodes with a single set find the share d1 and the others d2, so with the share s of single sets
the place finds N(s·d1 + (1 − s)·d2). Had every episode two sets it would find N·d2: missing is N·s·(d2 − d1). Taking
episodes with more than two sets as two makes the number found a little too small, not the gain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cubital.answers.missed_picture import build_missed_picture
from cubital.answers.missed_reading import LEAST_FOUND, FillRules, ModelReading, Struck
from cubital.answers.missed_words import (
    confidence_words,
    counted_words,
    few_found_words,
    found_not_known_words,
    model_name,
    range_words,
    whole_from_ten,
)
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Receipt, Verdict
from cubital.domain.words import _, ngettext, share_words
from cubital.reference.yield_studies import YieldStudy, yield_study
from cubital.stats.diagnostic import independent_sets

LEAST_EPISODES = 50  # episodes that make a share of single sets worth using (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class SingleSets:
    """Infections found a year in adults, and single sets over episodes; ``episodes`` is none where a share was given.

    ``share`` and ``found`` are none where nobody knows them.
    """

    found: int | None
    share: float | None
    episodes: int | None = None

    def __post_init__(self) -> None:
        if self.share is not None and not 0 <= self.share <= 1:
            raise ValueError("a share lies between 0 and 1")


def missed_by_singles(found: int, *, share: float, first: float, second: float) -> float:
    """Infections a year that a second set would have found, where sets find ``first`` alone and ``second`` as two.

    >>> round(missed_by_singles(216, share=0.2, first=460 / 629, second=564 / 629), 1)
    8.3
    """
    return found * share * (second - first) / (share * first + (1 - share) * second)


def build_single_sets_answer(
    singles: SingleSets, *, rules: FillRules, receipt: Receipt | None = None, cautions: tuple[str, ...] = ()
) -> Answer:
    """A range over series of sets, or what is missing; independence stands struck through, for sets are not."""
    question = _("How many infections do we miss through single sets?")
    refused = _refusal(singles, rules)
    if refused is not None or singles.found is None or singles.share is None:
        verdict, words = refused or (Verdict.REFUSED, "")
        return Answer(
            question=question, verdict=verdict, sentence=_marked(words, rules), cautions=(*cautions, *rules.cautions),
            receipt=receipt,
        )  # fmt: skip
    models = _models(singles.found, singles.share)
    counted = [model for model in models if not model.struck]
    low, high = min(one.missed for one in counted), max(one.missed for one in counted)
    sentence = _marked(_sentence(singles, low=low, high=high), rules)
    return Answer(
        question=question, verdict=Verdict.ESTIMATE, sentence=sentence, figures=_figures(models, singles),
        cautions=(*_cautions(), *cautions, *rules.cautions),
        picture=build_missed_picture(models, span=(low, high), title=sentence),
        table=_table(models), receipt=receipt,
    )  # fmt: skip


def single_sets_span(singles: SingleSets) -> tuple[float, float] | None:
    """Least and most of the counted models; none where something is not known or too few were found."""
    if not singles.share or singles.found is None or singles.found < LEAST_FOUND:
        return None
    counted = [model.missed for model in _models(singles.found, singles.share) if not model.struck]
    return min(counted), max(counted)


def _marked(words: str, rules: FillRules) -> str:
    return _("EXAMPLE. {sentence}").format(sentence=words) if rules.example and words else words


def _refusal(singles: SingleSets, rules: FillRules) -> tuple[Verdict, str] | None:
    """What is said instead of a range, the first that holds; none where a range can be said."""
    found, episodes = singles.found, singles.episodes
    if rules.silence:
        return Verdict.REFUSED, rules.silence
    if singles.share is None or found is None:
        return Verdict.REFUSED, _not_known(singles)
    if episodes is not None and episodes < LEAST_EPISODES:
        words = ngettext("{count} episode", "{count} episodes", episodes).format(count=episodes)
        few = _("Too few to say: {episodes}, and {least} are needed.").format(episodes=words, least=LEAST_EPISODES)
        return Verdict.TOO_FEW, few
    if found < LEAST_FOUND:
        return Verdict.TOO_FEW, few_found_words(found)
    none = _("No episode has a single set: nothing is missed through single sets.")
    return None if singles.share else (Verdict.ESTIMATE, none)


def _not_known(singles: SingleSets) -> str:
    if singles.share is None:
        return _(
            "How many episodes have a single set is not known: the sets could not be joined to episodes. Give the "
            "share of single sets, or take a file in that says whose sets they are."
        )
    return found_not_known_words()


def _sentence(singles: SingleSets, *, low: float, high: float) -> str:
    return _(
        "Infections missed a year because only one set was taken: {range}. {share} of episodes have a single set. A "
        "scenario, not a measurement, and nothing about any patient."
    ).format(range=range_words(low, high), share=share_words(singles.share or 0))


def _models(found: int, share: float) -> tuple[ModelReading, ...]:
    lee = yield_study("lee_2007")
    fresh = independent_sets(lee.cumulative[0], sets=2)
    rows: list[tuple[str, YieldStudy, tuple[float, ...], tuple[Struck, ...]]] = [
        ("single_lee", lee, lee.cumulative, ()),
        ("single_cockerill", yield_study("cockerill_2004"), yield_study("cockerill_2004").cumulative, ()),
        ("single_washington", yield_study("washington_1975"), yield_study("washington_1975").cumulative, ()),
        ("single_independent", lee, fresh, (Struck.CONTRADICTED,) if fresh[1] > lee.cumulative[1] else ()),
    ]
    read = (
        ModelReading(
            key=key, study=study, missed=missed_by_singles(found, share=share, first=curve[0], second=curve[1]),
            low=None, high=None, asked_ml=0.0, struck=struck,
        )
        for key, study, curve, struck in rows
    )  # fmt: skip
    return tuple(sorted(read, key=lambda one: one.missed))


def _figures(models: tuple[ModelReading, ...], singles: SingleSets) -> tuple[Figure, ...]:
    rows = (
        Figure(
            key=f"model_{model.key}",
            label=_("by one model, struck through: {name}").format(name=model_name(model.key)) if model.struck
            else _("by one model: {name}").format(name=model_name(model.key)),
            value=whole_from_ten(model.missed), unit="", method=_("model of published yield, not a measurement"),
            definition=_("infections a year that would be found besides, by this model alone"),
        )
        for model in models
    )  # fmt: skip
    share, episodes = singles.share or 0.0, singles.episodes
    return (
        *rows,
        Figure(
            key="single_share", label=_("Episodes with a single set"), value=share, unit="proportion",
            numerator=None if episodes is None else round(share * episodes), denominator=episodes,
        ),
        Figure(key="found", label=_("Infections found a year"), value=singles.found, unit=""),
    )  # fmt: skip


def _cautions() -> tuple[str, ...]:
    return (
        _(
            "Adults, and selected series: found with 1, 2, 3 sets about 73, 90, 98 % (Lee 2007), where three sets or "
            "more were taken anyway."
        ),
        _("Who gets a single set is often less ill, so fewer infections are among them than these models take."),
        _("Not to be added to what short bottles miss: much of it is the same infections."),
        _(
            "This speaks for the second set that policy asks for, within local limits of blood, and never for fewer "
            "sets."
        ),
    )


def _table(models: tuple[ModelReading, ...]) -> AnswerTable:
    return AnswerTable(
        title=_("Series of sets side by side"),
        columns=(_("Model"), _("Missed a year"), _("Counted?"), _("Found with 1, 2, 3 sets"),
                 _("Source")),
        rows=tuple(_row(model) for model in models),
    )  # fmt: skip


def _row(model: ModelReading) -> tuple[Cell, ...]:
    fresh = model.key == "single_independent"
    curve = independent_sets(model.study.cumulative[0], sets=3) if fresh else model.study.cumulative[:3]
    counted = _("struck through: what one set misses the next tends to miss too") if fresh else counted_words()
    return (
        model_name(model.key),
        round(model.missed) if math.isfinite(model.missed) else None,
        counted,
        ", ".join(share_words(share, 0) for share in curve),
        _("{source} ({how})").format(source=model.study.source, how=confidence_words(model.study.confidence)),
    )
