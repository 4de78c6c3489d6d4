"""The invented network's FHIR exports hold the same sets, bottles and isolates as its tables, row for row.

Four columns cannot be equal, and only where the table itself knows less. In the hour that the clock repeats a table has
no offset: ``time_quality``, ``collected_at`` and ``received_at`` are doubtful there. A workbook writes midnight as a
date alone: its ``time_quality``, ``collected_at`` and ``collected_local`` lack the hour.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import orjson
import pytest

from cubital.workspace.demo.draws import draw_world
from cubital.workspace.demo.fhir_export import split_by_type, write_fhir_export
from cubital.workspace.demo.files import DOUBLED_ROW, _history, _march, _write_cultures
from cubital.workspace.demo.layouts import Report
from cubital.workspace.demo.mess import spoil
from cubital.workspace.demo.world import DEFAULT_SEED, HOSPITALS
from intake_help import Read, read_file

SETS = "select * exclude (row_set) from new_sets order by all"
OF_SETS = (
    "select s.accession, s.patient_key, s.day, t.* exclude (row_set) from new_{table} t join new_sets s using (row_set)"
    " order by all"
)
REPEATED_HOURS = ("2024-11-03 01", "2025-11-02 01")


@dataclass(frozen=True)
class Content:
    """The canonical rows of one file: sets by column, bottles and isolates with the set they belong to."""

    sets: list[dict[str, Any]]
    bottles: list[tuple[Any, ...]]
    isolates: list[tuple[Any, ...]]
    counted: int


def _content(path: Path) -> Content:
    with read_file(path) as read:
        return Content(
            sets=_dicts(read),
            bottles=read.session.rows(OF_SETS.format(table="bottles")),
            isolates=read.session.rows(OF_SETS.format(table="isolates")),
            counted=read.sets,
        )


def _dicts(read: Read) -> list[dict[str, Any]]:
    cursor = read.session.raw.execute(SETS)
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


@pytest.fixture(scope="module")
def world() -> dict[str, list[Report]]:
    """The reports of every file, by the hospital's letter and the file's."""
    found = {}
    for hospital, draws in zip(HOSPITALS, draw_world(DEFAULT_SEED), strict=True):
        spoil(draws, hospital, seed=DEFAULT_SEED)
        found |= {f"{hospital.key}-history": list(_history(draws)), f"{hospital.key}-march": list(_march(draws))}
    return found


@pytest.mark.parametrize("part", ["history", "march"])
@pytest.mark.parametrize("place", [0, 1, 2], ids=[hospital.name for hospital in HOSPITALS])
def test_the_export_leads_to_the_same_rows_as_the_table(
    world: dict[str, list[Report]], tmp_path: Path, place: int, part: str
) -> None:
    hospital = HOSPITALS[place]
    reports = world[f"{hospital.key}-{part}"]
    suffix = "xlsx" if hospital.key == "O" else "csv"
    table = _content(_write_cultures(tmp_path / f"t.{suffix}", hospital, reports))
    export = _content(write_fhir_export(tmp_path / "t.ndjson", reports, doubled=DOUBLED_ROW))
    assert (export.counted, len(export.sets)) == (table.counted, len(table.sets)) != (0, 0)
    assert export.bottles == table.bottles
    assert export.isolates == table.isolates
    differing = list(_differences(table, export))
    assert not [each for each in differing if not each[2]]
    expected = {"M": 12, "T": 2, "O": 14} if part == "history" else {"M": 0, "T": 0, "O": 0}
    assert Counter(column for column, _set, _known in differing)["time_quality"] == expected[hospital.key]


def _differences(table: Content, export: Content) -> Iterator[tuple[str, str, bool]]:
    """Column, accession, and whether the difference is one of those that must be."""
    for theirs, ours in zip(table.sets, export.sets, strict=True):
        for column, value in theirs.items():
            if ours[column] != value:
                yield column, theirs["accession"], _must_differ(column, theirs, ours)


def _must_differ(column: str, theirs: dict[str, Any], ours: dict[str, Any]) -> bool:
    local = ours["collected_local"]
    if theirs["time_quality"] == "date_only":
        midnight = local is not None and (local.hour, local.minute) == (0, 0)
        return midnight and column in ("time_quality", "collected_at", "collected_local")
    repeated = str(local).startswith(REPEATED_HOURS)
    return repeated and column in ("time_quality", "collected_at", "received_at")


def test_an_archive_of_one_file_for_each_kind_leads_to_the_same_rows(
    world: dict[str, list[Report]], tmp_path: Path
) -> None:
    import zipfile

    whole = write_fhir_export(tmp_path / "t.ndjson", world["M-march"])
    with zipfile.ZipFile(tmp_path / "t.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for path in split_by_type(whole, tmp_path):
            archive.write(path, path.name)
    one, several = _content(whole), _content(tmp_path / "t.zip")
    assert (one.sets, one.bottles, one.isolates) == (several.sets, several.bottles, several.isolates)


@pytest.mark.parametrize("place", [0, 1, 2], ids=[hospital.name for hospital in HOSPITALS])
def test_a_general_library_accepts_the_export_and_finds_the_same_in_it(
    world: dict[str, list[Report]], tmp_path: Path, place: int
) -> None:
    """``fhir.resources`` (a general-purpose FHIR library, R4B) reads every resource; the facts are gathered anew."""
    reports = world[f"{HOSPITALS[place].key}-march"][:150]
    path = write_fhir_export(tmp_path / "t.ndjson", reports)
    known = _by_library(path)
    expected = sorted(_facts(known))
    with read_file(path) as read:
        found = read.session.rows(
            "select accession, strftime(collected_at, '%Y-%m-%d %H:%M'), strftime(received_at, '%Y-%m-%d %H:%M'),"
            " unit_key from new_sets"
        )
    assert sorted((a, c or "", r, u) for a, c, r, u in found) == expected


def _by_library(path: Path) -> dict[str, Any]:
    import importlib

    found = {}
    for line in path.read_bytes().splitlines():
        kind = orjson.loads(line)["resourceType"]
        model = getattr(importlib.import_module(f"fhir.resources.R4B.{kind.lower()}"), kind)
        resource = model.model_validate_json(line)
        found[f"{kind}/{resource.id}"] = resource
    return found


def _facts(known: dict[str, Any]) -> Iterator[tuple[str, str, str, str]]:
    """Accession, collection and receipt in UTC, ward: from a report to its specimen, patient's place and back."""
    from datetime import UTC

    for name, report in known.items():
        if not name.startswith("DiagnosticReport/"):
            continue
        specimen = known[report.specimen[0].reference]
        observation = known[report.result[0].reference]
        place = known[known[observation.encounter.reference].location[0].location.reference]
        collected = specimen.collection.collectedDateTime
        yield (
            specimen.accessionIdentifier.value,
            f"{collected.astimezone(UTC):%Y-%m-%d %H:%M}" if collected else "",
            f"{specimen.receivedTime.astimezone(UTC):%Y-%m-%d %H:%M}",
            " ".join(place.name.casefold().split()),
        )
