"""What may be missed because bottles are short: published models of yield laid side by side over local volumes.

Every model turns the volumes drawn for an episode into the volumes wanted, never more than local policy allows. The
models disagree. Which of them is struck through is decided by one rule for all:

* a model is struck through where its slope has to run over more mL than it was ever observed over,
* where it counted whole sets and the usual episode here holds less than one, of which it saw nothing, and
* where it says that more is missed than would be there at all, which is read off the curve of cumulative detection: of
  what four cultures find, the volumes drawn find such a share, and no more than the rest can be missing.

A model whose observed range is not confirmed is held against the second part alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import isfinite

from cubital.answers.missed_models import Drawn, EpisodeVolumes, YieldModel, most_missing, yield_models
from cubital.reference.yield_studies import YieldStudy

LEAST_FOUND = 20  # infections found a year below which a share of them says nothing (common practice, no source)
LEAST_WEIGHED = 30  # weighed sets that make a mean worth using (common practice, no source)
LEAST_MODELS = 2  # of different studies: one alone would be one number
# Of sets, 9.4 % were positive (37,255 of 398,077: Deas G et al., J Infect 2025;91:106520), before and after a campaign
# 7.4 and 8.9 % (Khare R et al., Clin Infect Dis 2020;70:262-268). Used where the local share was not given.
USUAL_POSITIVE = 0.09


@dataclass(frozen=True, kw_only=True)
class FillRules:
    """What local policy asks of an adult episode: mL wanted, mL at most, bottles.

    ``silence`` says why it may not speak; empty where it may. ``cautions`` are the policy's own, the mark of an example
    first where it is one.
    """

    target_ml: float
    cap_ml: float
    bottles: int
    sets: int = 2
    silence: str = ""
    example: bool = False
    cautions: tuple[str, ...] = ()

    def wanted_ml(self, asked_ml: float | None) -> float:
        """The volume to compare with: what was asked for or policy's own, never above policy's maximum."""
        return min(self.target_ml if asked_ml is None else asked_ml, self.cap_ml)


@dataclass(frozen=True, kw_only=True)
class MissedMaterial:
    """What the answer is made of. ``found`` are infections found a year in adults, none where nobody said.

    ``weighed`` counts the sets of a sheet whose volumes per episode are not known yet, for want of the share of single
    sets.
    """

    found: int | None
    volumes: EpisodeVolumes | None
    rules: FillRules
    asked_ml: float | None = None
    positive_share: float | None = None
    weighed: int = 0
    children_only: bool = False
    catalogue_tare: bool = False


class MissedState(StrEnum):
    """Whether anything can be said."""

    SILENT = "silent"
    CHILDREN = "children"
    CATALOGUE = "catalogue"
    NO_WEIGHTS = "no_weights"
    NO_SINGLES = "no_singles"
    FEW_WEIGHED = "few_weighed"
    NOT_FOUND = "not_found"
    FEW_FOUND = "few_found"
    NOTHING_TO_GAIN = "nothing_to_gain"
    FEW_MODELS = "few_models"
    SAID = "said"


class Struck(StrEnum):
    """Why a model is struck through."""

    BEYOND_RANGE = "beyond_range"
    BELOW_A_SET = "below_a_set"
    BEYOND_ALL = "beyond_all"
    CONTRADICTED = "contradicted"  # by the very series that its number comes from


@dataclass(frozen=True, kw_only=True)
class ModelReading:
    """One model's infections a year; ``low`` and ``high`` move the volumes by their error, none without one.

    The slope has to run over ``asked_ml``; the study saw ``study.span_ml``. ``missed`` is infinite where a line has
    reached nothing.
    """

    key: str
    study: YieldStudy
    missed: float
    low: float | None
    high: float | None
    asked_ml: float
    struck: tuple[Struck, ...] = ()


@dataclass(frozen=True, kw_only=True)
class MissedReading:
    """All models in order of what they say; ``ceiling`` is the most that can be missing at all."""

    state: MissedState
    material: MissedMaterial
    wanted_ml: float
    models: tuple[ModelReading, ...] = ()
    ceiling: float | None = None

    @property
    def counted(self) -> tuple[ModelReading, ...]:
        """The models that are not struck through."""
        return tuple(model for model in self.models if not model.struck)

    @property
    def span(self) -> tuple[float, float]:
        """Least and most of the counted models, weighing error included."""
        lows = [model.missed if model.low is None else model.low for model in self.counted]
        highs = [model.missed if model.high is None else model.high for model in self.counted]
        return min(lows), max(highs)


def read_missed(material: MissedMaterial, *, models: Sequence[YieldModel] | None = None) -> MissedReading:
    """Lays every model over the local volumes, or says why nothing can be said."""
    wanted = material.rules.wanted_ml(material.asked_ml)
    state = _state(material, wanted)
    if state is not MissedState.SAID or material.volumes is None or material.found is None:
        return MissedReading(state=state, material=material, wanted_ml=wanted)
    drawn = Drawn(
        volumes=material.volumes, wanted_ml=wanted, bottles=material.rules.bottles,
        positive_share=USUAL_POSITIVE if material.positive_share is None else material.positive_share,
    )  # fmt: skip
    ceiling = most_missing(material.found, material.volumes)
    read = [_read(model, drawn, found=material.found, ceiling=ceiling) for model in models or yield_models()]
    reading = MissedReading(
        state=state, material=material, wanted_ml=wanted, ceiling=ceiling,
        models=tuple(sorted(read, key=lambda one: one.missed)),
    )  # fmt: skip
    studies = {model.study.key for model in reading.counted}
    return reading if len(studies) >= LEAST_MODELS else replace(reading, state=MissedState.FEW_MODELS)


def _state(material: MissedMaterial, wanted_ml: float) -> MissedState:
    volumes, found = material.volumes, material.found
    weighed = material.weighed if volumes is None else volumes.weighed_sets
    checks = (
        (MissedState.SILENT, bool(material.rules.silence)),
        (MissedState.CHILDREN, material.children_only),
        (MissedState.CATALOGUE, material.catalogue_tare),
        (MissedState.NO_WEIGHTS, volumes is None and not material.weighed),
        (MissedState.FEW_WEIGHED, weighed is not None and 0 < weighed < LEAST_WEIGHED),
        (MissedState.NO_SINGLES, volumes is None),
        (MissedState.NOT_FOUND, found is None),
        (MissedState.FEW_FOUND, found is not None and found < LEAST_FOUND),
        (MissedState.NOTHING_TO_GAIN, volumes is not None and volumes.none_short(wanted_ml)),
    )
    return next((state for state, holds in checks if holds), MissedState.SAID)


def _read(model: YieldModel, drawn: Drawn, *, found: int, ceiling: float) -> ModelReading:
    short = drawn.mean(drawn.short)
    asked = short / drawn.bottles if model.per_bottle else short
    missed = found * (model.gain(drawn) - 1)
    error, low, high = drawn.volumes.error_ml, None, None
    if error:
        fuller, emptier = (replace(drawn, volumes=drawn.volumes.shifted(by)) for by in (error, -error))
        low, high = found * (model.gain(fuller) - 1), found * (model.gain(emptier) - 1)
    span = model.study.span_ml
    reasons = (
        (Struck.BEYOND_RANGE, span is not None and asked > span),
        (Struck.BELOW_A_SET, drawn.volumes.mean_ml < (model.study.set_ml or 0)),
        (Struck.BEYOND_ALL, missed > ceiling or not isfinite(missed) or not isfinite(high or 0.0)),
    )
    return ModelReading(
        key=model.key, study=model.study, missed=missed, low=low, high=high, asked_ml=asked,
        struck=tuple(reason for reason, holds in reasons if holds),
    )  # fmt: skip
