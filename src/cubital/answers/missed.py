"""How many infections are missed because bottles are short: a range over models, never one number, never a patient."""

from __future__ import annotations

import math
from typing import Any

from cubital.answers.missed_models import EpisodeVolumes
from cubital.answers.missed_picture import build_missed_picture
from cubital.answers.missed_reading import (
    LEAST_WEIGHED,
    USUAL_POSITIVE,
    MissedReading,
    MissedState,
    ModelReading,
)
from cubital.answers.missed_words import (
    confidence_words,
    counted_models_words,
    counted_words,
    few_found_words,
    found_not_known_words,
    ml_words,
    model_name,
    observed_words,
    range_words,
    struck_words,
    whole_from_ten,
)
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, ngettext, share_words

_VERDICTS = {
    MissedState.FEW_WEIGHED: Verdict.TOO_FEW,
    MissedState.FEW_FOUND: Verdict.TOO_FEW,
    MissedState.FEW_MODELS: Verdict.NOT_IDENTIFIABLE,
    MissedState.NOTHING_TO_GAIN: Verdict.ESTIMATE,
    MissedState.SAID: Verdict.ESTIMATE,
}


def build_missed_answer(
    reading: MissedReading, *, receipt: Receipt | None = None, cautions: tuple[str, ...] = ()
) -> Answer:
    """The whole answer; ``cautions`` are what the gatherer has to say of its data."""
    sentence = _sentence(reading)
    if reading.material.rules.example:
        sentence = _("EXAMPLE. {sentence}").format(sentence=sentence)
    said = reading.state is MissedState.SAID
    return Answer(
        question=_("How many infections do we miss because bottles are underfilled?"),
        verdict=_VERDICTS.get(reading.state, Verdict.REFUSED),
        sentence=sentence,
        figures=_figures(reading),
        cautions=(*_cautions(reading), *cautions, *reading.material.rules.cautions),
        picture=_picture(reading, title=sentence) if said else {},
        table=_table(reading) if said else None,
        receipt=receipt,
    )


def _picture(reading: MissedReading, *, title: str) -> dict[str, Any]:
    return build_missed_picture(reading.models, span=reading.span, title=title, room=reading.ceiling or 0.0)


def _sentence(reading: MissedReading) -> str:
    material = reading.material
    volumes = material.volumes
    if reading.state is MissedState.SAID and volumes is not None:
        return _(
            "Infections missed a year because of short bottles: {range}. Episodes hold {mean} where {wanted} are "
            "wanted; {models}. A scenario, not a measurement, and nothing about any patient."
        ).format(
            range=range_words(*reading.span), mean=ml_words(volumes.mean_ml), wanted=ml_words(reading.wanted_ml),
            models=counted_models_words(reading),
        )  # fmt: skip
    if reading.state is MissedState.NOTHING_TO_GAIN and volumes is not None:
        return _(
            "Nothing to gain by these models: episodes hold {mean}, and {wanted} are wanted. More blood than policy "
            "wants is no aim."
        ).format(mean=ml_words(volumes.mean_ml), wanted=ml_words(reading.wanted_ml))
    return _refusal(reading)


def _refusal(reading: MissedReading) -> str:
    material = reading.material
    weighed = material.weighed if material.volumes is None else material.volumes.weighed_sets or 0
    found = material.found or 0
    words = {
        MissedState.SILENT: material.rules.silence,
        MissedState.CHILDREN: _("The models are of adults; nothing is said of children."),
        MissedState.CATALOGUE: _(
            "With empty weights from a catalogue the volumes are not known: empty bottles differ by grams. Weigh the "
            "lot's empty bottles first."
        ),
        MissedState.NO_WEIGHTS: _(
            "No bottle has been weighed, so nobody knows how much blood there was. Weigh the bottles of {least} sets "
            "first."
        ).format(least=LEAST_WEIGHED),
        MissedState.NO_SINGLES: _(
            "How many episodes have a single set is not known, so the blood of an episode is not known. Give the "
            "share of single sets, or take a laboratory file in."
        ),
        MissedState.NOT_FOUND: found_not_known_words(),
        MissedState.FEW_MODELS: _(
            "Fewer than two published models reach this far, and one model would be one number. Nothing is said: the "
            "volumes are too far from what is wanted."
        ),
        MissedState.FEW_WEIGHED: ngettext(
            "{count} set was weighed; {more} more are needed before its mean stands for the place.",
            "{count} sets were weighed; {more} more are needed before their mean stands for the place.",
            weighed,
        ).format(count=weighed, more=max(0, LEAST_WEIGHED - weighed)),
        MissedState.FEW_FOUND: few_found_words(found),
    }  # fmt: skip
    return words[reading.state]


def _figures(reading: MissedReading) -> tuple[Figure, ...]:
    """Every model's number and what it rests on; none beside a refusal."""
    volumes = reading.material.volumes
    if volumes is None or reading.state not in {MissedState.SAID, MissedState.NOTHING_TO_GAIN}:
        return ()
    return (*(_model_figure(model) for model in reading.models), *_volume_figures(reading, volumes))


