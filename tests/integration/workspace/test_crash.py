"""Killing the process at any moment loses nothing accepted and leaves nothing half-accepted."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from laboratory_files import FACILITY, first_file, second_file
from whole_state import stray_files, whole_state

from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file

SEED = 20251101


class Nursery:
    """The process whose children are killed."""

    def __init__(self) -> None:
        script = Path(__file__).with_name("crash_nursery.py")
        self.process = subprocess.Popen(
            [sys.executable, str(script)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def order(self, folder: Path, file: Path, **kill: float) -> dict[str, Any]:
        assert self.process.stdin
        assert self.process.stdout
        order = {"folder": str(folder), "file": str(file), "facility": FACILITY, **kill}
        self.process.stdin.write(json.dumps(order) + "\n")
        self.process.stdin.flush()
        answer: dict[str, Any] = json.loads(self.process.stdout.readline())
        return answer

    def close(self) -> None:
        self.process.communicate(timeout=20)


@pytest.fixture(scope="module")
def nursery() -> Iterator[Nursery]:
    nursery = Nursery()
    yield nursery
    nursery.close()


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("files")
    return first_file(folder / "october.csv"), second_file(folder / "december.csv")


def take_whole(folder: Path, file: Path, *, keys: bool = True) -> dict[str, Any]:
    """Takes the file without interruption and gives the whole state."""
    with open_workspace(folder) as workspace:
        take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)
        assert stray_files(workspace) == set()
        return whole_state(workspace, keys=keys)


def state_of(folder: Path, *, keys: bool = True) -> dict[str, Any]:
    with open_workspace(folder) as workspace:
        return whole_state(workspace, keys=keys)


class Trials:
    """Kills takings of ``file`` into copies of ``base`` (or into new folders) and looks at what each one left."""

    def __init__(self, nursery: Nursery, *, file: Path, folder: Path, base: Path | None = None) -> None:
        self.nursery, self.file, self.folder, self.base = nursery, file, folder, base
        self.keys = base is not None
        self.seen: Counter[str] = Counter()
        whole = self._copy("whole")
        self.before = state_of(whole, keys=self.keys)
        self.after = take_whole(whole, file, keys=self.keys)
        assert self.before != self.after
        self.events = nursery.order(self._copy("counted"), file, event=0)["events"]
        self.seconds = nursery.order(self._copy("timed"), file)["seconds"]

    def kill(self, name: str, *, times: int = 1, retake: bool = False, **kill: float) -> None:
        """One trial: the taking killed ``times`` times in a row, the state compared; taken again where remains lie."""
        folder = self._copy(name)
        for _time in range(times):
            ended = self.nursery.order(folder, self.file, **kill)
            self.seen["killed" if ended["killed"] else "finished"] += 1
            if not ended["killed"]:
                self.seconds = min(self.seconds, ended["seconds"])
        with open_workspace(folder) as workspace:
            found, remains = whole_state(workspace, keys=self.keys), stray_files(workspace)
        assert found in (self.before, self.after), f"a state in between, after {kill}"
        self.seen["before" if found == self.before else "after"] += 1
        if remains or retake:
            self.seen["taken again"] += 1
            assert take_whole(folder, self.file, keys=self.keys) == self.after
        shutil.rmtree(folder)

    def kill_often(self, count: int) -> None:
        """``count`` kills: half by the clock, half at an event in the store or the workspace; some twice in a row."""
        choose = random.Random(SEED)
        for number in range(2 * count):
            by_clock = {"delay": choose.uniform(0, self.seconds)}
            at_event = {"event": choose.randint(1, self.events)}
            times = 2 if number % 5 == 0 else 1
            self.kill(f"trial {number}", times=times, retake=number % 4 == 0, **(at_event if number % 2 else by_clock))
            if self.seen["killed"] >= count:
                break
        print(f"{dict(self.seen)}, {self.events} events, {self.seconds:.2f} s undisturbed")
        assert self.seen["killed"] >= count

    def _copy(self, name: str) -> Path:
        folder = self.folder / name
        if self.base:
            shutil.copytree(self.base, folder)
        return folder


def test_eighty_kills_in_a_workspace_leave_it_before_or_after(
    nursery: Nursery, files: tuple[Path, Path], tmp_path: Path
) -> None:
    base = tmp_path / "base"
    take_whole(base, files[0])
    trials = Trials(nursery, file=files[1], folder=tmp_path, base=base)

    trials.kill_often(80)

    assert trials.seen["before"] > 0
    assert trials.seen["after"] > 0


def test_twenty_kills_of_a_first_taking_leave_it_new_or_taken(
    nursery: Nursery, files: tuple[Path, Path], tmp_path: Path
) -> None:
    trials = Trials(nursery, file=files[0], folder=tmp_path)

    trials.kill_often(20)

    assert trials.seen["before"] > 0
