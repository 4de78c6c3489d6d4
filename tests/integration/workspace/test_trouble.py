"""A full disk and two runs at once: a sentence, and the workspace before or after."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from laboratory_files import FACILITY, a_row, first_file, second_file, write_file
from whole_state import stray_files, whole_state

from cubital.workspace.batches import list_batches
from cubital.workspace.opening import open_workspace
from cubital.workspace.places import list_places
from cubital.workspace.taking import take_file

TAKE = """
import resource, sys
from cubital.domain.errors import CubitalError
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file

folder, file, limit = sys.argv[1:]
if int(limit):
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(limit), int(limit)))
try:
    with open_workspace(folder) as workspace:
        report = take_file(
            workspace, file=file, facility="Marrowby General", timezone="America/Chicago", accept=True
        )
    print("taken", report.batch)
except CubitalError as error:
    print(type(error).__name__, error)
"""


def start(folder: Path, file: Path, *, limit: int = 0) -> subprocess.Popen[str]:
    """A run of its own; ``limit`` bytes is the largest file that the system lets it write."""
    command = [sys.executable, "-c", TAKE, str(folder), str(file), str(limit)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


@pytest.mark.parametrize("limit", [0, 200, 700, 1500, 3000, 6000, 12_000, 50_000])
def test_a_write_that_fails_leaves_the_workspace_as_it_was(tmp_path: Path, limit: int) -> None:
    """The system's limit on a file's size stands in for a full disk: writes fail at different points of the way."""
    folder, october, december = tmp_path / "w", first_file(tmp_path / "o.csv"), second_file(tmp_path / "d.csv")
    with open_workspace(folder) as workspace:
        take_file(workspace, file=october, facility=FACILITY, timezone="America/Chicago", accept=True)
        before = whole_state(workspace)

    run = start(folder, december, limit=limit or 1)
    output, errors = run.communicate(timeout=120)

    assert run.returncode == 0, errors
    with open_workspace(folder) as workspace:
        taken = output.startswith("taken")
        assert taken or output.startswith("MachineProblem"), output
        assert taken or "the disk is full or does not answer. Nothing was changed." in output
        assert (whole_state(workspace) != before) == taken
        assert take_file(workspace, file=december, facility=FACILITY, accept=True).already_taken == taken
        assert stray_files(workspace) == set()


def test_two_runs_at_once_take_both_files_one_after_the_other(tmp_path: Path) -> None:
    folder = tmp_path / "w"
    files = [
        write_file(tmp_path / f"{k}.csv", [a_row(n, hours=700 * k + n) for n in range(100 * k, 100 * k + 50)])
        for k in range(4)
    ]

    outputs = [run.communicate(timeout=300) for run in [start(folder, file) for file in files]]

    assert sorted(output for output, _errors in outputs) == [f"taken {number}\n" for number in range(1, 5)]
    with open_workspace(folder) as workspace:
        assert [batch.number for batch in list_batches(workspace)] == [1, 2, 3, 4]
        assert sum(month.sets for month in list_places(workspace).facility_months) == 200
        with workspace.cultures.open_snapshot(list_batches(workspace)[-1].versions) as session:
            assert session.one("select count(distinct set_id), count(distinct accession) from sets") == (200, 200)


def test_two_runs_with_the_same_file_take_it_once(tmp_path: Path) -> None:
    file = first_file(tmp_path / "october.csv")

    outputs = [run.communicate(timeout=300) for run in [start(tmp_path / "w", file) for _ in range(2)]]

    assert [output for output, _errors in outputs] == ["taken 1\n", "taken 1\n"]
    with open_workspace(tmp_path / "w") as workspace:
        assert len(list_batches(workspace)) == 1
