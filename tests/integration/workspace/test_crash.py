"""Killing the process at any moment loses nothing accepted and leaves nothing half-accepted.

``make kills`` runs the same with a thousand kills: the number is in the environment variable ``CUBITAL_KILLS``.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from crash_nursery import WORKS
from laboratory_files import FACILITY, a_row, first_file, second_file, write_file
from whole_state import stray_files, whole_state

from cubital.store.shapes import STORED
from cubital.workspace.compacting import CROWDED, compact_workspace
from cubital.workspace.keeping import kept_files, kept_states
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.record_rows import read_records
from cubital.workspace.snapshots import open_versions
from cubital.workspace.taking import take_file
from cubital.workspace.vacuuming import set_keep_days
from cubital.workspace.verifying import verify_backup, verify_workspace
from postgres_server import own_file_only

SEED = 20251101
KILLS = int(os.environ.get("CUBITAL_KILLS", "30"))
FEWEST = 5  # kills of each kind, however few are asked for

pytestmark = own_file_only


class Nursery:
    """The process whose children are killed."""

    def __init__(self) -> None:
        script = Path(__file__).with_name("crash_nursery.py")
        self.process = subprocess.Popen(
            [sys.executable, str(script)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def order(self, work: str, folder: Path, file: Path, **kill: float) -> dict[str, Any]:
        assert self.process.stdin
        assert self.process.stdout
        order = {"work": work, "folder": str(folder), "file": str(file), **kill}
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


@dataclass(frozen=True, kw_only=True)
class Found:
    """What a workspace shows, and the fingerprint of the rows of every state that it still promises."""

    shown: dict[str, Any]
    promised: dict[int, str]


def look(workspace: Workspace, *, keys: bool = True) -> Found:
    """``keys`` as in ``whole_state``: patients' keys differ between workspaces made anew."""
    columns = "*" if keys else "* exclude (patient_key)"
    promised = {}
    for state in kept_states(workspace):
        with open_versions(workspace, state.versions) as session:
            queries = (f"select {columns if name == 'sets' else '*'} from {name} order by all" for name in STORED)
            rows = repr([session.rows(query) for query in queries])
        promised[state.batch] = hashlib.sha256(rows.encode()).hexdigest()
    return Found(shown=whole_state(workspace, keys=keys), promised=promised)


def marks_of(workspace: Workspace) -> tuple[Any, ...]:
    """Every record, and the name of every file that a promised state or an account rests on."""
    files = {file.name: (file.bytes, file.rows) for file in kept_files(workspace) if "_delta_log" not in file.name}
    return read_records(workspace), files


def take(folder: Path, *files: Path) -> None:
    """Takes files without interruption."""
    with open_workspace(folder) as workspace:
        for file in files:
            take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


class Trials:
    """Kills ``work`` on copies of ``base`` (or on new folders) and looks at what each kill left."""

    def __init__(self, name: str, nursery: Nursery, *, work: str, folder: Path, base: Path | None, file: Path) -> None:
        self.name, self.nursery, self.work, self.folder = name, nursery, work, folder
        self.base, self.file = base, file
        self.keys = base is not None
        self.seen: Counter[str] = Counter()
        whole = self._copy("whole")
        with open_workspace(whole) as workspace:
            self.marks = marks_of(workspace)
            self.before = look(workspace, keys=self.keys)
            WORKS[work](workspace, self._file("whole"))
            self.after = look(workspace, keys=self.keys)
            assert stray_files(workspace) == set()
            assert verify_workspace(workspace).findings == ()
        self.events = nursery.order(work, self._copy("counted"), self._file("counted"), event=0)["events"]
        self.seconds = nursery.order(work, self._copy("timed"), self._file("timed"))["seconds"]

    def kill(self, name: str, *, times: int = 1, again: bool = False, **kill: float) -> None:
        """One trial: the work killed ``times`` times in a row, what is left compared; done again where remains lie."""
        folder, file = self._copy(name), self._file(name)
        for _time in range(times):
            if self.work == "back up" and file.exists():
                break
            ended = self.nursery.order(self.work, folder, file, **kill)
            assert not ended["hung"], f"the work did not end, {kill}"
            self.seen["killed" if ended["killed"] else "finished"] += 1
            if not ended["killed"]:
                self.seconds = min(self.seconds, ended["seconds"])
        with open_workspace(folder) as workspace:
            self._check(workspace, file, kill)
            if again or stray_files(workspace):
                self._do_again(workspace, file)
        shutil.rmtree(folder)

    def _check(self, workspace: Workspace, file: Path, kill: dict[str, float]) -> None:
        assert verify_workspace(workspace).findings == (), f"after {kill}"
        if self.keys and marks_of(workspace) == self.marks:
            self.seen["before"] += 1  # every record the same, every promised file the same by name and fingerprint
        else:
            found = look(workspace, keys=self.keys)
            assert found in (self.before, self.after), f"a state in between, after {kill}"
            self.seen["before" if found == self.before else "after"] += 1
        if self.work == "back up" and file.exists():
            assert verify_backup(file).findings == ()
            self.seen["whole backups"] += 1

    def _do_again(self, workspace: Workspace, file: Path) -> None:
        self.seen["done again"] += 1
        file = file.with_name(f"again {file.name}") if self.work == "back up" else file
        WORKS[self.work](workspace, file)
        compact_workspace(workspace)  # the next writer: the work itself writes nothing where it was done already
        assert look(workspace, keys=self.keys) == self.after
        assert verify_workspace(workspace).findings == ()
        assert stray_files(workspace) == set()

    def kill_often(self, count: int) -> None:
        """``count`` kills: half by the clock, half at an event in the store or the workspace; some twice in a row."""
        choose = random.Random(f"{SEED} {self.name}")
        for number in range(3 * count):
            by_clock = {"delay": choose.uniform(0, self.seconds)}
            at_event = {"event": choose.randint(1, self.events)}
            times = 2 if number % 5 == 0 else 1
            self.kill(f"trial {number}", times=times, again=number % 6 == 0, **(at_event if number % 2 else by_clock))
            if self.seen["killed"] >= count:
                break
        print(f"{self.name}: {dict(self.seen)}, {self.events} events, {self.seconds:.2f} s undisturbed, seed {SEED}")
        assert self.seen["killed"] >= count

    def _copy(self, name: str) -> Path:
        folder = self.folder / name
        if self.base:
            shutil.copytree(self.base, folder)
        return folder

    def _file(self, name: str) -> Path:
        return self.folder / f"{name}.zip" if self.work == "back up" else self.file


