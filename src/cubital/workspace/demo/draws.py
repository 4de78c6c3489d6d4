"""Draws the two years: who was cultured where and when, by whom, and what grew.

Everything comes from one seed. The emergency department's months are not left to chance: the number of sets and
the number that the default charter counts as contaminated are the ones that ``world`` fixes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

import numpy as np

from cubital.workspace.demo.organisms import COMMENSALS, PATHOGENS, Grower
from cubital.workspace.demo.people import Person, Random, Team, build_team, name_in_file
from cubital.workspace.demo.world import (
    EMERGENCY,
    EMERGENCY_CONTAMINATED,
    EMERGENCY_SETS,
    HOSPITALS,
    LINE_FACTOR,
    NIGHT_FACTOR,
    TIMEZONE,
    WEEKEND_FACTOR,
    Hospital,
    Unit,
    months_of_the_world,
)

LOCAL = ZoneInfo(TIMEZONE)
CLOCK_BACK = {  # the moment at which the clock goes back from 02:00 to 01:00 in the network's time zone
    "2024-11": datetime(2024, 11, 3, 7, tzinfo=UTC),
    "2025-11": datetime(2025, 11, 2, 7, tzinfo=UTC),
}
RETURN_SHARE = 0.12  # episodes of a patient seen in an earlier month
FOLLOW_UP_SHARE = 0.30  # true bacteraemias on wards that are cultured again some days later
CALL_OFF_SHARE = 0.012  # specimens that the laboratory cancels or rejects, on top of the valid ones
COMMENSAL_INFECTION_SHARE = 0.06  # true bacteraemias with an organism of the commensal list


class Damage(StrEnum):
    """What the spreadsheet between laboratory and educator did to a row."""

    ACCESSION = "accession"  # a long number became 2.40E+08
    BIRTH = "birth"  # the placeholder of the first of January 1900
    TIME = "time"  # the collection time is empty
    LATE_TIME = "late_time"  # the time is that of the label's printing, after receipt


@dataclass(slots=True, kw_only=True)
class Draw:
    """One set as it truly was, and what the laboratory's file says about unit and collector.

    ``contaminated`` is the truth; whether a charter counts the set is another matter. ``organisms`` are names of
    ``organisms.GROWERS``. ``call_off`` is the reason of a cancelled or rejected specimen. ``stated_collected`` is the
    collection time as the file has it, none where the field is empty; ``first_report`` what an earlier file said grew,
    where a later file corrects it.
    """

    hospital: Hospital
    unit: Unit
    patient: int
    born: date
    collected: datetime
    received: datetime
    line: bool
    person: Person
    collector_text: str
    bottles: tuple[str, ...]
    episode: int
    organisms: list[str] = field(default_factory=list)
    contaminated: bool = False
    infected: bool = False
    call_off: str = ""
    accession: int = 0
    stated_unit: str = ""
    stated_collected: datetime | None = None
    damage: Damage | None = None
    first_report: tuple[str, ...] | None = None

    @property
    def local(self) -> datetime:
        """The wall clock at collection."""
        return self.collected.astimezone(LOCAL)


@dataclass(slots=True)
class _Register:
    """Patients seen so far in one hospital: those who may return, and the next new number.

    A patient rests for a whole month before a return, so that two episodes never fall into one series.
    """

    next_patient: int
    may_return: list[tuple[int, date]] = field(default_factory=list)
    last_month: list[tuple[int, date]] = field(default_factory=list)
    this_month: list[tuple[int, date]] = field(default_factory=list)

    def admit(self, random: Random, unit: Unit, day: date) -> tuple[int, date]:
        """A patient for a new episode: mostly new, sometimes one of an earlier month and the same age class."""
        if self.may_return and random.random() < RETURN_SHARE:
            place = int(random.integers(len(self.may_return)))
            patient, born = self.may_return[place]
            if _belongs(born, day, unit):
                self.may_return[place] = self.may_return[-1]
                self.may_return.pop()
                self.this_month.append((patient, born))
                return patient, born
        self.next_patient += 1
        found = (self.next_patient, _birth(random, unit, day))
        self.this_month.append(found)
        return found

    def close_month(self) -> None:
        """Moves every patient one month on."""
        self.may_return += self.last_month
        self.last_month, self.this_month = self.this_month, []


def _belongs(born: date, day: date, unit: Unit) -> bool:
    """Whether someone of that age lies in such a unit; around the eighteenth birthday nobody lies anywhere."""
    days = (day - born).days
    return days < 6_500 if unit.children else days > 6_650


def _birth(random: Random, unit: Unit, day: date) -> date:
    if unit.children:
        days = int(random.gamma(1.1, 1400.0)) % (16 * 365)
        return day - timedelta(days=days + 1)
    years = 20 + 72 * float(random.beta(2.3, 1.5))
    return day - timedelta(days=int(years * 365.25))


def draw_world(seed: int) -> Iterator[list[Draw]]:
    """The draws of each hospital in the order of ``HOSPITALS``, in order of accession."""
    for place, hospital in enumerate(HOSPITALS):
        yield _draw_hospital(hospital, seed=seed, place=place)


def hospital_teams(hospital: Hospital, *, seed: int, place: int) -> list[Team]:
    """The people of each unit; ``place`` is the hospital's among ``HOSPITALS``."""
    random = np.random.default_rng([seed, place])
    return [
        build_team(random, unit, hospital_key=hospital.key, first_badge=7000 + 100 * number)
        for number, unit in enumerate(hospital.units)
    ]


