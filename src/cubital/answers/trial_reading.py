"""How large a trial must be and how long it takes: sizes side by side, clustering counted, months at local volume."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from cubital.answers.trial_ask import TrialAsk
from cubital.answers.trial_steps import LEAST_STEPS, least_steps, stepped_found, stepped_sets
from cubital.domain.trial import TrialDesign
from cubital.stats.cluster_size import alternation_effect, design_effect, size_with_units, units_needed
from cubital.stats.exact_power import fisher_size
from cubital.stats.trial_size import arcsine_size, corrected_size, smallest_found, uncorrected_size

DAYS_IN_MONTH = 365.25 / 12
LEAST_UNITS = (
    4  # in each arm, for an analysis by units (Hayes RJ, Moulton LH, Cluster Randomised Trials, 2009, section 3)
)
LONGEST_MONTHS = 24.0  # beyond it staff, kit and laboratory are no longer the same (common practice, no source)
SHORTER_MONTHS = (3, 6, 12)
MOST_SETS = 1_000_000  # sets a month: more is a slip of the pen


class TrialState(StrEnum):
    """Whether a size can be said."""

    SAID = "said"
    NO_SHARE = "no_share"  # a share that is none, or 0 or 1
    NO_BENEFIT = "no_benefit"  # what is hoped for is as high as what is, or higher
    NO_SENSE = "no_sense"  # level, power, volume or number of units that cannot be
    ONE_UNIT = "one_unit"  # units are compared with units, and there is one
    FEW_UNITS = "few_units"  # no length of such a trial would do
    FEW_STEPS = "few_steps"  # steps need three units at least


@dataclass(frozen=True, kw_only=True)
class Needed:
    """Sets in each arm and the months that both arms together take at the local volume."""

    icc: float
    effect: float
    per_arm: int
    months: float


@dataclass(frozen=True, kw_only=True)
class Shorter:
    """A trial of ``months``: the highest share below the baseline that it tells from it, none where not even 0."""

    months: float
    per_arm: int
    found: float | None


@dataclass(frozen=True, kw_only=True)
class TrialReading:
    """Sizes per arm without clustering (real numbers; ``exact`` none where it was not computed), then with it.

    ``needed`` is at the assumed correlation, ``at_low`` and ``at_high`` at the ends of its range, each none where no
    length would do; ``least_units`` is how many units each arm needs at all (units compared with units only).
    """

    ask: TrialAsk
    state: TrialState
    uncorrected: float = math.nan
    corrected: float = math.nan
    arcsine: float = math.nan
    exact: int | None = None
    needed: Needed | None = None
    at_low: Needed | None = None
    at_high: Needed | None = None
    least_units: int | None = None
    shorter: tuple[Shorter, ...] = ()

    @property
    def months_each(self) -> float:
        """Months that one arm alone takes at the local volume, clustering not counted."""
        return math.ceil(self.uncorrected) / self.ask.per_month


def read_trial(ask: TrialAsk) -> TrialReading:
    """Everything that can be computed of a trial; ``state`` says where nothing can."""
    state = _state(ask)
    if state is not TrialState.SAID:
        return TrialReading(ask=ask, state=state)
    asked = {"level": ask.level, "power": ask.power}
    plain = uncorrected_size(ask.baseline, ask.expected, **asked)
    reading = TrialReading(
        ask=ask, state=state, uncorrected=plain, corrected=corrected_size(ask.baseline, ask.expected, **asked),
        arcsine=arcsine_size(ask.baseline, ask.expected, **asked),
        exact=fisher_size(ask.baseline, ask.expected, **asked) if plain <= MOST_EXACT else None,
        needed=_needed(ask, plain, icc=ask.icc), at_low=_needed(ask, plain, icc=ask.icc_range[0]),
        at_high=_needed(ask, plain, icc=ask.icc_range[1]),
        least_units=_least_units(ask, plain),
    )  # fmt: skip
    if reading.needed is None:
        return replace(reading, state=TrialState.FEW_UNITS)
    return replace(reading, shorter=_shorter(ask))


MOST_EXACT = 6_000  # sets per arm up to which the exact size takes well under a second


def _state(ask: TrialAsk) -> TrialState:
    if not 0 < ask.baseline < 1 or not 0 < ask.expected < 1:
        return TrialState.NO_SHARE
    if ask.expected >= ask.baseline:
        return TrialState.NO_BENEFIT
    sensible = (
        0 < ask.level < 1 and 0 < ask.power < 1 and 0 < ask.per_month <= MOST_SETS and ask.units >= 1
        and 0 <= ask.icc < 1 and 0 <= ask.kept <= 1 and ask.variation >= 0
        and 0 <= ask.icc_range[0] <= ask.icc_range[1] < 1 and (ask.months is None or 0 < ask.months <= 600)
    )  # fmt: skip
    if not sensible:
        return TrialState.NO_SENSE
    if ask.units < 2 and not ask.design.in_turns:
        return TrialState.ONE_UNIT
    if ask.units < LEAST_STEPS and ask.design is TrialDesign.STEPPED:
        return TrialState.FEW_STEPS
    return TrialState.SAID


def turn_days(design: TrialDesign) -> int:
    """How long one turn of a unit lasts."""
    return 1 if design is TrialDesign.DAYS else 7


def _needed(ask: TrialAsk, plain: float, *, icc: float) -> Needed | None:
    if ask.design.in_turns:
        effect = _turn_effect(ask, icc=icc)
        per_arm = plain * max(1.0, effect)
    elif ask.design is TrialDesign.STEPPED:
        sets = stepped_sets(ask, icc=icc, units=ask.units)
        if sets is None:
            return None
        per_arm, effect = max(plain, sets), max(1.0, sets / plain)
    else:
        found = size_with_units(plain, icc=icc, units=ask.units // 2, variation=ask.variation)
        if found is None:
            return None
        per_arm, effect = max(plain, found), max(1.0, found / plain)
    whole = math.ceil(per_arm - 1e-9)
    return Needed(icc=icc, effect=max(1.0, effect), per_arm=whole, months=2 * whole / ask.per_month)


def _least_units(ask: TrialAsk, plain: float) -> int | None:
    """How many units each arm needs at all; in steps how many take part. None where units are not compared."""
    if ask.design.in_turns:
        return None
    if ask.design is TrialDesign.PARALLEL:
        return units_needed(plain, icc=ask.icc, variation=ask.variation)
    return least_steps(ask)


def _turn_effect(ask: TrialAsk, *, icc: float) -> float:
    in_turn = ask.per_month / ask.units * turn_days(ask.design) / DAYS_IN_MONTH
    return alternation_effect(icc, size=max(1.0, in_turn), kept=ask.kept)


def _shorter(ask: TrialAsk) -> tuple[Shorter, ...]:
    """What trials of a quarter, half a year, a year, and as long as was asked, could find."""
    lengths = sorted({*SHORTER_MONTHS, *([ask.months] if ask.months else [])})
    found = []
    for months in lengths:
        per_arm = ask.per_month * months / 2
        if ask.design is TrialDesign.STEPPED:
            found.append(Shorter(months=float(months), per_arm=math.floor(per_arm), found=stepped_found(ask, per_arm)))
            continue
        if ask.design.in_turns:
            effect = _turn_effect(ask, icc=ask.icc)
        else:
            effect = design_effect(ask.icc, size=max(1.0, per_arm / (ask.units // 2)), variation=ask.variation)
        share = smallest_found(ask.baseline, size=per_arm / max(1.0, effect), level=ask.level, power=ask.power)
        found.append(Shorter(months=float(months), per_arm=math.floor(per_arm), found=share))
    return tuple(found)
