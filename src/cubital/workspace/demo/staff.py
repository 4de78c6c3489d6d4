"""Staff lists of the invented network: names for the people whom its files know by badge, initials or a short form."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cubital.intake.collection_words import read_collector
from cubital.workspace.demo.draws import hospital_teams
from cubital.workspace.demo.people import SURNAMES, Person
from cubital.workspace.demo.world import HOSPITALS, Hospital, Unit

FIRST_NAMES = (
    "Asha", "Bela", "Cleo", "Dario", "Esme", "Farid", "Gita", "Hugo", "Ines", "Jana", "Kofi", "Lena", "Milo", "Nadia",
    "Odile", "Pavel", "Quinn", "Rosa", "Sami", "Tove", "Ulla", "Vito", "Wanda", "Xenia", "Yusuf", "Zora",
)  # fmt: skip
ROLES = ("nurse", "nurse", "nurse", "phlebotomist", "nurse", "doctor", "nurse", "technician")
SHARED_NAMES = ("Jana Moravec", "Jonas Moss")  # both sign as JM; the first one leaves
LEFT_ON = "2025-06-30"
HEADER = ("name", "initials", "badge", "role", "unit", "from", "to")


@dataclass(frozen=True, kw_only=True)
class StaffFile:
    """One hospital's list and whose it is."""

    path: Path
    facility: str


def staff_file_names() -> tuple[str, ...]:
    """The names of the lists, in the order of the hospitals."""
    return tuple(f"{hospital.name.lower().replace(' ', '-')}-staff.csv" for hospital in HOSPITALS)


def write_staff_lists(folder: Path, *, seed: int) -> tuple[StaffFile, ...]:
    """Writes one list per hospital into ``folder``, which must exist."""
    files = []
    for place, (hospital, name) in enumerate(zip(HOSPITALS, staff_file_names(), strict=True)):
        with (folder / name).open("w", newline="", encoding="utf-8") as handle:
            out = csv.writer(handle)
            out.writerow(HEADER)
            out.writerows(_rows(hospital, seed=seed, place=place))
        files.append(StaffFile(path=folder / name, facility=hospital.name))
    return tuple(files)


def _rows(hospital: Hospital, *, seed: int, place: int) -> Iterator[tuple[str, ...]]:
    for unit, team in zip(hospital.units, hospital_teams(hospital, seed=seed, place=place), strict=True):
        for number, person in enumerate(team.people):
            yield _row(person, number, unit)


def _row(person: Person, number: int, unit: Unit) -> tuple[str, ...]:
    badge = person.key.partition("-")[2]
    # Some letters that a person could sign with say nobody, such as RN; no list can make them somebody's.
    written = "" if person.written == badge or read_collector(person.written).key is None else person.written
    left = LEFT_ON if person.written == "JM" and number == 0 else ""
    return _name(person, number, int(badge)), written, badge, ROLES[number % len(ROLES)], unit.label, "", left


def _name(person: Person, number: int, badge: int) -> str:
    """A name that fits how the person is written; two people of each unit share their initials."""
    if person.written == "JM":
        return SHARED_NAMES[number]
    letters = person.written.replace(".", "") if not person.written.isdigit() else ""
    first = next((name for name in FIRST_NAMES if letters and name[0] == letters[0]), FIRST_NAMES[badge % 26])
    wanted = letters[1:].casefold()
    last = next((name for name in SURNAMES if wanted and name.casefold().startswith(wanted)), SURNAMES[badge * 7 % 26])
    return f"{first} {last}"
