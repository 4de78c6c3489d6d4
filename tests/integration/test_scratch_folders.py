"""The folders in which a file is read: nobody else may look in, and a killed process leaves nothing for good."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile

import pytest

from cubital.engine import open_session

READ_AND_HANG = """
import sys, tempfile, time
tempfile.tempdir = sys.argv[1]
from cubital.engine import open_session
session = open_session()
(session.scratch / "text.csv").write_text("MRN 70001")
print("ready", flush=True)
time.sleep(60)
"""


@pytest.fixture
def common_folder(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


def start_reading(folder):
    process = subprocess.Popen([sys.executable, "-c", READ_AND_HANG, str(folder)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


@pytest.mark.skipif(os.name != "posix", reason="permissions are written differently here")
def test_nobody_else_may_look_into_a_scratch_folder(common_folder):
    with open_session() as session:
        assert session.scratch.stat().st_mode & 0o077 == 0
    assert list(common_folder.iterdir()) == []


def test_what_a_killed_process_left_is_removed_by_the_next(common_folder):
    process = start_reading(common_folder)
    process.kill()
    process.wait()
    process.stdout.close()
    assert len(list(common_folder.rglob("text.csv"))) == 1
    with open_session():
        assert list(common_folder.rglob("text.csv")) == []


def test_what_a_living_process_uses_stays(common_folder):
    process = start_reading(common_folder)
    with open_session():
        assert len(list(common_folder.rglob("text.csv"))) == 1
    process.send_signal(signal.SIGTERM)
    process.wait()
    process.stdout.close()


@pytest.mark.skipif(os.name != "posix", reason="links need rights here")
def test_a_link_that_somebody_laid_is_not_followed(common_folder):
    kept = common_folder / "kept.txt"
    kept.write_text("kept")
    (common_folder / "cubital-trap.lock").symlink_to(kept)
    with open_session():
        assert kept.read_text() == "kept"


ROWS_OF_A_PATIENT = b"accession,bottle,gross g,tare g\nA1,aerobic,71.5,62.0\n"
KILLED_WHILE = {
    "a weigh-in sheet is read": (
        "from cubital.intake import weighing as module",
        "module.copy_as_utf8",
        "module.read_weigh_sheet(Path(sys.argv[2]))",
    ),
    "a small table is read": (
        "from cubital.workspace import small_tables as module",
        "module.copy_as_utf8",
        "module.read_small_table(Path(sys.argv[2]))",
    ),
    "a workbook is written": (
        "from cubital.papers import table_files as module",
        "module._fill_workbook",
        "module._write_workbook(None, Path(sys.argv[2] + '.xlsx'))",
    ),
}
KILL = """
import os, signal, sys, tempfile
from pathlib import Path
tempfile.tempdir = sys.argv[1]
{start}
def kill(*arguments):
    folder = next(Path(tempfile.tempdir).glob("cubital-*/"))
    (folder / "row.csv").write_text("MRN 70001")
    os.kill(os.getpid(), signal.SIGKILL)
{name} = kill
{call}
"""


@pytest.mark.parametrize("what", KILLED_WHILE)
def test_nothing_stays_behind_of_a_process_killed_while(common_folder, tmp_path_factory, what):
    start, name, call = KILLED_WHILE[what]
    sheet = tmp_path_factory.mktemp("sheet") / "sheet.csv"
    sheet.write_bytes(ROWS_OF_A_PATIENT)
    code = KILL.format(start=start, name=name, call=call)
    ended = subprocess.run(
        [sys.executable, "-c", code, str(common_folder), str(sheet)], capture_output=True, check=False
    )
    assert ended.returncode == -signal.SIGKILL, ended.stderr
    assert len(list(common_folder.rglob("row.csv"))) == 1
    with open_session():
        assert list(common_folder.rglob("row.csv")) == []
