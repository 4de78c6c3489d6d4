"""Who collects in the invented network, and how the laboratories' files name them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cubital.workspace.demo.world import Unit

Random = np.random.Generator

GENERIC = ("LAB", "AGENCY", "STUDENT", "STAFF", "")
SURNAMES = (
    "Okoro", "Lindqvist", "Farrow", "Peña", "Abara", "Venn", "Castellan", "Duarte", "Hask", "Imre", "Jovell", "Kesh",
    "Larkin", "Moravec", "Nwosu", "Oriel", "Prado", "Quill", "Roan", "Sato", "Tamsin", "Ulver", "Varga", "Wren",
    "Yarrow", "Zeller",
)  # fmt: skip
INITIALS = "ABCDEFGHJKLMNOPRSTVW"


@dataclass(frozen=True, kw_only=True)
class Person:
    """Someone who collects. ``written`` is how the file names them; two people may share it.

    ``care`` multiplies the unit's chance of contamination: below one is better than the average.
    """

    key: str
    written: str
    care: float


@dataclass(frozen=True, kw_only=True)
class Team:
    """The collectors of one unit with the share of its draws that each does."""

    people: tuple[Person, ...]
    shares: np.ndarray

    def choose(self, random: Random, count: int) -> np.ndarray:
        """Indices of the people who did ``count`` draws, shape ``(count,)``: as ``random.choice`` gives, far sooner."""
        return self._steps.searchsorted(random.random(count), side="right")

    @cached_property
    def _steps(self) -> np.ndarray:
        steps: np.ndarray = self.shares.cumsum()
        steps /= steps[-1]
        return steps


def build_team(random: Random, unit: Unit, *, hospital_key: str, first_badge: int) -> Team:
    """The people of one unit: a few do most draws, badges mostly, some initials, one pair of shared initials."""
    shares = random.dirichlet(np.full(unit.people, 0.7))
    care = np.exp(random.normal(0.0, 0.45, unit.people))
    care /= float(shares @ care)  # so that the unit's own chance stays what the world says
    people = [
        Person(
            key=f"{hospital_key}-{first_badge + number}",
            written=_written(random, first_badge + number, number),
            care=float(care[number]),
        )
        for number in range(unit.people)
    ]
    return Team(people=tuple(people), shares=shares)


def _written(random: Random, badge: int, number: int) -> str:
    if number < 2:
        return "JM"  # two people, one pair of initials
    style = random.random()
    if style < 0.62:
        return str(badge)
    surname = SURNAMES[int(random.integers(len(SURNAMES)))]
    initial = INITIALS[int(random.integers(len(INITIALS)))]
    return f"{initial}.{surname[:3].upper()}" if style < 0.85 else f"{initial}{surname[0]}"


def name_in_file(random: Random, person: Person, unit: Unit, *, generic: Sequence[str] = GENERIC) -> str:
    """What the collector column says: the person, or a generic log-in, or nothing."""
    if random.random() < unit.named:
        return person.written
    return generic[int(random.choice(len(generic), p=(0.35, 0.1, 0.05, 0.1, 0.4)))]
