"""Small worlds of cultures for the judge's tests: from text tables, into dataclasses, into the engine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import chain

from cubital.domain.cultures import (
    AgeGroup,
    Attribution,
    Bottle,
    CultureSet,
    Isolate,
    Match,
    Method,
    SetStatus,
    TimeQuality,
)
from cubital.domain.tables import BOTTLES, ISOLATES, SETS
from cubital.engine import Session
from cubital.engine.session import quote_text
from cubital.judge.preparing import UNIT_NAMES

PATIENTS = {"-": None} | {name: number for number, name in enumerate(("anna", "bert", "cleo", "dora", "emil"), start=1)}


@dataclass(frozen=True)
class World:
    """Everything the judge reads. ``units`` maps (facility, unit key) to (current key, name)."""

    sets: tuple[CultureSet, ...]
    isolates: tuple[Isolate, ...] = ()
    bottles: tuple[Bottle, ...] = ()
    units: Mapping[tuple[str, str], tuple[str, str]] | None = None

    def current_units(self) -> dict[tuple[str, str], str]:
        return {pair: current for pair, (current, _name) in (self.units or {}).items()}


def make_set(set_id: int, when: str | datetime | None = "2026-03-01 10:00", **changes: object) -> CultureSet:
    """A valid adult set of patient 1, collected at ``when``."""
    at = datetime.fromisoformat(when) if isinstance(when, str) else when
    usual = CultureSet(
        set_id=set_id,
        facility="Marrowby General",
        accession=f"{set_id:04d}",
        patient_key=1,
        age_group=AgeGroup.FROM_18_TO_64,
        collected_at=at,
        collected_local=at,
        time_quality=TimeQuality.EXACT if at else TimeQuality.MISSING,
        received_at=None,
        day=at.date() if at else None,
        month=f"{at:%Y-%m}" if at else "undated",
        unit_key="ed",
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def make_isolate(set_id: int, key: str, *, negated: bool = False) -> Isolate:
    """An organism of a set; ``?`` stands for text that could not be read."""
    key = "" if key == "?" else key
    return Isolate(set_id=set_id, bottle=None, organism_key=key, raw_text=key, match=Match.EXACT, negated=negated)


def read_world(table: str) -> tuple[World, dict[int, tuple[str, ...]]]:
    """A world and what is expected of each set, from a text table.

    Columns in any order, named in the first line: set, patient, at (MM-DDTHH:MM of 2026, ``-`` missing), grew
    (organisms joined by ``+``, ``!`` before a negated one, ``-`` none), and optionally age, unit, method, status,
    time, facility; ``class`` and ``reason`` are the expectation.
    """
    lines = [line.split() for line in table.strip().splitlines() if line.strip()]
    sets, isolates, expected = [], [], {}
    for cells in lines[1:]:
        row = dict(zip(lines[0], cells, strict=True))
        set_id = int(row["set"])
        sets.append(_set_of_row(set_id, row))
        for key in row["grew"].split("+"):
            if key != "-":
                isolates.append(make_isolate(set_id, key.removeprefix("!"), negated=key.startswith("!")))
        expected[set_id] = (row.get("class", ""), row.get("reason", ""))
    return World(tuple(sets), tuple(isolates)), expected


def _set_of_row(set_id: int, row: dict[str, str]) -> CultureSet:
    changes: dict[str, object] = {"patient_key": PATIENTS[row.get("patient", "anna")]}
    for column, field, kind in (
        ("age", "age_group", AgeGroup),
        ("unit", "unit_key", str),
        ("method", "method", Method),
        ("status", "status", SetStatus),
        ("time", "time_quality", TimeQuality),
        ("facility", "facility", str),
        ("who", "attribution", Attribution),
    ):
        if column in row:
            changes[field] = kind(row[column])
    whole = make_set(set_id, None if row["at"] == "-" else f"2026-{row['at']}", **changes)
    return replace(whole, collected_at=None, collected_local=None) if row.get("time") == "date_only" else whole


def side_by_side(worlds: Sequence[World]) -> World:
    """Several worlds as one, at hospitals of their own, so that one judgement serves them all."""
    moved = [_moved(world, place) for place, world in enumerate(worlds)]
    return World(
        sets=tuple(chain.from_iterable(world.sets for world in moved)),
        isolates=tuple(chain.from_iterable(world.isolates for world in moved)),
        bottles=tuple(chain.from_iterable(world.bottles for world in moved)),
        units={pair: unit for world in moved for pair, unit in (world.units or {}).items()},
    )


def _moved(world: World, place: int) -> World:
    step = 1000 * place
    return World(
        sets=tuple(replace(one, set_id=one.set_id + step, facility=f"{one.facility} {place}") for one in world.sets),
        isolates=tuple(replace(one, set_id=one.set_id + step) for one in world.isolates),
        bottles=tuple(replace(one, set_id=one.set_id + step) for one in world.bottles),
        units={(f"{facility} {place}", key): unit for (facility, key), unit in (world.units or {}).items()},
    )


def fill_session(session: Session, world: World) -> None:
    """The world's tables in the session, whatever was there before replaced."""
    _fill(session, "sets", SETS, world.sets)
    _fill(session, "isolates", ISOLATES, world.isolates)
    _fill(session, "bottles", BOTTLES, world.bottles)
    units = [(facility, key, current, name) for (facility, key), (current, name) in (world.units or {}).items()]
    _insert(session, "unit_names", UNIT_NAMES, units)


def _fill(session: Session, name: str, columns: Mapping[str, str], things: Iterable[object]) -> None:
    rows = [tuple(getattr(thing, column) for column in columns) for thing in things]
    _insert(session, name, columns, rows)


def _insert(session: Session, name: str, columns: Mapping[str, str], rows: Iterable[tuple[object, ...]]) -> None:
    # One statement with literals: many thousand small worlds pass through here, and binding row by row is slow.
    session.do(f"create or replace table {name} ({', '.join(f'{column} {kind}' for column, kind in columns.items())})")
    written = ", ".join("(" + ", ".join(_literal(cell) for cell in row) + ")" for row in rows)
    if written:
        session.do(f"insert into {name} values {written}")


def _literal(cell: object) -> str:
    if cell is None:
        return "null"
    if isinstance(cell, bool | int | float) and not isinstance(cell, str):
        return str(cell).lower()
    return quote_text(str(cell))
