"""The disk fills, the drive vanishes, the folder is closed: a sentence each time, and nothing is lost."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import Any

import pytest
from kept_answers import corrected_workspace
from laboratory_files import FACILITY, a_row, write_file
from whole_state import stray_files, whole_state

from cubital.domain.errors import CubitalError, MachineProblem, WorkspaceProblem
from cubital.workspace import accepting
from cubital.workspace.backing_up import back_up
from cubital.workspace.compacting import compact_workspace
from cubital.workspace.months import month_answer
from cubital.workspace.opening import open_workspace
from cubital.workspace.restoring import restore
from cubital.workspace.taking import take_file
from cubital.workspace.verifying import verify_backup, verify_workspace
from cubital.workspace.writing import LOCK, hold_workspace
from postgres_server import own_file_only

pytestmark = own_file_only


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("original")
    corrected_workspace(folder / "w", folder).close()
    return folder / "w"


@pytest.fixture(scope="module")
def january(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file of 200 sets: new ones, and corrections of what is stored."""
    rows = [a_row(n, hours=20 * n, organism="E.coli", ward=f"Ward {n}") for n in range(50, 250)]
    return write_file(tmp_path_factory.mktemp("january") / "january.csv", rows)


@pytest.fixture(scope="module")
def after(original: Path, january: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = Path(shutil.copytree(original, tmp_path_factory.mktemp("after") / "w"))
    with open_workspace(folder) as workspace:
        take_file(workspace, file=january, facility=FACILITY, accept=True)
        return whole_state(workspace)


@contextmanager
def small_disk(place: Path, kilobytes: int, *options: str) -> Iterator[Path]:
    """A real disk of this size at ``place``, which only the system's administrator can make."""
    place.mkdir(exist_ok=True)
    command = ["mount", "-t", "tmpfs", "-o", ",".join([f"size={kilobytes}k", *options]), "tmpfs", str(place)]
    if not shutil.which("mount") or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("a disk of its own can only be made as the system's administrator (mount -t tmpfs)")
    try:
        yield place
    finally:
        subprocess.run(["umount", "--lazy", str(place)], check=True)


def fill_up(disk: Path, *, leave: int) -> Path:
    """Fills the disk but for about ``leave`` kilobytes."""
    filler = disk / "filler"
    left = os.statvfs(disk).f_bavail * os.statvfs(disk).f_frsize - leave * 1024
    filler.write_bytes(bytes(max(0, left)))
    return filler


@pytest.mark.parametrize("leave", [0, 4, 16, 32, 48, 64, 80, 96, 128, 192, 4000])
def test_a_disk_that_fills_while_a_file_is_taken(
    original: Path, january: Path, after: dict[str, Any], tmp_path: Path, leave: int
) -> None:
    """A disk with so much room left: the file is in, or nothing is; with room made, it can be taken."""
    with small_disk(tmp_path / "disk", 8000) as disk:
        folder = Path(shutil.copytree(original, disk / "w"))
        filler = fill_up(disk, leave=leave)
        with open_workspace(folder) as workspace:
            before = whole_state(workspace)
            problem = trouble(lambda: take_file(workspace, file=january, facility=FACILITY, accept=True))
            assert whole_state(workspace) == (before if problem else after)
            filler.unlink()
            assert problem is None or "the disk is full" in problem
            take_file(workspace, file=january, facility=FACILITY, accept=True)
            assert whole_state(workspace) == after
            assert stray_files(workspace) == set()
            assert verify_workspace(workspace).findings == ()
    assert (problem is None) == (leave == 4000) or leave > 100


def trouble(work: Callable[[], object]) -> str | None:
    """The sentence in which the work ended, none where it went well; any other error fails the test."""
    try:
        work()
    except CubitalError as error:
        return error.sentence()
    return None


@pytest.mark.parametrize("leave", [0, 8, 24, 40, 56, 4000])
def test_a_disk_that_fills_while_a_backup_is_written(original: Path, tmp_path: Path, leave: int) -> None:
    with small_disk(tmp_path / "disk", 8000) as disk, open_workspace(original) as workspace:
        filler = fill_up(disk, leave=leave)
        problem = trouble(lambda: back_up(workspace, to=disk / "b.zip"))
        assert problem is None or problem.startswith(f"{disk / 'b.zip'}: the disk is full. No backup was made.")
        assert [path.name for path in disk.iterdir() if path != filler] == ([] if problem else ["b.zip"])
        if problem is None:
            assert verify_backup(disk / "b.zip").findings == ()
    assert (problem is None) == (leave > 100)


@pytest.mark.parametrize("leave", [0, 8, 32, 64, 128, 200, 240, 4000])
def test_a_disk_that_fills_while_a_backup_is_restored(original: Path, tmp_path: Path, leave: int) -> None:
    with open_workspace(original) as workspace:
        backup = back_up(workspace, to=tmp_path / "b.zip").path
        before = whole_state(workspace)
    with small_disk(tmp_path / "disk", 8000) as disk:
        filler = fill_up(disk, leave=leave)
        problem = trouble(lambda: restore(backup, to=disk / "r"))
        if problem is None:
            with open_workspace(disk / "r") as restored:
                assert whole_state(restored) == before
        else:
            assert "disk is full" in problem
            assert [path.name for path in disk.iterdir() if path != filler] == []
    assert (problem is None) == (leave == 4000)


def test_a_disk_that_fills_while_files_are_joined(original: Path, january: Path, tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", 8000) as disk:
        folder = Path(shutil.copytree(original, disk / "w"))
        with open_workspace(folder) as workspace:
            take_file(workspace, file=january, facility=FACILITY, accept=True)
            more = write_file(tmp_path / "more.csv", [a_row(n, hours=20 * n) for n in range(250, 260)])
            take_file(workspace, file=more, facility=FACILITY, accept=True)
            before = whole_state(workspace)
            filler = fill_up(disk, leave=4)
            assert "the disk is full" in str(trouble(lambda: compact_workspace(workspace)))
            assert whole_state(workspace) == before
            filler.unlink()
            assert compact_workspace(workspace).number == 1
            assert whole_state(workspace) == before


class Unplug:
    """Moves a folder away at a given call or return inside the store or the workspace, as a vanishing drive would."""

    def __init__(self, folder: Path, event: int, *, empty: bool = False) -> None:
        self.folder, self.event, self.empty = folder, event, empty
        self.away = folder.with_name("unplugged")
        self.count = 0

    def __call__(self, frame: FrameType, _kind: str, _argument: object) -> None:
        name = frame.f_code.co_filename
        if "cubital/store" not in name and "cubital/workspace" not in name:
            return
        self.count += 1
        if self.count == self.event:
            self.folder.rename(self.away)
            if self.empty:  # the place where the drive was mounted
                self.folder.mkdir()

    def run(self, work: Callable[[], object]) -> str | None:
        """The work with the drive vanishing in it; afterwards the drive is back."""
        sys.setprofile(self)
        try:
            return trouble(work)
        finally:
            sys.setprofile(None)
            if self.away.exists():
                shutil.rmtree(self.folder, ignore_errors=True)
                self.away.rename(self.folder)


def events_of(folder: Path, work: Callable[[], object]) -> int:
    counted = Unplug(folder, 0)
    assert counted.run(work) is None
    return counted.count


@pytest.mark.parametrize("empty", [False, True], ids=["gone", "empty"])
def test_a_drive_that_vanishes_while_a_file_is_taken(
    original: Path, january: Path, after: dict[str, Any], tmp_path: Path, empty: bool
) -> None:
    def take(folder: Path) -> None:
        with open_workspace(folder, create=False) as workspace:
            take_file(workspace, file=january, facility=FACILITY, accept=True)

    folder = tmp_path / "w"
    with open_workspace(original) as workspace:
        before = whole_state(workspace)
    events = events_of(Path(shutil.copytree(original, tmp_path / "counted")), lambda: take(tmp_path / "counted"))
    seen: Counter[str] = Counter()
    for number in range(8):
        shutil.copytree(original, folder)
        problem = Unplug(folder, 1 + number * events // 8, empty=empty).run(lambda: take(folder))
        with open_workspace(folder) as workspace:
            found = whole_state(workspace)
            assert found == before or (found == after and number > 4)
            seen["before" if found == before else "after"] += 1
            take_file(workspace, file=january, facility=FACILITY, accept=True)
            assert whole_state(workspace) == after
        seen[(problem or "no trouble").removeprefix(f"{folder}: ")[:40]] += 1
        shutil.rmtree(folder)
    print(f"{events} events, {dict(seen)}")
    assert seen["the folder can no longer be reached. Wha"] > 4


def test_a_drive_that_vanishes_under_a_backup(original: Path, tmp_path: Path) -> None:
    drive = tmp_path / "drive"
    drive.mkdir()
    with open_workspace(original) as workspace:
        events = events_of(drive, lambda: back_up(workspace, to=drive / "counted.zip"))
        for number in range(1, 8):
            problem = Unplug(drive, number * events // 8).run(lambda: back_up(workspace, to=drive / "b.zip"))
            assert problem
            assert "No backup was made" in problem or "there is no folder" in problem
            assert not (drive / "b.zip").exists()
        back_up(workspace, to=drive / "b.zip")
    assert sorted(path.name for path in drive.iterdir()) == ["b.zip", "counted.zip"]


def test_a_drive_that_vanishes_while_the_workspace_on_it_is_backed_up(original: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(original, tmp_path / "w"))

    def work(name: str) -> None:
        with open_workspace(folder, create=False) as workspace:
            back_up(workspace, to=tmp_path / name)

    events = events_of(folder, lambda: work("counted.zip"))
    for number in range(1, 8):
        problem = Unplug(folder, number * events // 8).run(lambda: work("b.zip"))
        assert (problem is None) == (tmp_path / "b.zip").exists()
        if problem is None:  # the drive went when all was read
            assert verify_backup(tmp_path / "b.zip").findings == ()
            (tmp_path / "b.zip").unlink()
    assert trouble(lambda: work("b.zip")) is None


def test_a_drive_that_vanishes_while_a_backup_is_restored_to_it(original: Path, tmp_path: Path) -> None:
    with open_workspace(original) as workspace:
        backup = back_up(workspace, to=tmp_path / "b.zip").path
    drive = tmp_path / "drive"
    drive.mkdir()
    events = events_of(drive, lambda: restore(backup, to=drive / "counted"))
    for number in range(1, 8):
        problem = Unplug(drive, number * events // 8).run(lambda: restore(backup, to=drive / "r"))
        assert problem, f"vanished at {number} of 8"
        assert not (drive / "r").exists()
    restore(backup, to=drive / "r")


@pytest.mark.parametrize("number", [errno.EIO, errno.ESTALE, errno.EHOSTDOWN])
def test_a_drive_that_does_not_answer_is_said(
    original: Path, january: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    def silent(*_arguments: object, **_more: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(accepting, "note_fingerprints", silent)
    with open_workspace(original) as workspace, pytest.raises(MachineProblem, match="can no longer be reached"):
        take_file(workspace, file=january, facility=FACILITY, accept=True)


@contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """The folder mounted so that nobody may write, not even the system's administrator."""
    made = subprocess.run(["mount", "--bind", str(folder), str(folder)], capture_output=True, check=False)
    if made.returncode:
        pytest.skip("a folder can only be mounted as the system's administrator (mount --bind)")
    try:
        subprocess.run(["mount", "-o", "remount,bind,ro", str(folder)], check=True)
        yield
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


def test_a_read_only_drive_answers_and_says_that_it_cannot_be_written(
    original: Path, january: Path, tmp_path: Path
) -> None:
    folder = Path(shutil.copytree(original, tmp_path / "año nuevo (copy)"))
    with open_workspace(original) as workspace:
        before = month_answer(workspace, month="2025-11")
    with read_only(folder), open_workspace(folder) as workspace:
        assert month_answer(workspace, month="2025-11") == before
        assert verify_workspace(workspace).findings == ()
        assert back_up(workspace, to=tmp_path / "b.zip").batch == 2
        for work in (
            lambda: take_file(workspace, file=january, facility=FACILITY, accept=True),
            lambda: compact_workspace(workspace),
        ):
            assert "this folder cannot be written. Nothing was changed." in str(trouble(work))


def test_a_drive_that_nobody_may_write_to_gets_no_backup(original: Path, tmp_path: Path) -> None:
    drive = tmp_path / "drive"
    drive.mkdir()
    with open_workspace(original) as workspace:
        backup = back_up(workspace, to=tmp_path / "b.zip").path
        with read_only(drive):
            told = str(trouble(lambda: back_up(workspace, to=drive)))
            assert "the backup cannot be written here (Read-only file system). No backup was made." in told
            told = str(trouble(lambda: restore(backup, to=drive / "r")))
            assert "nothing can be restored here (Read-only file system)" in told


def test_a_lock_that_a_dead_process_left_holds_nobody_up(original: Path, january: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(original, tmp_path / "w"))
    hang = (
        "import os, sys; from cubital.workspace.opening import open_workspace; "
        "from cubital.workspace.writing import hold_workspace\n"
        "with hold_workspace(open_workspace(sys.argv[1])): os.kill(os.getpid(), 9)"
    )
    assert subprocess.run([sys.executable, "-c", hang, str(folder)], check=False).returncode == -9
    assert (folder / LOCK).exists()
    with open_workspace(folder) as workspace:
        assert take_file(workspace, file=january, facility=FACILITY, accept=True).added > 0


def test_two_who_write_at_once_are_one_after_the_other_or_told(original: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(original, tmp_path / "w"))
    with open_workspace(folder) as workspace:
        told: list[str] = []

        def second() -> None:
            try:
                with hold_workspace(open_workspace(folder), patience=0.3, waiting=lambda: told.append("waiting")):
                    told.append("held")
            except WorkspaceProblem as problem:
                told.append(problem.what)

        with hold_workspace(workspace):
            thread = threading.Thread(target=second)
            thread.start()
            thread.join()
        second()
    assert told == ["waiting", "another run of Cubital is writing to this workspace.", "held"]
