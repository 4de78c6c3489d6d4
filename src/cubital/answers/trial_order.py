"""Who begins when: an order drawn with a seed that stands on the paper, so that anyone can draw it again.

Nothing here depends on a computer's own generator: every draw is the SHA-256 of the seed and of what is drawn for.
Units that are compared with units are put in pairs of like size first; turns are balanced in pairs of weeks, days
within their weekday.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cubital.domain.trial import Stretch, TrialDesign

WEEK = timedelta(days=7)
MOST_WEEKS = 156
LEAST_UNITS = {TrialDesign.WEEKS: 1, TrialDesign.DAYS: 1, TrialDesign.PARALLEL: 2, TrialDesign.STEPPED: 2}


@dataclass(frozen=True, kw_only=True)
class TrialUnit:
    """One unit that may take part; ``sets`` a month say how large it is, ``place`` is the unit in words."""

    facility: str
    unit: str
    place: str
    sets: float = 0.0

    @property
    def key(self) -> str:
        """What is drawn for."""
        return f"{self.facility}|{self.unit}"


def draw_order(
    units: Sequence[TrialUnit], *, design: TrialDesign, start: date, weeks: int, seed: int
) -> tuple[Stretch, ...]:
    """The stretches of every unit from ``start`` for ``weeks`` weeks, by unit and day.

    The same units in any order, with the same seed, give the same stretches. ``ValueError`` where a unit comes twice,
    where there are too few units or weeks for the design (two units for comparing units, two weeks for turns, one week
    more than units for steps), or more than ``MOST_WEEKS``.
    """
    if len({unit.key for unit in units}) != len(units) or len(units) < LEAST_UNITS[design]:
        raise ValueError("units stand twice, or there are too few of them for this design")
    least = len(units) + 1 if design is TrialDesign.STEPPED else 2
    if not least <= weeks <= MOST_WEEKS:
        raise ValueError(f"this design takes {least} to {MOST_WEEKS} weeks")
    draw = {
        TrialDesign.WEEKS: _week_turns, TrialDesign.DAYS: _day_turns, TrialDesign.PARALLEL: _parallel,
        TrialDesign.STEPPED: _steps,
    }[design]  # fmt: skip
    found = draw(sorted(units, key=lambda unit: unit.key), start=start, weeks=weeks, seed=seed)
    return tuple(sorted(found, key=lambda one: (one.facility, one.unit, one.first)))


def _week_turns(units: Sequence[TrialUnit], *, start: date, weeks: int, seed: int) -> list[Stretch]:
    found = []
    for unit in units:
        for week in range(weeks):
            arm = _coin(seed, unit.key, f"weeks {week // 2}") ^ (week % 2)
            first = start + week * WEEK
            found.append(_stretch(unit, first=first, last=first + WEEK - timedelta(days=1), arm=arm))
    return found


def _day_turns(units: Sequence[TrialUnit], *, start: date, weeks: int, seed: int) -> list[Stretch]:
    found = []
    for unit in units:
        for day in range(7 * weeks):
            week = day // 7
            arm = _coin(seed, unit.key, f"weeks {week // 2} day {day % 7}") ^ (week % 2)
            on = start + timedelta(days=day)
            found.append(_stretch(unit, first=on, last=on, arm=arm))
    return found


def _parallel(units: Sequence[TrialUnit], *, start: date, weeks: int, seed: int) -> list[Stretch]:
    last = start + weeks * WEEK - timedelta(days=1)
    by_size = sorted(units, key=lambda unit: (-unit.sets, unit.key))
    arms = {}
    for place, unit in enumerate(by_size):
        pair = by_size[place - place % 2].key
        arms[unit.key] = _coin(seed, pair, "pair") ^ (place % 2)
    return [_stretch(unit, first=start, last=last, arm=arms[unit.key]) for unit in units]


def _steps(units: Sequence[TrialUnit], *, start: date, weeks: int, seed: int) -> list[Stretch]:
    """All begin as usual; the weeks are split as evenly as whole weeks can be into one step more than units."""
    last = start + weeks * WEEK - timedelta(days=1)
    order = sorted(units, key=lambda unit: _drawn(seed, unit.key, "step"))
    found = []
    for place, unit in enumerate(order, start=1):
        step = start + (place * weeks // (len(order) + 1)) * WEEK
        found.append(_stretch(unit, first=start, last=step - timedelta(days=1), arm=0))
        found.append(_stretch(unit, first=step, last=last, arm=1))
    return found


def _stretch(unit: TrialUnit, *, first: date, last: date, arm: int) -> Stretch:
    return Stretch(facility=unit.facility, unit=unit.unit, place=unit.place, first=first, last=last, arm=arm)


def _drawn(seed: int, key: str, what: str) -> str:
    return hashlib.sha256(f"{seed}|{what}|{key}".encode()).hexdigest()


def _coin(seed: int, key: str, what: str) -> int:
    return int(_drawn(seed, key, what)[:2], 16) & 1
