"""What goes wrong between the bedside and the file: renamed and mistaken units, damaged cells, corrections.

Damage that a reader cannot undo is put only where it leaves the emergency department's fixed series alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from cubital.workspace.demo.draws import Damage, Draw
from cubital.workspace.demo.people import Random
from cubital.workspace.demo.world import EMERGENCY, MARROWBY, Hospital

MISTAKEN_UNIT_SHARE = 0.04  # sets of units that patients leave early, written under the ward they lay in later
LEFT_EARLY = {"ICU": "3 NORTH MED", "STEPDOWN": "TELEMETRY"}
CORRECTED_MONTHS = ((2026, 1), (2026, 2))
CORRECTIONS = 14
AMENDED_MONTH = (2025, 2)  # of Marrowby alone: its first pack before a committee speaks of it
AMENDED = 4


@dataclass(frozen=True, kw_only=True)
class Stay:
    """A patient's stay in a unit, as the ward movements file lists it."""

    patient: int
    unit: str
    arrived: datetime
    left: datetime


def spoil(draws: Sequence[Draw], hospital: Hospital, *, seed: int) -> list[Stay]:
    """Spoils what the file will say about the draws, in place; gives back the stays that put units right."""
    random = np.random.default_rng([seed, ord(hospital.key)])
    sizes = Counter(draw.episode for draw in draws)
    for draw in draws:
        _rename(draw, hospital)
    valid = [draw for draw in draws if not draw.call_off]
    quiet = [d for d in valid if sizes[d.episode] == 1 and not d.organisms and d.unit is not EMERGENCY]
    _damage(random, [draw for draw in quiet if draw.local.year < 2026], Damage.ACCESSION, 9)
    _damage(random, quiet, Damage.TIME, 24)
    _damage(random, valid, Damage.BIRTH, 15)
    for draw in _damage(random, valid, Damage.LATE_TIME, 110):
        _print_label_late(random, draw)
    _correct(random, draws)
    if hospital is MARROWBY:
        _amend_late(draws)
    return _mistake_units(random, draws)


def _rename(draw: Draw, hospital: Hospital) -> None:
    change = hospital.renaming
    if change and draw.unit.label == change.old and draw.local.date() >= change.on:
        draw.stated_unit = change.new


def _damage(random: Random, draws: Sequence[Draw], kind: Damage, count: int) -> list[Draw]:
    """Marks ``count`` undamaged draws; adults' birth dates only, so that a placeholder changes no one's ward."""
    fit = [d for d in draws if d.damage is None and not (kind is Damage.BIRTH and d.unit.children)]
    chosen = [fit[place] for place in random.choice(len(fit), size=min(count, len(fit)), replace=False)] if fit else []
    for draw in chosen:
        draw.damage = kind
        if kind is Damage.TIME:
            draw.stated_collected = None
    return chosen


def _print_label_late(random: Random, draw: Draw) -> None:
    """The time of the label's printing stands in for the collection: after receipt, but on the same day."""
    late = draw.received + timedelta(minutes=int(random.integers(3, 50)))
    if late.astimezone(draw.local.tzinfo).date() == draw.local.date():
        draw.stated_collected = late
    else:
        draw.damage = None


def _correct(random: Random, draws: Sequence[Draw]) -> None:
    """Some growths of the last closed months were first reported as something else."""
    grown = [
        draw for draw in draws
        if draw.organisms and draw.infected and (draw.local.year, draw.local.month) in CORRECTED_MONTHS
    ]  # fmt: skip
    for place in random.permutation(len(grown))[:CORRECTIONS]:
        grown[place].first_report = ("Staphylococcus, coagulase-negative",)


def _amend_late(draws: Sequence[Draw]) -> None:
    """Some growths of a month long closed are amended much later, after a committee has seen their month.

    The first of the month are taken, not drawn ones, so that nothing else of the world changes by it.
    """
    grown = [
        draw for draw in draws
        if draw.organisms and draw.infected and (draw.local.year, draw.local.month) == AMENDED_MONTH
        and draw.first_report is None
    ]  # fmt: skip
    for draw in grown[:AMENDED]:
        draw.first_report = ("Staphylococcus, coagulase-negative",)


def _mistake_units(random: Random, draws: Sequence[Draw]) -> list[Stay]:
    """The file names the later ward for some sets; the ward movements know where the patient was."""
    stays = []
    for draw in draws:
        later = LEFT_EARLY.get(draw.unit.label)
        if later is None or draw.call_off or draw.stated_collected is None:
            continue
        if random.random() < MISTAKEN_UNIT_SHARE:
            draw.stated_unit = later
            left = draw.collected + timedelta(hours=int(random.integers(6, 40)))
            arrived = draw.collected - timedelta(hours=int(random.integers(3, 50)))
            stays.append(Stay(patient=draw.patient, unit=draw.unit.label, arrived=arrived, left=left))
            stays.append(Stay(patient=draw.patient, unit=later, arrived=left, left=left + timedelta(hours=70)))
    return stays


def as_first_reported(draw: Draw, file_ends: date) -> tuple[str, ...]:
    """What a file closed after ``file_ends`` says grew: the first report where a correction came later."""
    if draw.first_report is not None and draw.local.date() <= file_ends:
        return draw.first_report
    return tuple(draw.organisms)
