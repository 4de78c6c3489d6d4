"""From millilitres to millimetres on a bottle, and from grams to millilitres on a balance.

Geometry of a straight cylinder; a bottle's shoulder is outside it. Weighing: volume = (gross − tare) / density, with
the doubt of the tare carried through, because empty bottles differ by grams (J Test Eval 40(4):655: up to 12 g within a
family).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import pi, radians, sqrt, tan

from cubital.domain.cultures import BottleKind
from cubital.domain.errors import RequestProblem

BLOOD_DENSITY_G_ML = 1.055  # whole blood, 1.055–1.060 g/mL rising with haematocrit (physiology texts; from memory)


def mm_per_ml(bore_mm: float) -> float:
    """How far one millilitre raises the level in a bottle of that inner diameter, standing upright."""
    if not 0 < bore_mm < 1000:
        raise RequestProblem(f"a bore of {bore_mm:g} mm cannot be.", fix="Give the inner diameter in mm.")
    return 1000 / (pi * (bore_mm / 2) ** 2)


def level_mm(volume_ml: float, *, bore_mm: float) -> float:
    """Where to stop, in mm above the level before the draw."""
    return volume_ml * mm_per_ml(bore_mm)


def tilt_error_ml(bore_mm: float, *, tilt_degrees: float) -> float:
    """How far one edge of the level misleads on a tilted bottle, in mL either way; both edges averaged cancel it."""
    if not 0 <= tilt_degrees < 90:
        raise RequestProblem(f"a tilt of {tilt_degrees:g}° cannot be.", fix="Give 0 (upright) to below 90 degrees.")
    return bore_mm / 2 * tan(radians(tilt_degrees)) / mm_per_ml(bore_mm)


class TareKind(StrEnum):
    """Where the empty weight comes from: this very bottle, its lot, or a catalogue."""

    BOTTLE = "bottle"
    LOT = "lot"
    CATALOGUE = "catalogue"


# Standard deviations of a tare in grams: a bench balance; bottles of one lot (example of the story's lots); and a
# spread of 12 g read as four standard deviations for a whole family (J Test Eval 40(4):655).
DEFAULT_TARE_SD_G = {TareKind.BOTTLE: 0.05, TareKind.LOT: 1.8, TareKind.CATALOGUE: 3.0}
PRACTICALLY_EMPTY_ML = 0.5
BEYOND_ANY_BOTTLE = 4  # times the policy's maximum: 716 typed for 71.6 (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Weighing:
    """One bottle on the balance: weights in grams. ``accession`` ties the bottles of one set."""

    accession: str
    bottle: str
    gross_g: float
    tare_g: float
    kind: BottleKind | None = None  # none where nobody said


class FillFlag(StrEnum):
    UNDER = "under"
    WITHIN = "within"
    OVER = "over"
    EMPTY = "empty"  # practically empty, or the wrong tare
    IMPOSSIBLE = "impossible"  # lighter than its tare, or more than any bottle holds: a weight is wrong


@dataclass(frozen=True, kw_only=True)
class Fill:
    """The blood in one bottle: mL, its standard deviation from tare and balance, and what to say of it."""

    accession: str
    bottle: str
    volume_ml: float
    sd_ml: float
    flag: FillFlag
    kind: BottleKind | None = None


def weigh_bottles(
    weighings: Sequence[Weighing],
    *,
    low_ml: float,
    high_ml: float,
    tare_sd_g: float,
    density_g_ml: float = BLOOD_DENSITY_G_ML,
) -> tuple[Fill, ...]:
    """The fill of each bottle in the order given; ``low_ml`` and ``high_ml`` are the policy's limits."""
    if not 0.9 <= density_g_ml <= 1.2:
        raise RequestProblem(f"a density of {density_g_ml:g} g/mL is not blood.", fix="Whole blood is about 1.055.")
    fills = []
    for weighing in weighings:
        volume = (weighing.gross_g - weighing.tare_g) / density_g_ml
        fills.append(
            Fill(
                accession=weighing.accession,
                bottle=weighing.bottle,
                volume_ml=volume,
                sd_ml=tare_sd_g / density_g_ml,
                flag=_flag(volume, low_ml=low_ml, high_ml=high_ml),
                kind=weighing.kind,
            )
        )
    return tuple(fills)


def _flag(volume_ml: float, *, low_ml: float, high_ml: float) -> FillFlag:
    if volume_ml < -PRACTICALLY_EMPTY_ML or volume_ml > BEYOND_ANY_BOTTLE * high_ml:
        return FillFlag.IMPOSSIBLE
    if volume_ml < PRACTICALLY_EMPTY_ML:
        return FillFlag.EMPTY
    if volume_ml < low_ml:
        return FillFlag.UNDER
    return FillFlag.OVER if volume_ml > high_ml else FillFlag.WITHIN


def mean_fill_sd(fills: Sequence[Fill], *, shared_tare: bool) -> float:
    """The standard deviation of the mean fill that comes from weighing alone, in mL.

    Tares that vary from bottle to bottle average out (``shared_tare`` false); an error in one shared tare does not.
    None of it is the variation between draws. At least one fill.
    """
    if not fills:
        raise RequestProblem("there is no weighed bottle.", fix="Weigh at least one.")
    if shared_tare:
        return max(fill.sd_ml for fill in fills)
    return sqrt(sum(fill.sd_ml**2 for fill in fills)) / len(fills)


def set_totals(fills: Sequence[Fill]) -> tuple[tuple[str, float], ...]:
    """mL of each set in the order of first appearance."""
    totals: dict[str, float] = {}
    for fill in fills:
        totals[fill.accession] = totals.get(fill.accession, 0.0) + fill.volume_ml
    return tuple(totals.items())