def night(folder: Path, number: int) -> Path:
    """A nightly file: three sets of one day in October."""
    rows = [a_row(100 + 3 * number + n, hours=20 * number + n, organism="E.coli") for n in range(3)]
    return write_file(folder / f"night {number}.csv", rows)


def nothing(folder: Path) -> tuple[Path | None, Path]:
    """A first file into a folder that is not there yet."""
    return None, first_file(folder / "october.csv")


def one_file(folder: Path) -> tuple[Path | None, Path]:
    """A correction of twenty sets, and thirty new ones, into a workspace of sixty whose files were joined once."""
    take(folder / "base", first_file(folder / "october.csv"), night(folder, 1))
    with open_workspace(folder / "base") as workspace:
        compact_workspace(workspace)
    return folder / "base", second_file(folder / "december.csv")


def nearly_crowded(folder: Path) -> tuple[Path | None, Path]:
    """A file whose months are joined by themselves as soon as it is in."""
    take(folder / "base", *(night(folder, number) for number in range(1, CROWDED)))
    return folder / "base", night(folder, CROWDED)


def sets_to_move(folder: Path) -> tuple[Path | None, Path]:
    """Ward movements that put stored sets into another unit."""
    take(folder / "base", first_file(folder / "october.csv"))
    stays = folder / "stays.csv"
    lines = [f"P{patient:05d},5 WEST,2025-09-30 06:00,2025-12-24 10:00" for patient in range(0, 30, 3)]
    stays.write_text("\n".join(["Patient No,Unit,From,To", *lines]) + "\n")
    return folder / "base", stays


def several_files(folder: Path) -> tuple[Path | None, Path]:
    """A workspace with small files to join, old states to let go, and enough to back up."""
    take(folder / "base", *(night(folder, number) for number in range(1, 5)), second_file(folder / "december.csv"))
    with open_workspace(folder / "base") as workspace:
        set_keep_days(workspace, 1)
    return folder / "base", folder / "unused"


def joined_files(folder: Path) -> tuple[Path | None, Path]:
    """The same with the files joined: their small ones are needed by old states only."""
    base, unused = several_files(folder)
    assert base
    with open_workspace(base) as workspace:
        compact_workspace(workspace)
    return base, unused


Prepare = Callable[[Path], tuple[Path | None, Path]]
SHARES: dict[str, tuple[str, Prepare, float]] = {
    "of a first taking": ("take", nothing, 0.05),
    "of a taking that corrects": ("take", one_file, 0.15),
    "of a taking that joins files": ("take", nearly_crowded, 0.10),
    "of a taking of movements": ("move", sets_to_move, 0.10),
    "of a compaction": ("compact", several_files, 0.25),
    "of a vacuum": ("vacuum", joined_files, 0.20),
    "of a backup": ("back up", several_files, 0.15),
}
CHANGES_NOTHING_SHOWN = ("compact", "back up")
ENOUGH = 50  # from so many kills on some must fall after the commit point, too


@pytest.mark.parametrize("what", SHARES)
def test_kills_leave_the_workspace_before_or_after(what: str, nursery: Nursery, tmp_path: Path) -> None:
    work, prepare, share = SHARES[what]
    base, file = prepare(tmp_path)
    trials = Trials(what, nursery, work=work, folder=tmp_path, base=base, file=file)
    assert (trials.before == trials.after) == (work in CHANGES_NOTHING_SHOWN)

    trials.kill_often(max(FEWEST, round(share * KILLS)))

    assert trials.seen["before"] > 0
    if trials.seen["killed"] >= ENOUGH and work not in CHANGES_NOTHING_SHOWN:
        assert trials.seen["after"] > 0
