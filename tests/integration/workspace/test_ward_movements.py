"""A file of ward movements through the front door: sets move, later files are placed, the same file changes nothing."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from laboratory_files import FACILITY, a_row, write_file

from cubital.workspace.batches import list_batches, row_fates
from cubital.workspace.moving import take_movements
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.taking import take_file
from cubital.workspace.units import find_unit


@pytest.fixture
def workspace(tmp_path: Path) -> Iterator[Workspace]:
    with open_workspace(tmp_path / "w") as opened:
        yield opened


@pytest.fixture
def stays(tmp_path: Path) -> Path:
    """Patient 1 came through the emergency department; one row is a discharge."""
    path = tmp_path / "stays.csv"
    path.write_text(
        "Patient No,Unit,From,To\n"
        "P00001,Emergency,2025-10-01 06:00,2025-10-01 14:00\n"
        "P00001,5 WEST,2025-10-01 14:00,2025-10-09 10:00\n"
        "P00001,,2025-10-09 10:00,\n"
    )
    return path


def take(workspace: Workspace, file: Path) -> None:
    take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


def units(workspace: Workspace) -> list[tuple[str, str]]:
    with open_snapshot(workspace) as session:
        return session.rows("select accession, unit_key from sets order by 1")


def test_the_collecting_unit_is_taken_from_the_movements(workspace: Workspace, tmp_path: Path, stays: Path) -> None:
    take(workspace, write_file(tmp_path / "a.csv", [a_row(2, ward="5 WEST"), a_row(3, hours=20, ward="5 WEST")]))

    report = take_movements(workspace, file=stays, facility=FACILITY, accept=True)

    assert units(workspace) == [("A000002", "emergency"), ("A000003", "5 west")]
    assert (report.rows, report.stays, report.added, report.moved_sets) == (3, 2, 2, 1)
    assert report.rows == report.stays + sum(loss.count for loss in report.losses)
    assert report.changed_months == ("2025-10",)
    assert find_unit(workspace, facility=FACILITY, unit="emergency").sets == 1


def test_movements_may_come_before_the_sets(workspace: Workspace, tmp_path: Path, stays: Path) -> None:
    take_movements(workspace, file=stays, facility=FACILITY, timezone="America/Chicago", accept=True)

    take(workspace, write_file(tmp_path / "a.csv", [a_row(2, ward="5 WEST")]))

    assert units(workspace) == [("A000002", "emergency")]


def test_the_same_movements_again_change_nothing(workspace: Workspace, stays: Path) -> None:
    take_movements(workspace, file=stays, facility=FACILITY, timezone="America/Chicago", accept=True)

    again = take_movements(workspace, file=stays, facility=FACILITY, accept=True)

    assert (again.already_taken, again.batch, again.added, again.unchanged) == (True, 1, 0, 2)
    assert [(batch.number, batch.kind) for batch in list_batches(workspace)] == [(1, "movements")]


def test_every_row_of_movements_has_a_fate(workspace: Workspace, stays: Path) -> None:
    take_movements(workspace, file=stays, facility=FACILITY, timezone="America/Chicago", accept=True)

    assert [fate.fate for fate in row_fates(workspace, 1)] == ["movement", "movement", "loss"]
