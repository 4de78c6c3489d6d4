"""Gathers what may be missed: infections found and single sets from the cultures, volumes from a weigh-in, policy."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

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
    from cubital.workspace.missed_gathering import FoundHere, PlaceAsk
    from cubital.workspace.opening import Workspace

BOTTLES_OF_A_SET = 2
VOLUME, SINGLE_SETS = "volume", "single-sets"  # the questions, by name


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


def plain_asked(
    ask: MissedAsk, *, question: str, policy: CollectionPolicy, today: date, place: PlaceAsk | None
) -> dict[str, Any]:
    """Everything the answer rests on besides the cultures, as plain data: numbers, policy's limits, weighed mL by set.

    ``question`` is ``VOLUME`` or ``SINGLE_SETS``; ``place`` is where to look up what was not said, none to look up
    nothing. A weigh-in sheet is read here, and of it only the totals of its sets stay.
    """
    totals, children = _totals(ask, policy)
    return {
        "question": question, "found": ask.found, "mean_ml": ask.mean_ml, "target_ml": ask.target_ml,
        "single_share": ask.single_share, "positive_share": ask.positive_share, "tare": ask.tare.value,
        "totals_ml": totals, "children_only": children, "rules": asdict(fill_rules(policy, today)),
        "policy": _("{name}, version {version}").format(name=policy.name, version=policy.version),
        "place": asdict(place) if place is not None else None,
    }  # fmt: skip


def answer_asked(asked: Mapping[str, Any], *, workspace: Workspace | None = None) -> Answer:
    """The answer to ``plain_asked``; what was not said is looked up in the workspace where a place was given."""
    here = None
    if asked["place"] is not None and workspace is not None:
        from cubital.workspace.missed_gathering import PlaceAsk, gather_found_if_any

        here = gather_found_if_any(workspace, PlaceAsk(**asked["place"]))
    said = dict(asked) if here is None else _with_here(asked, here)
    answer_of = _single_sets_answer if asked["question"] == SINGLE_SETS else _volume_answer
    return answer_of(said, here)


def _rules(said: Mapping[str, Any]) -> FillRules:
    held = dict(said["rules"])
    return FillRules(**(held | {"cautions": tuple(held["cautions"])}))


def _volume_answer(said: Mapping[str, Any], here: FoundHere | None) -> Answer:
    volumes, totals = _volumes(said), said["totals_ml"]
    material = MissedMaterial(
        found=said["found"], volumes=volumes, rules=_rules(said), asked_ml=said["target_ml"],
        positive_share=said["positive_share"], weighed=len(totals or ()), children_only=said["children_only"],
        catalogue_tare=totals is not None and said["tare"] == TareKind.CATALOGUE,
    )  # fmt: skip
    weighing = _weighing_cautions() if totals is not None and volumes is not None else ()
    return build_missed_answer(
        read_missed(material), receipt=_receipt(said, here), cautions=(*weighing, *(here.cautions if here else ()))
    )


def _single_sets_answer(said: Mapping[str, Any], here: FoundHere | None) -> Answer:
    counted = here is not None and said["single_share"] == here.single_share
    singles = SingleSets(
        found=said["found"], share=said["single_share"], episodes=here.episodes if here and counted else None
    )
    return build_single_sets_answer(
        singles, rules=_rules(said), receipt=_receipt(said, here), cautions=here.cautions if here else ()
    )


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


def _with_here(asked: Mapping[str, Any], here: FoundHere) -> dict[str, Any]:
    """What was said, and for what was not the workspace's; its share of positives only beside its own infections."""
    own = {"found": here.found, "single_share": here.single_share}
    if asked["found"] is None:
        own["positive_share"] = here.positive_share
    return {**asked, **{name: value for name, value in own.items() if asked[name] is None}}


def _totals(ask: MissedAsk, policy: CollectionPolicy) -> tuple[list[float] | None, bool]:
    """mL of every adult set on the sheet, none without a sheet; and whether all of its sets are children's."""
    if ask.weights is None:
        return None, False
    weigh_in = WeighIn(weighings=read_weighings(ask.weights, tares=ask.tares), tare=ask.tare)
    low, high = adult_limits(policy)
    fills = weigh_in.fills(policy)
    adult = read_sets(fills, low_ml=low, high_ml=high)
    sound = [round(one.total_ml, 3) for one in adult if one.state is not SetState.UNSOUND]
    return sound, bool(fills) and not adult


def _volumes(said: Mapping[str, Any]) -> EpisodeVolumes | None:
    if said["mean_ml"] is not None:
        return EpisodeVolumes(volumes=(said["mean_ml"],), weights=(1.0,))
    totals = said["totals_ml"] or ()
    if said["single_share"] is None or len(totals) < 2:
        return None
    return build_episode_volumes(totals, single_share=said["single_share"])


def _weighing_cautions() -> tuple[str, ...]:
    return (
        _("Nobody weighs by episode: an episode with more than one set was taken as two sets of the sheet."),
        _("Weighed on other days or units than asked about, a sheet says nothing of them."),
    )


def _receipt(said: Mapping[str, Any], here: FoundHere | None) -> Receipt:
    return Receipt(
        data=here.receipt.data if here else _("counts"),
        charter=here.receipt.charter if here else _("no charter: counts were given ready made"),
        policy=said["policy"], code=cubital.__version__,
    )  # fmt: skip
