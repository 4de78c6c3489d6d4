"""A small invented network written for tests: two hospitals, units with known counts, some units with few of them.

Every patient has two sets an hour apart; a contaminated one grows a skin organism beside an empty partner, so that a
unit's contaminated sets are exactly those that were asked for.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

HEADER = ["Accession", "Patient No", "Birth", "Ward", "Collected", "Received", "Collector", "Status", "Organism"]
MARROWBY, THISTLECOMBE = "Marrowby General", "Thistlecombe Community"
MONTHS = tuple(f"{2025 + (place // 12)}-{place % 12 + 1:02d}" for place in range(12))


@dataclass(frozen=True, kw_only=True)
class WorldUnit:
    """``pairs`` patients a month and ``contaminated`` of their sets, by month; ``hours`` when they are drawn."""

    ward: str
    pairs: int
    contaminated: tuple[int, ...]
    hour: int = 10
    collectors: int = 6


USUAL = (1, 0, 1, 1, 0, 1, 1, 0, 1, 1, 0, 1)
UNITS = {
    MARROWBY: (
        # Sets and contaminated sets over the year: ED 960 and 60, of these 40 before July.
        WorldUnit(ward="ED", pairs=40, contaminated=(7, 6, 7, 6, 7, 7, 3, 4, 3, 3, 4, 3)),
        WorldUnit(ward="ICU", pairs=25, contaminated=USUAL),
        WorldUnit(ward="3 North", pairs=25, contaminated=USUAL),
        WorldUnit(ward="Dialysis", pairs=10, contaminated=(0, 0, 1, 0, 0, 1, 0, 0, 0, 0, 0, 0)),
        WorldUnit(ward="Clinic", pairs=15, contaminated=USUAL, collectors=1),
    ),
    THISTLECOMBE: (
        WorldUnit(ward="Medical", pairs=25, contaminated=USUAL, hour=15),
        WorldUnit(ward="Surgical", pairs=25, contaminated=USUAL, hour=15),
    ),
}


def write_network(folder: Path) -> dict[str, Path]:
    """One file per hospital."""
    found = {}
    for facility, units in UNITS.items():
        found[facility] = folder / f"{facility.split()[0].lower()}.csv"
        with found[facility].open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(HEADER)
            writer.writerows(_rows(units))
    return found


def _rows(units: tuple[WorldUnit, ...]) -> list[list[str]]:
    rows: list[list[str]] = []
    for unit in units:
        for month, contaminated in zip(MONTHS, unit.contaminated, strict=True):
            for pair in range(unit.pairs):
                rows += _pair_rows(unit, month, pair, hit=pair < contaminated, first=len(rows))
    return rows


def _pair_rows(unit: WorldUnit, month: str, pair: int, *, hit: bool, first: int) -> list[list[str]]:
    year, number = (int(part) for part in month.split("-"))
    at = datetime(year, number, pair % 28 + 1, unit.hour, 10)  # noqa: DTZ001 - a laboratory writes local time
    patient, collector = f"P{unit.ward[:3]}{month}{pair}", f"{unit.ward[:2]}{pair % unit.collectors}"
    return [
        [
            f"A{first + place:06d}", patient, "1957-04-09", unit.ward, f"{at + timedelta(hours=place):%Y-%m-%d %H:%M}",
            f"{at + timedelta(hours=place, minutes=35):%Y-%m-%d %H:%M}", collector, "F",
            "Staphylococcus epidermidis" if hit and not place else "No growth",
        ]
        for place in range(2)
    ]  # fmt: skip


def sets_of(facility: str, ward: str) -> tuple[int, int]:
    """Contaminated sets and sets of a unit over the year."""
    unit = next(one for one in UNITS[facility] if one.ward == ward)
    return sum(unit.contaminated), 2 * unit.pairs * len(MONTHS)
