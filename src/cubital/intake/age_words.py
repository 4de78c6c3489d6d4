"""Ages as they are written: ``45``, ``45 Y``, ``3 M``, ``10 days``, ``>89``."""

from __future__ import annotations

import re

from cubital.domain.cultures import AgeGroup
from cubital.intake.headers import tidy_header

_YEARS_PER = {
    "y": 1.0,
    "a": 1.0,
    "j": 1.0,
    "m": 1 / 12,
    "w": 1 / 52.18,
    "s": 1 / 52.18,
    "d": 1 / 365.25,
    "h": 1 / 8766,
    "t": 1 / 365.25,
}
_BOUNDS = (
    (1, AgeGroup.UNDER_1),
    (18, AgeGroup.FROM_1_TO_17),
    (65, AgeGroup.FROM_18_TO_64),
    (80, AgeGroup.FROM_65_TO_79),
    (121, AgeGroup.FROM_80),
)  # fmt: skip


def read_age(text: str) -> AgeGroup:
    """The age group of one age cell; years unless a unit is marked; unknown when it cannot be read or exceeds 120."""
    years = age_in_years(text)
    if years is None or years < 0:
        return AgeGroup.UNKNOWN
    return next((group for bound, group in _BOUNDS if years < bound), AgeGroup.UNKNOWN)


def age_in_years(text: str) -> float | None:
    """Years as a number; ``5y3m`` is 5.25; none for text that is no age."""
    plain = text.strip().casefold().replace(",", ".")
    bare = re.fullmatch(r"[<>≥≤=+ ]*(\d{1,3}(\.\d+)?)\s*\+?", plain)
    if bare:
        return float(bare.group(1))
    parts = re.findall(r"(\d+(?:\.\d+)?)\s*([a-zñ]+)", plain)
    if not parts or tidy_header(re.sub(r"(\d+(?:\.\d+)?)\s*([a-zñ]+)", "", plain)):
        return None
    units = [(float(number), _YEARS_PER.get(unit[0])) for number, unit in parts]
    if any(factor is None for _number, factor in units):
        return None
    return sum(number * (factor or 0.0) for number, factor in units)
