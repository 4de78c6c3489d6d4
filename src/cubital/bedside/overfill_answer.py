"""Is overfilling a problem too (question 32): bottles above their maximum, and the blood that they cost."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cubital.bedside.answering import ml_words, policy_receipt, refused
from cubital.bedside.fill import Fill, FillFlag
from cubital.bedside.fill_sets import adult_limits
from cubital.bedside.permission import marked, policy_cautions, why_silent
from cubital.bedside.weigh_in import WeighIn, count_figure, tare_doubt_words
from cubital.domain.answer import Answer, AnswerTable, Figure, Verdict
from cubital.domain.collection import CollectionPolicy
from cubital.domain.cultures import BottleKind
from cubital.domain.words import _, ngettext


def answer_overfill(policy: CollectionPolicy, weigh_in: WeighIn, *, today: date) -> Answer:
    """How many bottles hold more than they may, and how much blood that costs."""
    question = _("Is overfilling a problem too?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    _low, high = adult_limits(policy)
    fills = [
        fill
        for fill in weigh_in.fills(policy)
        if fill.flag is not FillFlag.IMPOSSIBLE and fill.kind is not BottleKind.PAEDIATRIC
    ]
    if not fills:
        return refused(question, _("There is no weighed bottle in this sheet."), policy)
    over = [fill for fill in fills if fill.flag is FillFlag.OVER]
    sets = len({fill.accession for fill in fills})
    lost = 100 * sum(fill.volume_ml - high for fill in over) / sets
    return Answer(
        question=question, verdict=Verdict.ESTIMATE,
        sentence=marked(policy, _over_sentence(len(over), len(fills), high=high, lost=lost)),
        figures=(
            count_figure("over_share", _("bottles above their maximum"), len(over), len(fills)),
            Figure(
                key="lost_ml_per_100_sets", label=_("blood above the maximum, for every 100 sets"), value=lost,
                unit="mL", definition=_("mL above the maximum added up, over the weighed sets, times 100"),
            ),
        ),
        cautions=(
            *tare_doubt_words(fills, weigh_in.tare),
            _(
                "An overfilled bottle is blood that a patient gives for nothing, and too little broth for the blood. "
                "Education has cut it without a loss of yield (BMC Health Serv Res 2020;20)."
            ),
            *policy_cautions(policy),
        ),
        table=_over_table(over, high=high), receipt=policy_receipt(policy),
    )  # fmt: skip


def _over_sentence(over: int, bottles: int, *, high: float, lost: float) -> str:
    if not over:
        return _("None of {bottles} bottles holds more than {high}.").format(bottles=bottles, high=ml_words(high))
    return ngettext(
        "{over} of {bottles} bottles holds more than {high}; that is about {lost} of blood above the maximum for every "
        "100 sets.",
        "{over} of {bottles} bottles hold more than {high}; that is about {lost} of blood above the maximum for every "
        "100 sets.",
        over,
    ).format(over=over, bottles=bottles, high=ml_words(high), lost=ml_words(round(lost)))


def _over_table(over: Sequence[Fill], *, high: float) -> AnswerTable:
    return AnswerTable(
        title=_("Bottles above their maximum"),
        columns=(_("set"), _("bottle"), "mL", _("above the maximum, mL")),
        rows=tuple(
            (fill.accession, fill.bottle, round(fill.volume_ml, 1), round(fill.volume_ml - high, 1)) for fill in over
        ),
    )
