"""Whether a weight is plausible for an age, from the public growth references of the World Health Organization.

It decides nothing about a child: it only asks again where a weight was surely mistyped or in the wrong unit. The
limits are those at which growth surveys set a record aside as implausible: weight for age below −6 or above +5
standard deviations (WHO Anthro manual; from memory).
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

LOWEST_Z = -6.0
HIGHEST_Z = 5.0
LAST_MONTH = 120  # the 2007 reference ends at ten years; weight for age is not published beyond


@dataclass(frozen=True)
class WeightRange:
    """The plausible weights of an age in kilograms, over both sexes."""

    low_kg: float
    high_kg: float


def weight_at(z: float, *, power: float, median: float, spread: float) -> float:
    """The weight (kg) at a z-score by Cole's LMS method (Stat Med 1992;11:1305–1319)."""
    if abs(power) < 1e-9:
        from math import exp

        return median * exp(spread * z)
    return float(median * (1 + power * spread * z) ** (1 / power))


@lru_cache
def _monthly_ranges() -> tuple[WeightRange, ...]:
    lows: dict[int, float] = {}
    highs: dict[int, float] = {}
    text = (resources.files("cubital.reference") / "data" / "weight_for_age.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    for row in rows:
        month = int(row["month"])
        curve = {"power": float(row["l"]), "median": float(row["m"]), "spread": float(row["s"])}
        lows[month] = min(lows.get(month, 1e9), weight_at(LOWEST_Z, **curve))
        highs[month] = max(highs.get(month, 0.0), weight_at(HIGHEST_Z, **curve))
    return tuple(WeightRange(lows[month], highs[month]) for month in sorted(lows))


def plausible_weight(age_months: float) -> WeightRange | None:
    """The plausible range at that age (whole months, rounded down); none beyond ten years."""
    month = int(age_months)
    return _monthly_ranges()[month] if 0 <= month <= LAST_MONTH else None
