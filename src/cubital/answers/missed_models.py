"""The published models of yield that are laid side by side, and the volumes that they are asked about."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from cubital.reference.yield_studies import YieldStudy, yield_study
from cubital.stats.yield_models import campaign_ratio, curve_ratio, found_share, line_ratio, odds_ratio_gain


@dataclass(frozen=True, kw_only=True)
class EpisodeVolumes:
    """mL per adult episode with weights that add up to 1; one value where only a mean is known.

    ``weighed_sets`` is how many sets were weighed, none where the mean was given. ``error_ml`` is half the width of the
    95 % interval of the mean, from sampling and weighing; 0 where the mean was given.
    """

    volumes: tuple[float, ...]
    weights: tuple[float, ...]
    weighed_sets: int | None = None
    error_ml: float = 0.0

    def __post_init__(self) -> None:
        if len(self.volumes) != len(self.weights) or not self.volumes or not math.isclose(sum(self.weights), 1):
            raise ValueError("volumes come with weights that add up to 1")
        if min(self.volumes) < 0 or min(self.weights) < 0:
            raise ValueError("volumes and weights are not negative")

    @property
    def mean_ml(self) -> float:
        """Mean mL per episode."""
        return sum(volume * weight for volume, weight in zip(self.volumes, self.weights, strict=True))

    def none_short(self, wanted_ml: float) -> bool:
        """Whether no episode holds less than that; a full mean alone does not say so."""
        pairs = zip(self.volumes, self.weights, strict=True)
        return all(volume >= wanted_ml for volume, weight in pairs if weight)

    def shifted(self, by_ml: float) -> EpisodeVolumes:
        """All volumes more or less by the same mL, none below zero."""
        return replace(self, volumes=tuple(max(0.0, volume + by_ml) for volume in self.volumes))


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """What a model is asked about: volumes drawn and wanted, bottles of an episode, share of episodes positive now."""

    volumes: EpisodeVolumes
    wanted_ml: float
    bottles: int
    positive_share: float

    def mean(self, value: Callable[[float], float]) -> float:
        """The mean over all episodes of what ``value`` makes of each one's volume."""
        pairs = zip(self.volumes.volumes, self.volumes.weights, strict=True)
        return sum(value(volume) * weight for volume, weight in pairs if weight)

    def short(self, volume: float) -> float:
        """mL that an episode of that volume is short of what is wanted."""
        return max(0.0, self.wanted_ml - volume)


Gain = Callable[[Drawn], float]  # how many times as many would be found


@dataclass(frozen=True, kw_only=True)
class YieldModel:
    """A shape with the numbers of one study. ``per_bottle`` slopes run over a bottle's mL, others over an episode's."""

    key: str
    study: YieldStudy
    gain: Gain
    per_bottle: bool = False


def yield_models() -> tuple[YieldModel, ...]:
    """The compared models. Slopes per mL are laid over the episode's mL, which is how they are quoted in meetings.

    A curve knows how likely an episode of each volume is to be found, so episodes weigh by that; slopes know nothing of
    it, and theirs weigh alike.
    """
    lee, other = yield_study("lee_2007"), yield_study("cockerill_2004")
    khare, icu = yield_study("khare_2020"), yield_study("intensive_care_odds")
    line, odds = yield_study("mermel_maki_1993"), yield_study("karolinska_2019")
    return (
        YieldModel(key="curve", study=lee, gain=_curve(lee)),
        YieldModel(key="curve_other", study=other, gain=_curve(other)),
        YieldModel(key="campaign", study=khare, gain=_campaign(khare), per_bottle=True),
        YieldModel(key="odds_101", study=icu, gain=_odds(icu.odds_per_ml_low or 1)),
        YieldModel(key="odds_102", study=icu, gain=_odds(icu.odds_per_ml_high or 1)),
        YieldModel(key="line_3", study=line, gain=_line(line)),
        YieldModel(key="odds_113", study=odds, gain=_odds(odds.odds_per_ml or 1)),
    )


def _curve(study: YieldStudy) -> Gain:
    found, set_ml = study.cumulative, study.set_ml or 1
    return lambda drawn: curve_ratio(
        drawn.volumes.volumes, weights=drawn.volumes.weights, wanted_ml=drawn.wanted_ml, found=found, set_ml=set_ml
    )


def _campaign(study: YieldStudy) -> Gain:
    before, after, raised = study.positive_before or 1, study.positive_after or 1, study.span_ml or 1
    return lambda drawn: drawn.mean(
        lambda volume: campaign_ratio(
            drawn.short(volume) / drawn.bottles, before=before, after=after, raised_ml=raised
        )
    )  # fmt: skip


def _odds(odds_per_ml: float) -> Gain:
    return lambda drawn: drawn.mean(
        lambda volume: odds_ratio_gain(
            drawn.short(volume), odds_per_ml=odds_per_ml, positive_share=drawn.positive_share
        )
    )  # fmt: skip


def _line(study: YieldStudy) -> Gain:
    share = study.share_per_ml or 0
    return lambda drawn: drawn.mean(lambda volume: line_ratio(drawn.short(volume), share_per_ml=share))


def most_missing(found: int, volumes: EpisodeVolumes) -> float:
    """The most that can be missing: what four cultures would find, less what these volumes find, by the first curve.

    Infinite where nothing at all was drawn.
    """
    lee = yield_study("lee_2007")
    shares = [found_share(volume, found=lee.cumulative, set_ml=lee.set_ml or 1) for volume in volumes.volumes]
    now = sum(share * weight for share, weight in zip(shares, volumes.weights, strict=True))
    return found * (1 / now - 1) if now else math.inf
