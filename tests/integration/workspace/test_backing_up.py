"""A backup is one moment of the workspace, whoever else is at work, and never half a file under a good name."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
from datetime import timedelta
from pathlib import Path

import pytest
from kept_answers import TODAY, corrected_workspace
from laboratory_files import FACILITY, a_row, write_file
from whole_state import whole_state

from cubital.domain.errors import RequestProblem, WorkspaceProblem
from cubital.workspace.backing_up import back_up
from cubital.workspace.batches import list_batches
from cubital.workspace.compacting import compact_workspace
from cubital.workspace.freezing import changed_files, export_month_snapshot
from cubital.workspace.keeping import kept_states
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.restoring import restore
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.taking import take_file
from cubital.workspace.units import rename_unit
from cubital.workspace.vacuuming import vacuum_workspace
from cubital.workspace.verifying import verify_backup, verify_workspace
from cubital.workspace.writing import hold_workspace
from postgres_server import own_file_only

pytestmark = own_file_only

TAKE_MANY = """
import sys
from datetime import date
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file
from cubital.workspace.units import rename_unit
with open_workspace(sys.argv[1]) as workspace:
    for number, file in enumerate(sys.argv[2:]):
        take_file(workspace, file=file, facility="Marrowby General", accept=True)
        on = date(2026, 1, 1 + number)
        rename_unit(workspace, facility="Marrowby General", old="ICU", new=f"ICU {number}", on=on)
        print("taken", flush=True)
"""

BACK_UP = """
import os, signal, sys
from cubital.workspace import backing_up
from cubital.workspace.opening import open_workspace
folder, to, left = sys.argv[1], sys.argv[2], int(sys.argv[3])
whole = backing_up._chunks
def chunks(workspace, file):
    global left
    left -= 1
    if left == 0:
        os.kill(os.getpid(), signal.SIGKILL)
    yield from whole(workspace, file)
backing_up._chunks = chunks
with open_workspace(folder) as workspace:
    backing_up.back_up(workspace, to=to)
