"""The invented Vellorin Health Network: its three hospitals, their units, and what is true about each.

Nothing here describes a real place. Rates, shares and minutes are made up to be plausible; where a factor was taken
from a published study the study stands beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

FIRST_MONTH = "2024-04"
LAST_MONTH = "2026-03"
TIMEZONE = "America/Chicago"
DEFAULT_SEED = 2

# The emergency department's two years are fixed, so that every page about them can be checked by hand.
EMERGENCY_SETS = (
    472, 455, 503, 481, 490, 466, 512, 498, 477, 489, 505, 460,
    468, 483, 495, 474, 509, 487, 492, 470, 499, 481, 476, 498,
)  # fmt: skip
EMERGENCY_CONTAMINATED = (
    14, 10, 9, 11, 18, 15, 6, 10, 10, 19, 12, 9,
    16, 17, 11, 11, 16, 10, 16, 12, 14, 17, 6, 19,
)  # fmt: skip

NIGHT_FACTOR = 1.25  # invented
WEEKEND_FACTOR = 1.36  # odds ratio in one large series, doi 10.1017/ice.2025.44; used here as a ratio of chances
LINE_FACTOR = 1.83  # relative risk, peripheral cannula against venepuncture, PMC5242221


@dataclass(frozen=True, kw_only=True)
class Unit:
    """One collecting unit. Shares and chances run from 0 to 1.

    ``label`` is how the laboratory's file writes it. ``monthly_sets`` is the size of a usual month.
    ``contamination`` is the chance per set by day, on a weekday, from a fresh venepuncture, with the average
    collector; ``bacteraemia`` the chance per episode. ``single_share`` is the share of episodes with one set,
    ``to_laboratory`` the median minutes from collection to receipt, ``named`` the share of sets whose collector can
    be told from the file. ``people`` is how many collect there.
    """

    label: str
    monthly_sets: int
    contamination: float = 0.02
    bacteraemia: float = 0.06
    single_share: float = 0.15
    line_share: float = 0.08
    both_bottles: float = 0.94
    to_laboratory: float = 65.0
    named: float = 0.7
    people: int = 18
    night_share: float = 0.35
    children: bool = False


@dataclass(frozen=True, kw_only=True)
class Renaming:
    """A unit that was called ``old`` until the day before ``on``."""

    old: str
    new: str
    on: date


@dataclass(frozen=True, kw_only=True)
class Hospital:
    """One hospital: ``name`` as the workspace calls it, ``full_name`` as a letterhead does."""

    key: str
    name: str
    full_name: str
    units: tuple[Unit, ...]
    first_accession: int = 240_400_001
    first_patient: int = 700_001
    renaming: Renaming | None = None


EMERGENCY = Unit(
    label="Emergency", monthly_sets=485, contamination=0.026, bacteraemia=0.05, single_share=0.17, line_share=0.22,
    both_bottles=0.92, to_laboratory=48.0, named=0.63, people=60, night_share=0.42,
)  # fmt: skip

MARROWBY = Hospital(
    key="M",
    name="Marrowby",
    full_name="Marrowby General",
    renaming=Renaming(old="5 WEST", new="5W-MED ONC", on=date(2025, 10, 15)),
    units=(
        EMERGENCY,
        Unit(label="ICU", monthly_sets=170, contamination=0.016, bacteraemia=0.09, line_share=0.35, single_share=0.08),
        Unit(label="5 WEST", monthly_sets=120, contamination=0.018, bacteraemia=0.10, line_share=0.40),
        Unit(label="4 EAST SURG", monthly_sets=110, contamination=0.021, single_share=0.22),
        Unit(label="3 NORTH MED", monthly_sets=160, contamination=0.019, to_laboratory=74.0),
        Unit(label="STEPDOWN", monthly_sets=110, contamination=0.017, to_laboratory=58.0),
        Unit(label="TELEMETRY", monthly_sets=130, contamination=0.014, single_share=0.12),
        Unit(label="DIALYSIS", monthly_sets=60, contamination=0.024, line_share=0.80, night_share=0.02, people=8),
        Unit(label="INFUSION CLINIC", monthly_sets=40, line_share=0.70, single_share=0.45, night_share=0.0, people=6),
        Unit(label="MATERNITY", monthly_sets=35, contamination=0.012, single_share=0.30, bacteraemia=0.03),
        Unit(label="SHORT STAY", monthly_sets=70, contamination=0.023, single_share=0.35, to_laboratory=92.0),
        Unit(label="PEDS", monthly_sets=15, contamination=0.030, single_share=0.85, children=True, people=7),
    ),
)

THISTLECOMBE = Hospital(
    key="T",
    name="Thistlecombe",
    full_name="Thistlecombe Community",
    units=(
        Unit(label="A&E", monthly_sets=240, contamination=0.034, single_share=0.28, to_laboratory=55.0, people=30),
        Unit(label="Medical", monthly_sets=160, contamination=0.022, single_share=0.33, to_laboratory=120.0, people=22),
        Unit(label="Surgical", monthly_sets=60, contamination=0.020, single_share=0.36, to_laboratory=130.0),
        Unit(label="High Dependency", monthly_sets=50, contamination=0.015, bacteraemia=0.09, line_share=0.30),
        Unit(label="Rehabilitation", monthly_sets=20, contamination=0.026, to_laboratory=210.0, people=9),
        Unit(label="Maternity", monthly_sets=20, contamination=0.011, bacteraemia=0.03, people=9),
    ),
)

ORRIN_QUAY = Hospital(
    key="O",
    name="Orrin Quay",
    full_name="Orrin Quay Children's",
    units=(
        Unit(label="Emergency", monthly_sets=130, contamination=0.032, bacteraemia=0.03,
             single_share=0.88, children=True, people=26),
        Unit(label="Neonatal Intensive Care", monthly_sets=80, contamination=0.022, single_share=0.82,
             line_share=0.30, children=True),
        Unit(label="Paediatric Intensive Care", monthly_sets=70, contamination=0.017, bacteraemia=0.07,
             single_share=0.55, line_share=0.45, children=True),
        Unit(label="Oncology", monthly_sets=90, contamination=0.014, bacteraemia=0.09,
             single_share=0.40, line_share=0.85, children=True),
        Unit(label="Medical", monthly_sets=60, contamination=0.021, single_share=0.86, children=True),
        Unit(label="Infant Unit", monthly_sets=24, contamination=0.020, single_share=0.90, children=True, people=9),
        Unit(label="Stepdown", monthly_sets=18, single_share=0.80, children=True, people=9),
    ),
)  # fmt: skip

HOSPITALS = (MARROWBY, THISTLECOMBE, ORRIN_QUAY)


def months_of_the_world() -> tuple[str, ...]:
    """Every month of the world in order, as ``YYYY-MM``."""
    year, number = map(int, FIRST_MONTH.split("-"))
    found = []
    while (month := f"{year}-{number:02d}") <= LAST_MONTH:
        found.append(month)
        year, number = (year + 1, 1) if number == 12 else (year, number + 1)
    return tuple(found)
