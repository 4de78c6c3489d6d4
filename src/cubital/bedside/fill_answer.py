"""Where to stop on a bottle, and what the balance says, as answers (questions 30, 31, 32 and 36)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cubital.bedside.answering import ml_words, policy_receipt, refused
from cubital.bedside.fill import (
    DEFAULT_TARE_SD_G,
    Fill,
    FillFlag,
    TareKind,
    Weighing,
    level_mm,
    mean_fill_sd,
    mm_per_ml,
    set_totals,
    tilt_error_ml,
    weigh_bottles,
)
from cubital.bedside.permission import marked, policy_cautions, why_silent
from cubital.domain.answer import Answer, AnswerTable, Figure, Verdict
from cubital.domain.collection import CollectionPolicy
from cubital.domain.words import _, decimal_words, ngettext

SHOWN_TILTS = (5.0, 10.0, 45.0)
TWO_SIDED_95 = 1.959963984540054  # standard normal quantile


def answer_stop_line(policy: CollectionPolicy, bottle_key: str, volume_ml: float, *, today: date) -> Answer:
    """Where to stop on this bottle for that volume: mm above the level before the draw."""
    question = _("Where do I stop on this bottle?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    bottle = policy.bottle(bottle_key)
    if not 0 < volume_ml <= bottle.maximum_ml.value:
        return refused(
            question,
            _("No line: {volume} is outside what this bottle takes ({low} to {high}).").format(
                volume=ml_words(volume_ml), low=ml_words(0), high=ml_words(bottle.maximum_ml.value)
            ),
            policy,
        )
    bore = bottle.bore_mm.value
    rise = level_mm(volume_ml, bore_mm=bore)
    return Answer(
        question=question,
        verdict=Verdict.ESTIMATE,
        sentence=marked(
            policy,
            _(
                "Stand the bottle upright, mark the level, stop {rise} mm above it for {volume}. "
                "A tilted bottle misleads."
            ).format(rise=decimal_words(f"{rise:.1f}"), volume=ml_words(volume_ml)),
        ),
        figures=(
            Figure(key="stop_mm", label=_("stop above the first level"), value=round(rise, 3), unit="mm"),
            Figure(key="mm_per_ml", label=_("one millilitre"), value=round(mm_per_ml(bore), 4), unit="mm"),
        ),
        cautions=policy_cautions(policy),
        table=AnswerTable(
            title=_("What a tilt does to one edge of the level"),
            columns=(_("tilt, degrees"), _("misleads by, mL either way")),
            rows=tuple((tilt, round(tilt_error_ml(bore, tilt_degrees=tilt), 1)) for tilt in SHOWN_TILTS),
        ),
        receipt=policy_receipt(policy),
    )


def answer_weighing(
    policy: CollectionPolicy,
    weighings: Sequence[Weighing],
    *,
    tare: TareKind,
    density_g_ml: float,
    today: date,
) -> Answer:
    """What the balance says: fill per bottle with its doubt, totals per set, the mean with an honest error."""
    question = _("Are the bottles filled, and can I trust the weights?")
    if silent := why_silent(policy, today):
        return refused(question, silent, policy)
    aerobic = policy.bottle(policy.adult.aerobic)
    low, high = aerobic.minimum_ml.value, aerobic.maximum_ml.value
    fills = weigh_bottles(
        weighings, low_ml=low, high_ml=high, tare_sd_g=DEFAULT_TARE_SD_G[tare], density_g_ml=density_g_ml
    )
    sound = [fill for fill in fills if fill.flag is not FillFlag.IMPOSSIBLE]
    if not sound:
        return refused(question, _("There is no weighed bottle in this sheet."), policy)
    mean = sum(fill.volume_ml for fill in sound) / len(sound)
    return Answer(
        question=question,
        verdict=Verdict.ESTIMATE,
        sentence=marked(policy, _weigh_sentence(sound, mean=mean, low=low, high=high)),
        figures=_weigh_figures(sound, mean=mean, tare=tare),
        cautions=(*_weigh_cautions(fills, tare), *policy_cautions(policy)),
        table=_weigh_table(fills),
        receipt=policy_receipt(policy),
    )


def _below(fills: Sequence[Fill]) -> int:
    return sum(fill.flag in {FillFlag.UNDER, FillFlag.EMPTY} for fill in fills)


def _weigh_sentence(fills: Sequence[Fill], *, mean: float, low: float, high: float) -> str:
    over = sum(fill.flag is FillFlag.OVER for fill in fills)
    return _(
        "{below} of {bottles} bottles hold less than {low}, {over} more than {high}; the mean is {mean} per bottle."
    ).format(
        below=_below(fills), bottles=len(fills), low=ml_words(low), over=over, high=ml_words(high),
        mean=ml_words(round(mean, 1)),
    )  # fmt: skip


def _weigh_figures(fills: Sequence[Fill], *, mean: float, tare: TareKind) -> tuple[Figure, ...]:
    spread = TWO_SIDED_95 * mean_fill_sd(fills, shared_tare=tare is TareKind.CATALOGUE)
    counts = (
        ("under_count", _("less than the wanted fill"), _below(fills)),
        ("over_count", _("more than the wanted fill"), sum(fill.flag is FillFlag.OVER for fill in fills)),
    )
    return (
        Figure(
            key="mean_ml", label=_("mean per bottle"), value=round(mean, 3), unit="mL", low=round(mean - spread, 3),
            high=round(mean + spread, 3), level=0.95, method=_("weighing error only, not the variation between draws"),
        ),
        Figure(
            key="one_bottle_sd_ml", label=_("doubt of one bottle (1 SD)"), value=round(fills[0].sd_ml, 3), unit="mL"
        ),
        *(
            Figure(
                key=key, label=label, value=count / len(fills), unit="proportion", numerator=count,
                denominator=len(fills),
            )
            for key, label, count in counts
        ),
    )  # fmt: skip


FLAG_WORDS = {
    FillFlag.EMPTY: "{set} {bottle}: practically empty or wrong tare.",
    FillFlag.IMPOSSIBLE: "{set} {bottle}: no bottle weighs that; check weight and tare.",
}


def _weigh_cautions(fills: Sequence[Fill], tare: TareKind) -> tuple[str, ...]:
    said = [
        _(FLAG_WORDS[fill.flag]).format(set=fill.accession, bottle=fill.bottle)
        for fill in fills
        if fill.flag in FLAG_WORDS
    ]
    if tare is TareKind.LOT:
        doubt = decimal_words(f"{fills[0].sd_ml:.1f}")
        said.append(
            _("Tare per lot: one bottle is known to about ±{sd} mL. Use it for unit means only.").format(sd=doubt)
        )
    if tare is TareKind.CATALOGUE:
        said.append(
            _("Catalogue tare: empty bottles differ by grams. These volumes are not to be used; weigh the lot.")
        )
    return tuple(said)


def _weigh_table(fills: Sequence[Fill]) -> AnswerTable:
    totals: dict[str, float | None] = {set_key: round(total, 1) for set_key, total in set_totals(fills)}
    totals |= {fill.accession: None for fill in fills if fill.flag is FillFlag.IMPOSSIBLE}
    return AnswerTable(
        title=ngettext("{count} bottle weighed", "{count} bottles weighed", len(fills)).format(count=len(fills)),
        columns=(_("set"), _("bottle"), "mL", _("± mL (1 SD)"), _("flag"), _("set total, mL")),
        rows=tuple(
            (
                fill.accession, fill.bottle, round(fill.volume_ml, 1), round(fill.sd_ml, 1), fill.flag.value,
                totals[fill.accession],
            )
            for fill in fills
        ),
    )  # fmt: skip
