"""Several processes on one workspace: readers see whole states only, writers take turns, nobody loses anything."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from laboratory_files import FACILITY, a_row, write_file

from cubital.domain.errors import WorkspaceProblem
from cubital.workspace.backing_up import back_up
from cubital.workspace.batches import list_batches
from cubital.workspace.compacting import compact_workspace
from cubital.workspace.opening import open_workspace
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.taking import take_file
from cubital.workspace.vacuuming import set_keep_days, vacuum_workspace
from cubital.workspace.verifying import verify_backup, verify_workspace
from cubital.workspace.writing import hold_workspace

NEXT_WEEK = datetime.now(UTC) + timedelta(days=7)
COUNTS = "select count(*), count(distinct set_id), (select count(*) from isolates) from sets"
READ = f"""
import json, sys
from pathlib import Path
from cubital.workspace.opening import open_workspace
from cubital.workspace.snapshots import open_snapshot

folder, stop = sys.argv[1:]
seen = []
with open_workspace(folder) as workspace:
    while not Path(stop).exists():
        with open_snapshot(workspace) as session:
            seen.append(session.one("{COUNTS}"))
print(json.dumps(seen))
"""
READ_OLD = f"""
import sys
from cubital.workspace.opening import open_workspace
from cubital.workspace.snapshots import open_snapshot

with open_workspace(sys.argv[1]) as workspace, open_snapshot(workspace, batch=1) as session:
    print("open", flush=True)
    sys.stdin.readline()
    print(session.one("{COUNTS}"))
"""
WRITE = """
import sys
from pathlib import Path
from cubital.workspace.compacting import compact_workspace
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file
from cubital.workspace.vacuuming import vacuum_workspace

folder, work, *files = sys.argv[1:]
with open_workspace(folder) as workspace:
    for file in files:
        if work == "take":
            take_file(workspace, file=file, facility="Marrowby General", timezone="America/Chicago", accept=True)
        elif work == "compact":
            compact_workspace(workspace)
        else:
            vacuum_workspace(workspace)
print("done")
"""


def night(folder: Path, number: int) -> Path:
    """Three sets that grew, all in October."""
    rows = [a_row(3 * number + n, hours=20 * number + n, organism="E.coli") for n in range(3)]
    return write_file(folder / f"night {number}.csv", rows)


def start(script: str, *words: object) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", script, *map(str, words)]
    pipe = subprocess.PIPE
    return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe, text=True)


def output_of(process: subprocess.Popen[str]) -> str:
    output, errors = process.communicate(timeout=120)
    assert process.returncode == 0, errors
    return output


def take(folder: Path, *files: Path) -> None:
    with open_workspace(folder) as workspace:
        for file in files:
            take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


def test_readers_see_whole_states_while_another_process_takes_joins_and_lets_go(tmp_path: Path) -> None:
    folder, stop = tmp_path / "w", tmp_path / "stop"
    take(folder, night(tmp_path, 1))
    with open_workspace(folder) as workspace:
        set_keep_days(workspace, 1)
    readers = [start(READ, folder, stop) for _reader in range(2)]

    for number in range(2, 9):
        take(folder, night(tmp_path, number))
        if number % 2 == 0:
            with open_workspace(folder) as workspace:
                compact_workspace(workspace)
                vacuum_workspace(workspace)
    stop.touch()

    seen = [tuple(counts) for reader in readers for counts in json.loads(output_of(reader))]
    assert len(set(seen)) > 1
    assert set(seen) <= {(3 * n, 3 * n, 3 * n) for n in range(1, 9)}


def test_an_old_state_being_read_stays_readable_while_it_is_let_go(tmp_path: Path) -> None:
    folder = tmp_path / "w"
    take(folder, night(tmp_path, 1), night(tmp_path, 2))
    take(folder, write_file(tmp_path / "corrected.csv", [a_row(3, hours=20, organism="No growth")]))
    reader = start(READ_OLD, folder)
    assert reader.stdout
    assert reader.stdout.readline() == "open\n"

    with open_workspace(folder) as workspace:
        set_keep_days(workspace, 1)
        report = vacuum_workspace(workspace, now=NEXT_WEEK)
        assert (report.batches, report.files) == ((1, 2), 0)
        assert report.later_files > 0

    assert reader.communicate("now\n", timeout=60)[0] == "(3, 3, 3)\n"


def test_writers_of_different_kinds_take_turns_and_nothing_is_lost(tmp_path: Path) -> None:
    folder = tmp_path / "w"
    take(folder, night(tmp_path, 0))
    nights = [night(tmp_path, number) for number in range(1, 9)]

    writers = [
        start(WRITE, folder, "take", *nights[:4]),
        start(WRITE, folder, "take", *nights[4:]),
        start(WRITE, folder, "compact", *"1234"),
        start(WRITE, folder, "vacuum", *"1234"),
    ]
    assert [output_of(writer) for writer in writers] == ["done\n"] * 4

    with open_workspace(folder) as workspace:
        assert [batch.number for batch in list_batches(workspace)] == list(range(1, 10))
        with open_snapshot(workspace) as session:
            assert session.one(COUNTS) == (27, 27, 27)
        assert verify_workspace(workspace).findings == ()


def test_a_backup_made_among_writers_is_whole(tmp_path: Path) -> None:
    folder = tmp_path / "w"
    take(folder, night(tmp_path, 0))
    writers = [
        start(WRITE, folder, "take", *(night(tmp_path, number) for number in range(1, 5))),
        start(WRITE, folder, "compact", *"123"),
    ]

    with open_workspace(folder) as workspace:
        reports = [back_up(workspace, to=tmp_path / f"{number}.zip") for number in range(4)]

    assert [output_of(writer) for writer in writers] == ["done\n"] * 2
    for report in reports:
        assert report.rows["sets"] == 3 * report.batch
        assert verify_backup(report.path).findings == ()


def test_a_writer_that_waits_too_long_says_so_in_a_sentence(tmp_path: Path) -> None:
    folder = tmp_path / "w"
    take(folder, night(tmp_path, 0))
    holder = start(
        "import sys\n"
        "from cubital.workspace.opening import open_workspace\n"
        "from cubital.workspace.writing import hold_workspace\n"
        "with open_workspace(sys.argv[1]) as workspace, hold_workspace(workspace):\n"
        "    print('held', flush=True)\n"
        "    sys.stdin.readline()\n",
        folder,
    )
    assert holder.stdout
    assert holder.stdout.readline() == "held\n"

    with open_workspace(folder) as workspace:
        with (
            pytest.raises(WorkspaceProblem, match="another run of Cubital is writing to this workspace"),
            hold_workspace(workspace, patience=0.2),
        ):
            pass
        with open_snapshot(workspace) as session:
            assert session.one(COUNTS) == (3, 3, 3)
    holder.communicate("\n", timeout=60)
