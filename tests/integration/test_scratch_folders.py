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
