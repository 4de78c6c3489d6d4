"""A workspace of an older Cubital is brought forward with a copy first, whatever happens in between."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import zipfile
from collections import Counter
from pathlib import Path

import pytest
from kept_answers import corrected_workspace

from cubital.domain.errors import MachineProblem
from cubital.workspace import migrating
from cubital.workspace.batches import list_changes
from cubital.workspace.migrating import discard_copies, kept_copies
from cubital.workspace.opening import RECORDS, SCHEMA, open_workspace
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.verifying import verify_workspace
from cubital.workspace.writing import hold_workspace
from postgres_server import own_file_only

pytestmark = own_file_only
OLDER = Path(__file__).parent / "older"  # workspaces that Cubital wrote at schema 1 and 2, with the files of the tests
SEED = 20251125
CONTENT = (
    "select batch, accession, month, unit_key, status, organism_key "
    "from sets left join isolates using (set_id) order by all"
)

OPEN = """
import os, signal, sys
folder, event = sys.argv[1], int(sys.argv[2])
from cubital.workspace.opening import open_workspace, prepare_django
prepare_django()
import cubital.store.delta, cubital.workspace.migrating
count = 0
def watch(frame, kind, argument):
    global count
    if "cubital" in frame.f_code.co_filename or "/shutil.py" in frame.f_code.co_filename:
        count += 1
        if count == event:
            os.kill(os.getpid(), signal.SIGKILL)
sys.setprofile(watch)
open_workspace(folder)
sys.setprofile(None)
print(count)
"""


def older_workspace(folder: Path, schema: int) -> Path:
    with zipfile.ZipFile(OLDER / f"schema-{schema}.zip") as archive:
        archive.extractall(folder)
    assert mark(folder) == schema
    return folder


def mark(folder: Path) -> int:
    connection = sqlite3.connect(folder / RECORDS)
    number = int(connection.execute("pragma user_version").fetchone()[0])
    connection.close()
    return number


def content(folder: Path) -> list[object]:
    """What both states hold, without patients' keys, which differ between workspaces on purpose."""
    with open_workspace(folder) as workspace:
        states = []
        for batch in (1, 2):
            with open_snapshot(workspace, batch) as session:
                states.append(session.rows(CONTENT))
        return states


@pytest.fixture(scope="module")
def expected(tmp_path_factory: pytest.TempPathFactory) -> list[object]:
    """The same two files taken in by the Cubital of today."""
    folder = tmp_path_factory.mktemp("today")
    corrected_workspace(folder / "w", folder).close()
    return content(folder / "w")


@pytest.mark.parametrize("schema", [1, 2])
def test_an_older_workspace_holds_what_it_held_and_verifies(
    tmp_path: Path, expected: list[object], schema: int
) -> None:
    folder = older_workspace(tmp_path / "w", schema)

    said: list[str] = []
    with open_workspace(folder, say=said.append) as workspace:
        assert verify_workspace(workspace).findings == ()
        assert list_changes(workspace)[0].action == "bring_forward"

    assert content(folder) == expected
    assert mark(folder) == SCHEMA
    assert len(said) == SCHEMA - schema
    assert (
        f"from schema {schema} to {schema + 1}. A copy of what changes is kept in before-schema-{schema + 1}" in said[0]
    )


def test_the_copy_is_what_was_there(tmp_path: Path) -> None:
    folder = older_workspace(tmp_path / "w", 2)
    before = {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    open_workspace(folder).close()

    copy = folder / "before-schema-3"
    assert mark(copy) == 2
    tables = {path: data for path, data in before.items() if path.parts[0] == "cultures"}
    assert {path: (copy / path).read_bytes() for path in tables} == tables
    assert len(tables) > 10


def test_the_copies_stay_until_somebody_lets_them_go(tmp_path: Path) -> None:
    folder = older_workspace(tmp_path / "w", 1)
    open_workspace(folder).close()
    with open_workspace(folder) as workspace, hold_workspace(workspace):
        names = [path.name for path in kept_copies(workspace)]
        assert names[:2] == ["before-schema-2", "before-schema-3"]
        assert list(discard_copies(workspace)) == names
    assert not list(folder.glob("before*"))


def run_opening(folder: Path, event: int) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", OPEN, str(folder), str(event)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_a_kill_at_any_moment_is_made_good_by_the_next_opening(tmp_path: Path, expected: list[object]) -> None:
    shutil.copytree(older_workspace(tmp_path / "old", 1), tmp_path / "counted")
    events = int(run_opening(tmp_path / "counted", 0).stdout)
    seen: Counter[int] = Counter()
    while_copying = [1 + number * events // 8 for number in range(8)]
    while_changing = [events - 30 * number for number in range(8)]
    for event in while_copying + while_changing:
        folder = tmp_path / str(event)
        shutil.copytree(tmp_path / "old", folder)
        ended = run_opening(folder, event)
        assert ended.returncode == -signal.SIGKILL, ended.stderr
        seen[mark(folder)] += 1
        assert content(folder) == expected
        with open_workspace(folder) as workspace:
            assert verify_workspace(workspace).findings == ()
    print(f"{events} events; killed at schema {dict(seen)}")
    assert len(seen) > 1


def test_two_kills_in_a_row_while_it_is_put_back_are_made_good(tmp_path: Path, expected: list[object]) -> None:
    old = older_workspace(tmp_path / "old", 2)
    events = int(run_opening(shutil.copytree(old, tmp_path / "counted"), 0).stdout)
    for number in range(6):
        folder = shutil.copytree(old, tmp_path / str(number))
        run_opening(folder, events - 40)
        assert (folder / "before-schema-3").exists()
        run_opening(folder, 60 + number * events // 12)
        assert content(folder) == expected


def test_what_a_half_made_step_left_is_put_back_first(tmp_path: Path, expected: list[object]) -> None:
    folder = older_workspace(tmp_path / "w", 2)
    open_workspace(folder).close()
    shutil.rmtree(folder / "cultures" / "sets")
    connection = sqlite3.connect(folder / RECORDS)
    connection.executescript("delete from records_batch; pragma user_version = 2;")
    connection.close()

    said: list[str] = []
    open_workspace(folder, say=said.append).close()

    assert said[0].startswith("Bringing this workspace forward was interrupted. It is put back")
    assert content(folder) == expected


def test_without_room_for_the_copy_nothing_is_changed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = older_workspace(tmp_path / "w", 2)
    full = shutil.disk_usage(tmp_path)._replace(free=1000)
    monkeypatch.setattr(migrating.shutil, "disk_usage", lambda _place: full)

    with pytest.raises(MachineProblem, match="no room for the copy that is made first"):
        open_workspace(folder)

    assert mark(folder) == 2
    assert not list(folder.glob("before*"))


def test_where_files_cannot_have_second_names_they_are_copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = older_workspace(tmp_path / "w", 2)

    def refuse(*_names: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", refuse)
    open_workspace(folder).close()

    copies = [path for path in (folder / "before-schema-3").rglob("*.parquet")]
    assert len(copies) >= 4
    assert {path.stat().st_nlink for path in copies} == {1}