def _draw_hospital(hospital: Hospital, *, seed: int, place: int) -> list[Draw]:
    teams = hospital_teams(hospital, seed=seed, place=place)
    register = _Register(next_patient=hospital.first_patient)
    found: list[Draw] = []
    for month_number, month in enumerate(months_of_the_world()):
        for number, (unit, team) in enumerate(zip(hospital.units, teams, strict=True)):
            block = np.random.default_rng([seed, place, month_number, number])
            found += UnitMonth(hospital, unit, team, month, month_number, register, block, len(found)).draws()
        register.close_month()
    found.sort(key=lambda draw: (draw.received, draw.collected))
    for number, draw in enumerate(found):
        draw.accession = hospital.first_accession + number
    return found


@dataclass(slots=True)
class UnitMonth:
    """One unit in one month: plans the episodes, lets things grow, adds what the laboratory called off."""

    hospital: Hospital
    unit: Unit
    team: Team
    month: str
    month_number: int
    register: _Register
    random: Random
    episode: int

    def draws(self) -> list[Draw]:
        """Every draw of the month with what grew in it; follow-up sets may fall into the next month."""
        episodes = [self._episode(size) for size in self._sizes()]
        for episode in episodes:
            if self.random.random() < self.unit.bacteraemia:
                self._infect(episode)
        if self.unit is EMERGENCY:
            self._visit_the_clock_change(episodes)
            self._contaminate_exactly(episodes, EMERGENCY_CONTAMINATED[self.month_number])
        else:
            self._contaminate_by_chance(episodes)
            episodes += self._follow_ups(episodes)
        valid = [draw for episode in episodes for draw in episode]
        return valid + self._called_off(len(valid))

    def _sizes(self) -> list[int]:
        """Sets per episode; the emergency department's add up to the fixed number of the month."""
        if self.unit is EMERGENCY:
            wanted = EMERGENCY_SETS[self.month_number]
        else:
            season = 1 + 0.08 * np.cos(2 * np.pi * (self.month_number - 9.5) / 12)
            wanted = int(self.random.poisson(self.unit.monthly_sets * season))
        shares = (self.unit.single_share, 0.97 - self.unit.single_share, 0.03)
        sizes: list[int] = []
        while (left := wanted - sum(sizes)) > 0:
            sizes.append(min(left, 1 + int(self.random.choice(3, p=shares))))
        return sizes

    def _start(self) -> datetime:
        """A moment of the month by the unit's day and night habits; the last hours of a month are left free."""
        year, number = map(int, self.month.split("-"))
        first = date(year, number, 1)
        days = ((first + timedelta(days=32)).replace(day=1) - first).days
        day = first + timedelta(days=int(self.random.integers(days)))
        if self.random.random() < self.unit.night_share:
            hour = int(self.random.choice((20, 21, 22, 0, 1, 2, 3, 4, 5, 6)))
        else:
            hour = int(self.random.integers(7, 20))
        wall = datetime(day.year, day.month, day.day, hour, int(self.random.integers(60)), tzinfo=LOCAL)
        if (wall + timedelta(hours=3)).month != number:
            wall -= timedelta(hours=4)
        return wall.astimezone(UTC)

    def _episode(self, size: int) -> list[Draw]:
        start = self._start()
        patient, born = self.register.admit(self.random, self.unit, start.astimezone(LOCAL).date())
        self.episode += 1
        return [
            self._draw(start + timedelta(minutes=offset), patient, born, wait=wait)
            for offset, wait in self._offsets(size)
        ]

    def _offsets(self, size: int) -> list[tuple[int, int]]:
        """Minutes from the first set, and from collection to receipt: sets of an episode mostly travel together."""
        gaps = np.cumsum(np.concatenate(([0], self.random.integers(5, 40, size - 1))))
        wait = 8 + self.random.gamma(3.0, (self.unit.to_laboratory - 8) / 2.67)  # a gamma's median is 2.67 scales
        arrival = max(int(wait), int(gaps[-1]) + 8)
        return [(int(gap), arrival - int(gap)) for gap in gaps]

    def _draw(self, collected: datetime, patient: int, born: date, *, wait: int) -> Draw:
        person = self.team.people[int(self.team.choose(self.random, 1)[0])]
        return Draw(
            hospital=self.hospital, unit=self.unit, patient=patient, born=born, collected=collected,
            received=collected + timedelta(minutes=wait), line=bool(self.random.random() < self.unit.line_share),
            person=person, collector_text=name_in_file(self.random, person, self.unit), bottles=self._bottles(),
            episode=self.episode, stated_unit=self.unit.label, stated_collected=collected,
        )  # fmt: skip

    def _bottles(self) -> tuple[str, ...]:
        if self.unit.children:
            return ("PED",)
        if self.random.random() < self.unit.both_bottles:
            return ("AER", "ANA")
        return ("AER",) if self.random.random() < 0.9 else ("ANA",)

    def _visit_the_clock_change(self, episodes: Sequence[Sequence[Draw]]) -> None:
        """Moves two pairs into the hour that the clock repeats: one on each side of the change."""
        if self.month not in CLOCK_BACK:
            return
        pairs = [episode for episode in episodes if len(episode) == 2]
        for pair, minutes, wait in zip(pairs, (-20, 5), (30, 43), strict=False):
            for draw, gap in zip(pair, (0, 10), strict=True):
                draw.collected = draw.stated_collected = CLOCK_BACK[self.month] + timedelta(minutes=minutes + gap)
                draw.received = CLOCK_BACK[self.month] + timedelta(minutes=minutes + 10 + wait)

    def _pick(self, growers: Sequence[Grower]) -> Grower:
        weights = np.array([grower.weight for grower in growers])
        return growers[int(self.random.choice(len(growers), p=weights / weights.sum()))]

    def _infect(self, episode: list[Draw]) -> None:
        """A true bacteraemia. One by a commensal grows in every set, as such infections are proven that way."""
        commensal = len(episode) > 1 and self.random.random() < COMMENSAL_INFECTION_SHARE
        grower = self._pick(COMMENSALS[:5] if commensal else PATHOGENS)
        grows = self.random.random(len(episode)) < (1.0 if commensal else 0.88)
        grows[int(self.random.integers(len(episode)))] = True
        for draw, positive in zip(episode, grows, strict=True):
            draw.infected = True
            if positive:
                draw.organisms.append(grower.name)

    def _chance(self, draw: Draw) -> float:
        wall = draw.local
        chance = self.unit.contamination * draw.person.care
        chance *= NIGHT_FACTOR if wall.hour >= 20 or wall.hour < 7 else 1.0
        chance *= WEEKEND_FACTOR if wall.weekday() >= 5 else 1.0
        return min(chance * (LINE_FACTOR if draw.line else 1.0), 0.5)

    def _contaminate(self, draw: Draw) -> None:
        draw.contaminated = True
        grower = self._pick(COMMENSALS)
        if grower.name not in draw.organisms:
            draw.organisms.append(grower.name)

    def _contaminate_by_chance(self, episodes: Sequence[Sequence[Draw]]) -> None:
        for draw in (draw for episode in episodes for draw in episode):
            if self.random.random() < self._chance(draw):
                self._contaminate(draw)

    def _contaminate_exactly(self, episodes: Sequence[Sequence[Draw]], wanted: int) -> None:
        """Contaminates one set in each of ``wanted`` clean series; solitary and infected sets are left to chance.

        A weighted sample without replacement: an exponential waiting time per set, shorter where the chance is higher.
        """
        draws = [draw for e in episodes if len(e) > 1 and not e[0].infected for draw in e]
        waiting = self.random.exponential(1.0, len(draws)) / np.array([self._chance(draw) for draw in draws])
        chosen: set[int] = set()
        for draw in (draws[place] for place in np.argsort(waiting)):
            if len(chosen) == wanted:
                break
            if draw.episode not in chosen:
                chosen.add(draw.episode)
                self._contaminate(draw)
        left = [e for e in episodes if len(e) == 1 or (e[0].infected and all(draw.organisms for draw in e))]
        self._contaminate_by_chance(left)

    def _follow_ups(self, episodes: Sequence[Sequence[Draw]]) -> list[list[Draw]]:
        """Some proven infections are cultured again after two to four days; mostly nothing grows any more."""
        found = []
        for first in (episode[0] for episode in episodes if episode[0].infected):
            if self.random.random() >= FOLLOW_UP_SHARE:
                continue
            self.episode += 1
            start = first.collected + timedelta(minutes=int(self.random.integers(49 * 60, 96 * 60)))
            offsets = self._offsets(1 + int(self.random.random() < 0.5))
            found.append(
                [
                    self._draw(start + timedelta(minutes=gap), first.patient, first.born, wait=wait)
                    for gap, wait in offsets
                ]
            )
        return found

    def _called_off(self, valid: int) -> list[Draw]:
        """Specimens of other patients that were cancelled or rejected; they count nowhere and are lost nowhere."""
        reasons = ("REJECTED - UNLABELLED", "REJECTED - BOTTLE LEAKED", "CANCELLED - DUPLICATE ORDER")
        found = []
        for _number in range(int(self.random.binomial(valid, CALL_OFF_SHARE))):
            draw = self._episode(1)[0]
            draw.call_off = reasons[int(self.random.choice(3, p=(0.4, 0.2, 0.4)))]
            found.append(draw)
        return found
