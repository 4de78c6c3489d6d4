"""A watched folder, from outside: the command runs while files land, break off, come again, and while it is killed."""

from __future__ import annotations

import csv
import json
import os
import random
import shlex
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from filelock import FileLock
from laboratory_files import FACILITY, a_row, first_file, second_file, write_file

from cubital.workspace.batches import list_batches
from cubital.workspace.demo.draws import draw_world
from cubital.workspace.demo.fhir_export import write_fhir_export
from cubital.workspace.demo.files import _march
from cubital.workspace.demo.hl7_feed import write_hl7_feed
from cubital.workspace.demo.mess import spoil
from cubital.workspace.demo.world import DEFAULT_SEED, HOSPITALS
from cubital.workspace.opening import open_workspace
from cubital.workspace.places import list_places
from cubital.workspace.writing import LOCK

HERE = ("--facility", FACILITY, "--timezone", "America/Chicago")
SEED = 20261125
MEMORY = Path("/dev/shm")  # noqa: S108 - a second file system, not a place for secrets


@pytest.fixture
def landing(tmp_path: Path) -> Path:
    (tmp_path / "landing").mkdir()
    return tmp_path / "landing"


@pytest.fixture
def watchers() -> Iterator[list[subprocess.Popen[str]]]:
    started: list[subprocess.Popen[str]] = []
    yield started
    for watcher in started:
        if watcher.poll() is None:
            watcher.kill()
        watcher.communicate()


def command(landing: Path, *options: str, settle: float = 0.3) -> list[str]:
    workspace = landing.parent / "w"
    return [
        sys.executable, "-m", "cubital", "--workspace", str(workspace), "watch", str(landing), *options,
        "--settle", str(settle), "--every", "0.1",
    ]  # fmt: skip


def watch_once(landing: Path, *options: str, expected: int = 0) -> str:
    """Runs the command as a task scheduler does and gives its log."""
    done = subprocess.run(
        command(landing, *(options or HERE), "--once"), capture_output=True, text=True, check=False, timeout=120
    )
    assert done.returncode == expected, done.stdout + done.stderr
    return done.stdout + done.stderr


def start(watchers: list[subprocess.Popen[str]], landing: Path, *options: str) -> subprocess.Popen[str]:
    with (landing.parent / "log").open("a") as log:
        watcher = subprocess.Popen(command(landing, *(options or HERE)), stdout=log, stderr=log, text=True)
    watchers.append(watcher)
    return watcher