"""


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("original")
    corrected_workspace(folder / "w", folder).close()
    return folder / "w"


@pytest.fixture
def folder(original: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(original, tmp_path / "w"))


def test_a_backup_made_while_files_are_taken_is_one_moment(folder: Path, tmp_path: Path) -> None:
    """Each backup, restored, verifies: its records and its tables speak of the same batch."""
    files = [
        write_file(tmp_path / f"{k}.csv", [a_row(n, hours=20 * n, ward="ICU") for n in range(60 + 30 * k, 90 + 30 * k)])
        for k in range(1, 7)
    ]
    command = [sys.executable, "-c", TAKE_MANY, str(folder), *map(str, files)]
    writer = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert writer.stdout
    batches = []
    with open_workspace(folder) as workspace:
        while writer.poll() is None:
            report = back_up(workspace, to=tmp_path / f"b{len(batches)}.zip")
            batches.append(report.batch)
            writer.stdout.readline()
    writer.stdout.close()

    assert writer.returncode == 0
    for number, batch in enumerate(batches):
        restore(tmp_path / f"b{number}.zip", to=tmp_path / f"r{number}")
        with open_workspace(tmp_path / f"r{number}") as restored:
            assert verify_workspace(restored).findings == ()
            assert len(list_batches(restored)) == batch
            with open_snapshot(restored) as session:
                assert session.one("select count(*), max(batch) from sets") == (90 + 30 * (batch - 2), batch)
    assert len(set(batches)) > 1


def test_readers_go_on_while_a_backup_is_made(folder: Path, tmp_path: Path) -> None:
    seen = []
    with open_workspace(folder) as workspace:
        back_up(workspace, to=tmp_path / "b.zip", progress=lambda *_step: seen.append(len(list_batches(workspace))))
    assert set(seen) == {2}


def test_a_writer_waits_until_the_backup_is_done(folder: Path, tmp_path: Path) -> None:
    told: list[str] = []

    def write() -> None:
        try:
            with hold_workspace(open_workspace(folder), patience=0):
                told.append("wrote")
        except WorkspaceProblem as problem:
            told.append(problem.what)

    def another(*_step: object) -> None:
        thread = threading.Thread(target=write)
        thread.start()
        thread.join()

    with open_workspace(folder) as workspace:
        back_up(workspace, to=tmp_path / "b.zip", progress=another)
    assert set(told) == {"another run of Cubital is writing to this workspace."}
    write()
    assert told[-1] == "wrote"


def test_every_promised_state_is_in_it(folder: Path, tmp_path: Path) -> None:
    with open_workspace(folder) as workspace:
        report = back_up(workspace, to=tmp_path / "b.zip")
        assert (report.batch, report.states) == (2, len(kept_states(workspace))) == (2, 2)
        before = whole_state(workspace)
    assert (report.rows["sets"], report.rows["isolates"]) == (90, 10)
    shutil.rmtree(folder)
    restore(tmp_path / "b.zip", to=folder)
    with open_workspace(folder) as workspace:
        assert whole_state(workspace) == before


def test_a_frozen_month_in_the_folder_comes_along(folder: Path, tmp_path: Path) -> None:
    with open_workspace(folder) as workspace:
        export_month_snapshot(workspace, month="2025-11", out=folder / "November ñ", today=TODAY)
        back_up(workspace, to=tmp_path / "b.zip")
    restore(tmp_path / "b.zip", to=tmp_path / "r")
    assert changed_files(tmp_path / "r" / "November ñ") == ()


def test_a_folder_gets_a_file_with_the_day_in_its_name(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "drive").mkdir()
    with open_workspace(folder) as workspace:
        path = back_up(workspace, to=tmp_path / "drive").path
    assert [found.name for found in (tmp_path / "drive").iterdir()] == [path.name]
    assert path.match("cubital-w-20??-??-??-??????.zip")


def test_an_empty_workspace_is_backed_up_and_restored(tmp_path: Path) -> None:
    with open_workspace(tmp_path / "w") as workspace:
        assert back_up(workspace, to=tmp_path / "b.zip").batch == 0
        secret = workspace.secret
    restore(tmp_path / "b.zip", to=tmp_path / "r")
    with open_workspace(tmp_path / "r") as restored:
        assert restored.secret == secret
        assert verify_workspace(restored).findings == ()


@pytest.mark.parametrize(
    ("place", "words"),
    [("w/inside.zip", "in the workspace itself"), ("there.zip", "never replaces another"), ("no/b.zip", "no folder")],
)
def test_a_place_that_will_not_do_is_refused(folder: Path, tmp_path: Path, place: str, words: str) -> None:
    (tmp_path / "there.zip").write_bytes(b"earlier backup")
    with open_workspace(folder) as workspace, pytest.raises(RequestProblem, match=words):
        back_up(workspace, to=tmp_path / place)
    assert (tmp_path / "there.zip").read_bytes() == b"earlier backup"
    assert not list(tmp_path.rglob("*.part"))


def test_a_damaged_workspace_does_not_become_a_backup(folder: Path, tmp_path: Path) -> None:
    """A backup that fits itself but not what was accepted would push out the last good one."""
    (path,) = (folder / "cultures/sets/month=2025-12").glob("*.parquet")
    content = bytearray(path.read_bytes())
    content[200] ^= 4
    path.write_bytes(content)

    with open_workspace(folder) as workspace, pytest.raises(WorkspaceProblem, match=r"2025-12.* no longer what was"):
        back_up(workspace, to=tmp_path / "b.zip")

    assert not (tmp_path / "b.zip").exists()


def test_a_killed_backup_leaves_no_good_name_and_its_rest_goes(folder: Path, tmp_path: Path) -> None:
    drive = tmp_path / "drive"
    drive.mkdir()
    for left in (1, 7, 15):
        command = [sys.executable, "-c", BACK_UP, str(folder), str(drive / "b.zip"), str(left)]
        assert subprocess.run(command, check=False).returncode == -signal.SIGKILL
        assert [path.suffix for path in drive.iterdir()] == [".part"]
    with open_workspace(folder) as workspace:
        back_up(workspace, to=drive / "b.zip")
    assert [path.name for path in drive.iterdir()] == ["b.zip"]
    assert verify_backup(drive / "b.zip").findings == ()


def test_the_part_of_another_workspace_is_left_alone(folder: Path, tmp_path: Path) -> None:
    (tmp_path / ".other.zip.0123456789ab.part").write_bytes(b"being written")
    with open_workspace(folder) as workspace:
        back_up(workspace, to=tmp_path / "b.zip")
    assert (tmp_path / ".other.zip.0123456789ab.part").exists()


@pytest.mark.skipif(os.name != "posix", reason="permissions are written differently here")
def test_nobody_else_may_read_a_backup(folder: Path, tmp_path: Path) -> None:
    with open_workspace(folder) as workspace:
        path = back_up(workspace, to=tmp_path / "b.zip").path
    assert path.stat().st_mode & 0o077 == 0


def test_a_renamed_unit_and_a_later_file_are_in_the_next_backup(folder: Path, tmp_path: Path) -> None:
    later = write_file(tmp_path / "later.csv", [a_row(n, hours=20 * n) for n in range(90, 100)])
    with open_workspace(folder) as workspace:
        take_file(workspace, file=later, facility=FACILITY, accept=True)
        rename_unit(workspace, facility=FACILITY, old="ICU", new="Critical Care", on=TODAY)
        back_up(workspace, to=tmp_path / "b.zip")
        before = whole_state(workspace)
    restore(tmp_path / "b.zip", to=tmp_path / "r")
    with open_workspace(tmp_path / "r") as restored:
        assert whole_state(restored) == before


def test_a_joined_and_vacuumed_workspace_is_backed_up_at_its_newest_form(folder: Path, tmp_path: Path) -> None:
    later = write_file(tmp_path / "later.csv", [a_row(n, hours=20 * n) for n in range(90, 100)])
    with open_workspace(folder) as workspace:
        take_file(workspace, file=later, facility=FACILITY, accept=True)
        assert compact_workspace(workspace).number == 1
        assert vacuum_workspace(workspace, grace=timedelta(0)).files > 0
        assert back_up(workspace, to=tmp_path / "b.zip").states == 3
        before = whole_state(workspace)
        states = [rows_of(workspace, batch) for batch in (1, 2, 3)]
    restore(tmp_path / "b.zip", to=tmp_path / "r")
    with open_workspace(tmp_path / "r") as restored:
        assert whole_state(restored) == before
        assert [rows_of(restored, batch) for batch in (1, 2, 3)] == states
        assert verify_workspace(restored).findings == ()


def rows_of(workspace: Workspace, batch: int) -> list[tuple[object, ...]]:
    with open_snapshot(workspace, batch) as session:
        return session.rows("select * from sets order by all")
