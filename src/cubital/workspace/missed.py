"""Gathers what may be missed: infections found and single sets from the cultures, volumes from a weigh-in, policy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import cubital
from cubital.answers.episode_volumes import build_episode_volumes
from cubital.answers.missed import build_missed_answer
from cubital.answers.missed_models import EpisodeVolumes
from cubital.answers.missed_reading import FillRules, MissedMaterial, read_missed
from cubital.answers.single_sets import SingleSets, build_single_sets_answer
from cubital.bedside.fill import TareKind
from cubital.bedside.fill_sets import SetState, adult_limits, read_sets
from cubital.bedside.permission import policy_cautions, why_silent
from cubital.bedside.weigh_in import WeighIn
from cubital.domain.answer import Answer, Receipt
from cubital.domain.collection import CollectionPolicy
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace.bedside_files import read_weighings

if TYPE_CHECKING:
    from cubital.workspace.missed_gathering import FoundHere

BOTTLES_OF_A_SET = 2


@dataclass(frozen=True, kw_only=True)
class MissedAsk:
    """What was said; what is none is taken from the workspace where that was given, and otherwise not known.

    ``found`` are infections found a year in adults; ``mean_ml`` and ``target_ml`` mL per episode; ``single_share`` and
    ``positive_share`` run 0 to 1; ``tares`` are grams by kind of bottle for a sheet without tares.
    """

    found: int | None = None
    mean_ml: float | None = None
    target_ml: float | None = None
    single_share: float | None = None
    positive_share: float | None = None
    weights: Path | None = None
    tare: TareKind = TareKind.LOT
    tares: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _check(self.found is None or 0 <= self.found <= 10**6, _("infections found a year are a number from 0 on."))
        for volume in (self.mean_ml, self.target_ml):
            _check(volume is None or 0 < volume <= 500, _("mL per episode lie between 0 and 500."))
        _check(self.single_share is None or 0 <= self.single_share <= 1, _("a share lies between 0 and 100 %."))
        _check(
            self.positive_share is None or 0 < self.positive_share < 1,
            _("a share of positives lies between 0 and 100 %."),
        )
        _check(
            self.mean_ml is None or self.weights is None,
            _("there are both a mean and a weigh-in sheet: give one of them."),
        )


def _check(holds: bool, words: str) -> None:
    if not holds:
        raise RequestProblem(words)


def missed_answer(
    ask: MissedAsk, *, policy: CollectionPolicy, today: date, here: FoundHere | None = None
) -> Answer:  # fmt: skip
    """How many infections are missed because bottles are short; ``here`` is what the workspace knows, if asked."""
    said = _with_here(ask, here)
    rules = fill_rules(policy, today)
    volumes, weighed, children = _volumes(said, policy)
    material = MissedMaterial(
        found=said.found, volumes=volumes, rules=rules, asked_ml=said.target_ml, positive_share=said.positive_share,
        weighed=weighed, children_only=children,
        catalogue_tare=said.weights is not None and said.tare is TareKind.CATALOGUE,
    )  # fmt: skip
    cautions = _weighing_cautions(said, volumes)
    return build_missed_answer(
        read_missed(material), receipt=_receipt(policy, here), cautions=(*cautions, *(here.cautions if here else ()))
    )


def single_sets_answer(
    ask: MissedAsk, *, policy: CollectionPolicy, today: date, here: FoundHere | None = None
) -> Answer:  # fmt: skip
    """How many infections are missed because only one set is taken."""
    said = _with_here(ask, here)
    episodes = here.episodes if here is not None and ask.single_share is None else None
    singles = SingleSets(found=said.found, share=said.single_share, episodes=episodes)
    return build_single_sets_answer(
        singles, rules=fill_rules(policy, today), receipt=_receipt(policy, here),
        cautions=here.cautions if here else (),
    )  # fmt: skip


def fill_rules(policy: CollectionPolicy, today: date) -> FillRules:
    """What policy asks of an adult episode: the middle of the aerobic fill in every bottle; its maxima limit it."""
    bottles = [policy.bottle(key) for key in (policy.adult.aerobic, policy.adult.anaerobic)]
    low, high = adult_limits(policy)
    sets = policy.adult.sets.value
    wanted = sets * sum(min((low + high) / 2, bottle.maximum_ml.value) for bottle in bottles)
    most = min(sets * sum(bottle.maximum_ml.value for bottle in bottles), policy.adult.day_cap_ml.value)
    return FillRules(
        target_ml=min(wanted, most), cap_ml=most, bottles=round(sets * BOTTLES_OF_A_SET), sets=round(sets),
        silence=why_silent(policy, today), example=policy.example, cautions=policy_cautions(policy),
    )  # fmt: skip


def _with_here(ask: MissedAsk, here: FoundHere | None) -> MissedAsk:
    if here is None:
        return ask
    return replace(
        ask,
        found=here.found if ask.found is None else ask.found,
        single_share=here.single_share if ask.single_share is None else ask.single_share,
        positive_share=here.positive_share if ask.positive_share is None and ask.found is None else ask.positive_share,
    )


def _volumes(ask: MissedAsk, policy: CollectionPolicy) -> tuple[EpisodeVolumes | None, int, bool]:
    """The volumes if they can be known, how many sets were weighed, and whether all of them were children's."""
    if ask.mean_ml is not None:
        return EpisodeVolumes(volumes=(ask.mean_ml,), weights=(1.0,)), 0, False
    if ask.weights is None:
        return None, 0, False
    weigh_in = WeighIn(weighings=read_weighings(ask.weights, tares=ask.tares), tare=ask.tare)
    low, high = adult_limits(policy)
    fills = weigh_in.fills(policy)
    adult = read_sets(fills, low_ml=low, high_ml=high)
    totals = [one.total_ml for one in adult if one.state is not SetState.UNSOUND]
    if ask.single_share is None or len(totals) < 2:
        return None, len(totals), bool(fills) and not adult
    volumes = build_episode_volumes(totals, single_share=ask.single_share)
    return volumes, len(totals), False


def _weighing_cautions(ask: MissedAsk, volumes: EpisodeVolumes | None) -> tuple[str, ...]:
    if ask.weights is None or volumes is None:
        return ()
    return (
        _("Nobody weighs by episode: an episode with more than one set was taken as two sets of the sheet."),
        _("Weighed on other days or units than asked about, a sheet says nothing of them."),
    )


def _receipt(policy: CollectionPolicy, here: FoundHere | None) -> Receipt:
    return Receipt(
        data=here.receipt.data if here else _("counts"),
        charter=here.receipt.charter if here else _("no charter: counts were given ready made"),
        policy=_("{name}, version {version}").format(name=policy.name, version=policy.version),
        code=cubital.__version__,
    )