def until(true: Callable[[], bool], landing: Path, *, seconds: float = 90) -> None:
    """Waits for something to become true; shows the watcher's log where it does not."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, (landing.parent / "log").read_text()
        time.sleep(0.05)


def batches(landing: Path) -> list[str]:
    with open_workspace(landing.parent / "w") as workspace:
        return [batch.file_name for batch in list_batches(workspace)]


def stored_sets(landing: Path) -> int:
    with open_workspace(landing.parent / "w") as workspace:
        return sum(month.sets for month in list_places(workspace).facility_months)


def test_a_file_is_taken_and_lies_beside_its_account(landing: Path) -> None:
    rows = [a_row(n, hours=20 * n) for n in range(20)]
    write_file(landing / "night.csv", [*rows, a_row(20, hours=500, status="X"), rows[0]])

    log = watch_once(landing)

    assert "night.csv taken as batch 1: 22 rows" in log
    assert not (landing / "night.csv").exists()
    assert (landing / "taken" / "night.csv").exists()
    account = json.loads((landing / "taken" / "night.csv.account.json").read_text())
    assert (account["outcome"], account["rows"], account["batch"]) == ("taken", 22, 1)
    assert account["rows"] == account["sets"] + sum(loss["count"] for loss in account["losses"])
    assert len(account["lost_rows"]) == sum(loss["count"] for loss in account["losses"]) > 0
    assert all(row["words"] and row["row"] >= 2 for row in account["lost_rows"])
    text = (landing / "taken" / "night.csv.account.txt").read_text()
    assert "22 rows in" in text
    assert "Row by row:" in text


def test_ward_movements_are_known_by_their_headers_and_taken_as_such(landing: Path) -> None:
    rows = "MRN,UNIT,FROM_DT,TO_DT\n7,5 WEST,2026-03-01 10:00,2026-03-02 10:00\n8,,2026-03-01 10:00,\n"
    (landing / "moves.csv").write_text(rows, encoding="utf-8")

    log = watch_once(landing)

    assert "moves.csv taken as batch 1: 2 rows of movements, 1 stays; 0 sets moved." in log
    account = json.loads((landing / "taken" / "moves.csv.account.json").read_text())
    assert (account["kind"], account["rows"], account["stays"]) == ("movements", 2, 1)
    assert [row["words"] for row in account["lost_rows"]] == ["no unit"]
    assert "2 rows in, 1 stays out." in (landing / "taken" / "moves.csv.account.txt").read_text()


def test_refused_ward_movements_lie_beside_the_command_that_takes_them(landing: Path) -> None:
    rows = "MRN,UNIT,FROM_DT,TO_DT\n7,5 WEST,01/02/2026 10:00,03/02/2026 10:00\n"
    (landing / "moves.csv").write_text(rows, encoding="utf-8")
    watch_once(landing)
    command = json.loads((landing / "refused" / "moves.csv.account.json").read_text())["command"]
    assert shlex.split(command)[3] == "movements"

    words = [word.replace("VALUE", "day-first") for word in shlex.split(command)[1:]]
    done = subprocess.run([sys.executable, "-m", "cubital", *words], capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stderr
    assert batches(landing) == ["moves.csv"]


def test_a_workbook_lands_and_is_taken(landing: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    for row in csv.reader(first_file(landing.parent / "as text.csv").read_text(encoding="utf-8").splitlines()):
        book.active.append(row)
    book.save(landing / "night.xlsx")

    log = watch_once(landing)

    assert "night.xlsx taken as batch 1:" in log
    account = json.loads((landing / "taken" / "night.xlsx.account.json").read_text())
    assert account["sets"] == stored_sets(landing) > 0


def test_the_same_file_landing_again_is_taken_once(landing: Path) -> None:
    first_file(landing / "night.csv")
    watch_once(landing)
    first_file(landing / "night.csv")
    first_file(landing / "copy of night.csv")

    log = watch_once(landing)

    assert log.count("was taken before, as batch 1: nothing changed.") == 2
    assert batches(landing) == ["night.csv"]
    assert {path.name for path in (landing / "taken").glob("*.csv")} == {
        "night.csv", "night (2).csv", "copy of night.csv",
    }  # fmt: skip
    assert json.loads((landing / "taken" / "night (2).csv.account.json").read_text())["already_taken"]


def test_another_file_of_the_same_name_covers_nothing(landing: Path) -> None:
    first = first_file(landing / "night.csv").read_bytes()
    watch_once(landing)
    second = second_file(landing / "night.csv").read_bytes()
    watch_once(landing)

    assert (landing / "taken" / "night.csv").read_bytes() == first
    assert (landing / "taken" / "night (2).csv").read_bytes() == second
    assert len(batches(landing)) == 2


def test_a_file_that_is_no_laboratory_file_is_refused_with_the_reason(landing: Path) -> None:
    (landing / "letter.csv").write_text("Dear colleague,\nthis is a letter.\n")

    log = watch_once(landing)

    assert "letter.csv refused" in log
    assert (landing / "refused" / "letter.csv").read_text().startswith("Dear colleague")
    account = json.loads((landing / "refused" / "letter.csv.account.json").read_text())
    assert account["outcome"] == "refused"
    assert account["sentence"]
    assert batches(landing) == []


def test_open_questions_come_with_the_one_command_that_answers_them(landing: Path) -> None:
    first_file(landing / "night.csv")
    watch_once(landing, "--facility", FACILITY)  # nobody said in which time zone

    account = json.loads((landing / "refused" / "night.csv.account.json").read_text())
    assert [question["key"] for question in account["questions"]] == ["timezone"]
    text = (landing / "refused" / "night.csv.account.txt").read_text()
    assert account["command"] in text
    words = shlex.split(account["command"].replace("VALUE", "America/Chicago"))
    done = subprocess.run([sys.executable, "-m", *words], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert batches(landing) == ["night.csv"]
    second_file(landing / "next night.csv")
    assert "next night.csv taken as batch 2" in watch_once(landing, "--facility", FACILITY)


def test_each_hospital_has_its_own_folder_and_particulars(landing: Path) -> None:
    (landing / "Marrowby General").mkdir()
    (landing / "thistle").mkdir()
    first_file(landing / "Marrowby General" / "m.csv")
    first_file(landing / "thistle" / "t.csv")
    first_file(landing / "astray.csv")
    (landing / "watch.toml").write_text(
        '["Marrowby General"]\ntimezone = "America/Chicago"\n\n'
        '[thistle]\nfacility = "Thistlecombe"\ntimezone = "America/Denver"\nsource = "night run"\n'
    )

    log = watch_once(landing, "--once")

    assert "astray.csv lies in no hospital's folder" in log
    with open_workspace(landing.parent / "w") as workspace:
        found = {(batch.facility, batch.source) for batch in list_batches(workspace)}
    assert found == {("Marrowby General", "Marrowby General"), ("Thistlecombe", "night run")}
    assert (landing / "thistle" / "taken" / "t.csv").exists()
    assert (landing / "astray.csv").exists()


def test_particulars_that_are_not_understood_are_named(landing: Path) -> None:
    (landing / "watch.toml").write_text('[thistle]\ntime_zone = "America/Denver"\n')

    assert "'time_zone' is not one of its words" in watch_once(landing, "--once", expected=10)


def test_messages_and_exports_are_taken_like_tables(landing: Path) -> None:
    draws = next(iter(draw_world(DEFAULT_SEED)))
    spoil(draws, HOSPITALS[0], seed=DEFAULT_SEED)
    reports = list(_march(draws))[:40]
    write_hl7_feed(landing / "feed.hl7", reports)
    write_fhir_export(landing / "export.ndjson", reports)

    log = watch_once(landing)

    assert "2 taken, 0 refused" in log
    assert sorted(batches(landing)) == ["export.ndjson", "feed.hl7"]
    for name in ("feed.hl7", "export.ndjson"):
        account = json.loads((landing / "taken" / f"{name}.account.json").read_text())
        assert account["sets"] > 0
        assert account["rows"] == account["sets"] + sum(loss["count"] for loss in account["losses"])


@pytest.mark.parametrize("name", [".night.csv", "night.csv.part", "~$night.xlsx", "night.tmp", "NIGHT.CSV.FILEPART"])
def test_unfinished_and_hidden_files_are_passed_over(landing: Path, name: str) -> None:
    first_file(landing / name)

    assert "0 taken, 0 refused, 0 left" in watch_once(landing)
    assert (landing / name).exists()


def test_an_empty_file_is_left_until_something_is_in_it(landing: Path) -> None:
    (landing / "night.csv").touch()

    assert "night.csv is empty" in watch_once(landing)
    assert (landing / "night.csv").exists()


def test_a_file_that_another_program_locks_is_left(landing: Path) -> None:
    import fcntl

    with first_file(landing / "night.csv").open("r+b") as stream:
        fcntl.flock(stream, fcntl.LOCK_EX)
        assert "night.csv is held by another program" in watch_once(landing)

    assert "night.csv taken as batch 1" in watch_once(landing)


def test_a_file_written_slowly_in_pieces_is_taken_once_and_whole(
    landing: Path, watchers: list[subprocess.Popen[str]]
) -> None:
    content = first_file(landing.parent / "whole.csv").read_bytes()
    watcher = start(watchers, landing)
    until(lambda: "Watching" in (landing.parent / "log").read_text(), landing)
    with (landing / "night.csv").open("wb") as stream:
        for at in range(0, len(content), len(content) // 12 + 1):
            stream.write(content[at : at + len(content) // 12 + 1])
            stream.flush()
            time.sleep(0.15)
    until((landing / "taken" / "night.csv").exists, landing)
    watcher.send_signal(signal.SIGTERM)

    assert watcher.wait(timeout=60) == 0
    assert batches(landing) == ["night.csv"]
    assert stored_sets(landing) == 60
    assert "Stopped. Nothing is half taken" in (landing.parent / "log").read_text()


def test_a_second_watch_over_the_same_folder_is_refused(landing: Path, watchers: list[subprocess.Popen[str]]) -> None:
    start(watchers, landing)
    until(lambda: "Watching" in (landing.parent / "log").read_text(), landing)

    assert "watches this folder already" in watch_once(landing, expected=16)


def test_a_workspace_that_another_run_holds_is_waited_for(landing: Path, watchers: list[subprocess.Popen[str]]) -> None:
    open_workspace(landing.parent / "w").close()
    with FileLock(landing.parent / "w" / LOCK, preserve_lock_file=True):
        first_file(landing / "night.csv")
        start(watchers, landing)
        until(lambda: "Waiting for another run" in (landing.parent / "log").read_text(), landing)
        assert (landing / "night.csv").exists()
    until((landing / "taken" / "night.csv").exists, landing)
    assert batches(landing) == ["night.csv"]


def test_a_folder_that_goes_away_is_waited_for(landing: Path, watchers: list[subprocess.Popen[str]]) -> None:
    start(watchers, landing)
    until(lambda: "Watching" in (landing.parent / "log").read_text(), landing)
    landing.rename(landing.parent / "unplugged")
    until(lambda: "Waiting for it." in (landing.parent / "log").read_text(), landing)
    first_file(landing.parent / "unplugged" / "night.csv")
    (landing.parent / "unplugged").rename(landing)
    until((landing / "taken" / "night.csv").exists, landing)

    assert "can be used again" in (landing.parent / "log").read_text()
    assert batches(landing) == ["night.csv"]


def test_a_folder_that_is_not_there_is_said_at_once_to_a_scheduler(tmp_path: Path) -> None:
    assert "cannot be read and written" in watch_once(tmp_path / "nowhere", expected=15)


def test_a_watch_stopped_in_the_middle_of_a_file_takes_nothing_of_it(
    landing: Path, watchers: list[subprocess.Popen[str]]
) -> None:
    write_file(landing / "big.csv", (a_row(n, hours=n / 50) for n in range(60_000)))
    watcher = start(watchers, landing)
    until(lambda: bool(list((landing.parent / "w").glob("cultures"))), landing)
    watcher.send_signal(signal.SIGINT)

    assert watcher.wait(timeout=60) == 0
    assert batches(landing) == [], (landing.parent / "log").read_text()
    assert (landing / "big.csv").exists()
    watch_once(landing)
    assert batches(landing) == ["big.csv"]
    assert stored_sets(landing) == 60_000


def test_killed_at_any_moment_every_file_is_taken_once(landing: Path, watchers: list[subprocess.Popen[str]]) -> None:
    """Six kills while six files land; afterwards every file is in, once, and lies in ``taken`` with its account."""
    choose = random.Random(SEED)
    files = {f"night {k}.csv": [a_row(n, hours=700 * k + n) for n in range(100 * k, 100 * k + 50)] for k in range(6)}
    kills = 0
    for name, rows in files.items():
        write_file(landing / name, rows)
        watcher = start(watchers, landing)
        time.sleep(choose.uniform(0.4, 2.5))
        kills += watcher.poll() is None
        watcher.kill()
        watcher.wait()
    watch_once(landing)

    assert kills == 6
    assert sorted(batches(landing)) == sorted(files)
    assert stored_sets(landing) == 300
    assert {path.name for path in (landing / "taken").glob("*.csv")} == set(files)
    for name in files:
        assert json.loads((landing / "taken" / f"{name}.account.json").read_text())["rows"] == 50
    assert [path.name for path in landing.glob("*.csv")] == []


def test_a_kill_between_record_and_move_is_made_good(landing: Path) -> None:
    file = first_file(landing / "night.csv")
    done = subprocess.run(
        [sys.executable, "-m", "cubital", "--workspace", str(landing.parent / "w"), "take", str(file), *HERE, "--yes"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr

    assert "night.csv was taken before, as batch 1: nothing changed." in watch_once(landing)
    assert (landing / "taken" / "night.csv").exists()
    assert batches(landing) == ["night.csv"]


@pytest.mark.skipif(not MEMORY.is_dir(), reason="no second file system at hand")
def test_taken_on_another_file_system_receives_the_whole_file(landing: Path, tmp_path: Path) -> None:
    elsewhere = MEMORY / f"cubital-{os.getpid()}-{tmp_path.name}"
    elsewhere.mkdir()
    try:
        (landing / "taken").symlink_to(elsewhere)
        content = first_file(landing / "night.csv").read_bytes()
        assert elsewhere.stat().st_dev != landing.stat().st_dev
        watch_once(landing)
        assert (elsewhere / "night.csv").read_bytes() == content
        assert not (landing / "night.csv").exists()
        assert [path.name for path in elsewhere.glob(".*")] == []
    finally:
        for path in elsewhere.iterdir():
            path.unlink()
        elsewhere.rmdir()