def _model_figure(model: ModelReading) -> Figure:
    name = model_name(model.key)
    finite = math.isfinite(model.missed)
    return Figure(
        key=f"model_{model.key}",
        label=_("by one model, struck through: {name}").format(name=name) if model.struck
        else _("by one model: {name}").format(name=name),
        value=whole_from_ten(model.missed) if finite else None,
        unit="", low=_finite(model.low), high=_finite(model.high),
        level=0.95 if _finite(model.low) is not None else None,
        method=_("model of published yield, not a measurement"),
        definition=_("infections a year that would be found besides, by this model alone"),
        note="" if finite else _("the line has reached nothing"),
    )  # fmt: skip


def _finite(value: float | None) -> float | None:
    return whole_from_ten(value) if value is not None and math.isfinite(value) else None


def _volume_figures(reading: MissedReading, volumes: EpisodeVolumes) -> tuple[Figure, ...]:
    error, found = volumes.error_ml, reading.material.found
    return (
        Figure(
            key="mean_ml", label=_("Blood of an episode"), value=round(volumes.mean_ml, 3), unit="mL",
            low=round(max(0.0, volumes.mean_ml - error), 3) if error else None,
            high=round(volumes.mean_ml + error, 3) if error else None, level=0.95 if error else None,
            method=_("sampling and weighing together") if error else "",
        ),
        Figure(key="target_ml", label=_("Wanted for an episode"), value=reading.wanted_ml, unit="mL"),
        Figure(key="found", label=_("Infections found a year"), value=found, unit=""),
    )  # fmt: skip


def _cautions(reading: MissedReading) -> tuple[str, ...]:
    material = reading.material
    found = []
    if material.asked_ml is not None and material.asked_ml > material.rules.cap_ml and not material.rules.silence:
        found.append(
            _("{asked} are more than local policy allows for an episode; {cap} were taken.").format(
                asked=ml_words(material.asked_ml), cap=ml_words(material.rules.cap_ml)
            )
        )
    if reading.state is not MissedState.SAID:
        return tuple(found)
    if material.positive_share is None:
        found.append(
            _("The odds models need the share of episodes that are positive; {share} was taken, as is usual.").format(
                share=share_words(USUAL_POSITIVE, 0)
            )
        )
    return (*found, *_standing_cautions(material.volumes is not None and material.volumes.weighed_sets is None))


def _standing_cautions(mean_only: bool) -> tuple[str, ...]:
    found = [
        _("A volume campaign at night raised the fill and found no more (Korea 2020): the gain may fail to come."),
        _("Adults only. Not to be added to what single sets miss: much of it is the same infections."),
        _(
            "This is about filling bottles as policy says. It never asks for more blood than local limits allow, nor "
            "for fewer sets."
        ),
        _("Whoever is sicker gives less blood, so the studies of volume are confounded; none is a trial of this."),
    ]
    if mean_only:
        found.append(_("Only a mean was given: where volumes are uneven, more is missed than a mean shows."))
    return tuple(found)


def _table(reading: MissedReading) -> AnswerTable:
    """One row per model; what weighing leaves open has a column only where something was weighed."""
    weighed = any(model.low is not None for model in reading.models)
    spread = (_("By weighing"),) if weighed else ()
    return AnswerTable(
        title=_("Published models side by side"),
        columns=(
            _("Model"), _("Missed a year"), _("Counted?"), *spread, _("Observed over"), _("May mislead"), _("Source"),
        ),
        rows=tuple(_row(model, reading, weighed=weighed) for model in reading.models),
    )  # fmt: skip


def _row(model: ModelReading, reading: MissedReading, *, weighed: bool) -> tuple[Cell, ...]:
    low, high = _finite(model.low), _finite(model.high)
    between = ""
    if low is not None and high is not None:
        between = _("{low} to {high}").format(low=grouped_words(round(low)), high=grouped_words(round(high)))
    return (
        model_name(model.key),
        round(model.missed) if math.isfinite(model.missed) else None,
        struck_words(model, reading) or counted_words(),
        *((between,) if weighed else ()),
        observed_words(model),
        bias_words(model.study.key),
        _("{source} ({how})").format(source=model.study.source, how=confidence_words(model.study.confidence)),
    )


def bias_words(key: str) -> str:
    """In which direction a study is likely to mislead here, in short; the reference data say it at length."""
    return {
        "lee_2007": _("only what four cultures found counts as there"),
        "cockerill_2004": _("the share found with one culture is from memory"),
        "washington_1975": _("old broth, more bacteria in the blood: shows too little loss"),
        "khare_2020": _("before and after: other changes are in it"),
        "intensive_care_odds": _("one kind of unit, often after antibiotics"),
        "mermel_maki_1993": _("a line cannot bend, and yield does"),
        "karolinska_2019": _("a slope for one bottle, laid over an episode"),
    }[key]
