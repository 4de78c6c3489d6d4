"""The invented network taken in as HL7 v2 feeds holds what it holds taken in as its laboratories' tables, row for row.

Every canonical column is compared but the batch and the set's number in the store. What a table cannot say is named
below: Orrin Quay's workbook writes a collection at midnight as a day without a time, a message writes 00:00 and means
it; and where the feed writes offsets, the hour that the clock repeats is known and no longer settled by the order of
the accession numbers.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cubital.workspace.demo.draws import draw_world
from cubital.workspace.demo.files import DOUBLED_ROW, _history, _march, _write_cultures
from cubital.workspace.demo.hl7_feed import write_hl7_feed
from cubital.workspace.demo.layouts import Report
from cubital.workspace.demo.mess import spoil
from cubital.workspace.demo.world import DEFAULT_SEED, HOSPITALS, TIMEZONE
from cubital.workspace.opening import open_workspace
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.taking import take_file

OF_SETS = (
    "select s.facility, s.accession, s.patient_key, s.day, t.* exclude (set_id) from {table} t"
    " join sets s using (set_id) order by all"
)
SETS = "select * exclude (set_id, batch) from sets order by facility, accession, patient_key, day"
REPEATED_HOURS = ("2024-11-03 01", "2025-11-02 01")
HOURS = frozenset({"time_quality", "collected_at", "collected_local", "received_at"})

Write = Callable[[Path, list[Report]], Path]
Content = dict[str, list[Any]]


def as_table(stem: Path, reports: list[Report]) -> Path:
    hospital = reports[0].draw.hospital
    return _write_cultures(stem.with_suffix(".xlsx" if hospital.key == "O" else ".csv"), hospital, reports)


def as_feed(stem: Path, reports: list[Report]) -> Path:
    return write_hl7_feed(stem.with_suffix(".hl7"), reports, doubled=DOUBLED_ROW)


def as_feed_with_offsets(stem: Path, reports: list[Report]) -> Path:
    return write_hl7_feed(stem.with_suffix(".hl7"), reports, offsets=True)


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace to copy, so that all know patients by one secret."""
    folder = tmp_path_factory.mktemp("empty") / "workspace"
    with open_workspace(folder):
        return folder


@pytest.fixture(scope="module")
def world() -> list[list[Report]]:
    """The reports of every file, in the order of taking."""
    files = []
    for hospital, draws in zip(HOSPITALS, draw_world(DEFAULT_SEED), strict=True):
        spoil(draws, hospital, seed=DEFAULT_SEED)
        files += [list(_history(draws)), list(_march(draws))]
    return files


def take_all(empty: Path, folder: Path, *, files: list[list[Report]], write: Write) -> Content:
    """Takes every file into a fresh workspace; gives back everything that is stored then."""
    shutil.copytree(empty, folder / "workspace")
    with open_workspace(folder / "workspace") as workspace:
        for number, reports in enumerate(files):
            file = write(folder / f"file-{number}", reports)
            take_file(workspace, file=file, facility=reports[0].draw.hospital.name, timezone=TIMEZONE, accept=True)
        with open_snapshot(workspace) as session:
            return {
                "sets": session.named_rows(SETS),
                "bottles": session.rows(OF_SETS.format(table="bottles")),
                "isolates": session.rows(OF_SETS.format(table="isolates")),
            }


@pytest.fixture(scope="module")
def tables(empty: Path, world: list[list[Report]], tmp_path_factory: pytest.TempPathFactory) -> Content:
    return take_all(empty, tmp_path_factory.mktemp("tables"), files=world, write=as_table)


@pytest.mark.parametrize("write", [as_feed, as_feed_with_offsets])
def test_the_feeds_fill_a_workspace_with_the_rows_of_the_tables(
    tables: Content, empty: Path, world: list[list[Report]], tmp_path: Path, write: Write
) -> None:
    feeds = take_all(empty, tmp_path, files=world, write=write)
    assert len(feeds["sets"]) == len(tables["sets"]) > 60_000
    assert feeds["bottles"] == tables["bottles"]
    assert feeds["isolates"] == tables["isolates"]
    differing = [
        (theirs, {name for name in theirs if theirs[name] != ours[name]}, ours)
        for theirs, ours in zip(tables["sets"], feeds["sets"], strict=True)
        if theirs != ours
    ]
    assert not [one for one in differing if not may_differ(*one, offsets=write is as_feed_with_offsets)]
    assert len(differing) == (28 if write is as_feed_with_offsets else 12)


def may_differ(theirs: dict[str, Any], columns: set[str], ours: dict[str, Any], *, offsets: bool) -> bool:
    """Whether the table knows less there: midnight in a workbook, or the hour that comes twice."""
    wall = ours["collected_local"]
    midnight = theirs["time_quality"] == "date_only" and (wall.hour, wall.minute) == (0, 0)
    twice = offsets and str(wall).startswith(REPEATED_HOURS)
    return columns <= HOURS and (midnight or twice)
