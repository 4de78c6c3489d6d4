"""What goes wrong under a watch: the file grows while it is read, the computer fails, a folder is not to be written."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from laboratory_files import FACILITY, a_row, first_file, write_file

from cubital.domain.errors import MachineProblem, RequestProblem
from cubital.workspace import watching
from cubital.workspace.batches import list_batches
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.taking import TakeReport, take_file
from cubital.workspace.watched_folder import Landing, LandingPlace, Looks, free_place, move_whole
from cubital.workspace.watching import Watch


@pytest.fixture
def workspace(tmp_path: Path):
    with open_workspace(tmp_path / "w") as opened:
        yield opened


@pytest.fixture
def landing(tmp_path: Path) -> Path:
    (tmp_path / "landing").mkdir()
    return tmp_path / "landing"


def a_watch(workspace: Workspace, landing: Path, said: list[str]) -> Watch:
    usual = LandingPlace(folder=landing, facility=FACILITY, timezone="America/Chicago")
    return Watch(workspace, folder=landing, usual=usual, settle=0.0, say=said.append)


def test_a_file_that_grows_while_it_is_read_is_read_again(
    workspace: Workspace, landing: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = first_file(landing.parent / "whole.csv").read_text().splitlines(keepends=True)
    (landing / "night.csv").write_text("".join(whole[:31]))
    grown: list[str] = []

    def take_and_grow(*arguments: Any, **more: Any) -> TakeReport:
        report = take_file(*arguments, **more)
        if not grown:
            grown.extend(whole[31:])
            with (landing / "night.csv").open("a") as stream:
                stream.writelines(grown)
        return report

    monkeypatch.setattr(watching, "take_file", take_and_grow)
    said: list[str] = []
    a_watch(workspace, landing, said).once()

    assert said[0] == "night.csv changed while it was read; it is looked at again."
    assert [(batch.added, batch.unchanged) for batch in list_batches(workspace)] == [(30, 0), (30, 30)]
    assert (landing / "taken" / "night.csv").read_text() == "".join(whole)


def test_trouble_of_the_computer_leaves_the_file_and_is_said_once(
    workspace: Workspace, landing: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_arguments: Any, **_more: Any) -> TakeReport:
        raise MachineProblem("the disk is full.")

    first_file(landing / "night.csv")
    said: list[str] = []
    watch = a_watch(workspace, landing, said)
    monkeypatch.setattr(watching, "take_file", fail)
    assert [watch.once().left, watch.once().left] == [1, 1]
    assert said == ["night.csv: the disk is full."]

    monkeypatch.undo()
    assert watch.once().taken == 1
    assert (landing / "taken" / "night.csv").exists()


def test_a_folder_that_cannot_be_written_takes_nothing(workspace: Workspace, landing: Path) -> None:
    first_file(landing / "night.csv")
    (landing / "taken").write_text("somebody's file in the way")

    with pytest.raises(MachineProblem, match="cannot be read and written"):
        a_watch(workspace, landing, []).once()
    assert list_batches(workspace) == ()


def test_a_move_that_fails_is_made_good_without_taking_twice(
    workspace: Workspace, landing: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_source: Path, target: Path) -> None:
        raise OSError(28, "No space left on device", str(target))

    first_file(landing / "night.csv")
    said: list[str] = []
    watch = a_watch(workspace, landing, said)
    monkeypatch.setattr(watching, "move_whole", fail)
    assert watch.once().left == 1
    assert (landing / "night.csv").exists()
    monkeypatch.undo()

    assert watch.once().taken == 1
    assert len(list_batches(workspace)) == 1
    assert sorted(path.name for path in (landing / "taken").iterdir()) == [
        "night.csv", "night.csv.account.json", "night.csv.account.txt",
    ]  # fmt: skip


def test_a_vanished_file_is_no_refusal(workspace: Workspace, landing: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def take_after_it_went(*arguments: Any, **more: Any) -> TakeReport:
        (landing / "night.csv").unlink()
        return take_file(*arguments, **more)

    first_file(landing / "night.csv")
    monkeypatch.setattr(watching, "take_file", take_after_it_went)
    done = a_watch(workspace, landing, []).once()

    assert (done.taken, done.refused) == (0, 0)
    assert list((landing / "refused").iterdir()) == []


def test_the_oldest_file_is_taken_first(workspace: Workspace, landing: Path) -> None:
    import os

    for age, name in ((100, "z.csv"), (50, "a.csv")):
        write_file(landing / name, [a_row(age, hours=age)])
        os.utime(landing / name, (1_700_000_000 - age, 1_700_000_000 - age))
    a_watch(workspace, landing, []).once()

    assert [batch.file_name for batch in list_batches(workspace)] == ["z.csv", "a.csv"]


def test_two_watches_of_one_process_are_refused_too(workspace: Workspace, landing: Path) -> None:
    first, second = a_watch(workspace, landing, []), a_watch(workspace, landing, [])
    with first._alone(), pytest.raises(RequestProblem, match="watches this folder already"):
        second.once()


def test_a_file_has_landed_when_two_looks_a_settling_time_apart_agree(landing: Path) -> None:
    file, looks = landing / "night.csv", Looks(10.0)
    file.write_text("one")
    assert looks.landing(file, now=0.0) is Landing.CHANGING
    assert looks.landing(file, now=9.9) is Landing.CHANGING
    file.write_text("one, two")
    assert looks.landing(file, now=10.1) is Landing.CHANGING
    assert looks.landing(file, now=20.0) is Landing.CHANGING
    assert looks.landing(file, now=20.1) is Landing.WHOLE


def test_a_free_place_never_covers_what_is_there(landing: Path) -> None:
    for name in ("night.csv", "night (2).csv"):
        (landing / name).touch()
    (landing / "gone.csv").symlink_to(landing / "nowhere")

    assert free_place(landing, "night.csv").name == "night (3).csv"
    assert free_place(landing, "gone.csv").name == "gone (2).csv"
    assert free_place(landing, "other.csv").name == "other.csv"


def test_a_move_across_systems_that_fails_leaves_the_file_where_it_was(
    landing: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import errno
    import shutil

    def across(_source: Path, _target: Path) -> Path:
        raise OSError(errno.EXDEV, "Invalid cross-device link")

    def half(_source: Path, target: Path) -> None:
        Path(target).write_text("ha")
        raise OSError(errno.ENOSPC, "No space left on device")

    (landing / "night.csv").write_text("half")
    monkeypatch.setattr(Path, "rename", across)
    monkeypatch.setattr(shutil, "copy2", half)
    with pytest.raises(OSError, match="No space left"):
        move_whole(landing / "night.csv", landing / "there.csv")
    assert [path.name for path in landing.iterdir()] == ["night.csv"]
