"""Cubital started twice on one workspace: the second window must not take away what the first is working on."""

from __future__ import annotations

import subprocess
import sys

from cubital.web.desk import INBOX
from cubital.web.uploading import prepare_inbox

HOLD = """
import sys
from pathlib import Path
from cubital.web.uploading import prepare_inbox
prepare_inbox(Path(sys.argv[1]))
print("ready", flush=True)
sys.stdin.readline()
"""


def test_a_second_window_leaves_the_files_that_wait_in_the_first(tmp_path):
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "ready\n"
        waiting = tmp_path / INBOX / "laboratory.csv"
        waiting.write_text("waits")
        prepare_inbox(tmp_path)
        assert waiting.read_text() == "waits"
        first.communicate("\n")
    prepare_inbox(tmp_path)
    assert list((tmp_path / INBOX).iterdir()) == []
