"""Starts work that is to be killed: warm children of one clean process, so that a kill falls into the work.

Reads one JSON order per line: ``work`` (one of ``WORKS``), ``folder``, ``file`` and either ``delay`` (seconds until the
kill) or ``event`` (the child kills itself at that call or return inside the store or the workspace; 0 only counts them)
or neither: then it may finish. Answers with one JSON line: ``killed``, ``hung``, ``seconds``, ``events``. A child that
does not end is killed after ``PATIENCE`` seconds, so that nobody waits for ever.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import CodeType, FrameType
from typing import Any

import deltalake  # noqa: F401 - imported here once, not in every child
import duckdb  # noqa: F401
from laboratory_files import FACILITY

from cubital.intake.reading import read_cultures  # noqa: F401
from cubital.workspace.backing_up import back_up
from cubital.workspace.compacting import compact_workspace
from cubital.workspace.moving import take_movements
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.taking import take_file
from cubital.workspace.vacuuming import vacuum_workspace

PATIENCE = 240.0  # a hundred times what the work takes
FAR_AHEAD = datetime(2100, 1, 1, tzinfo=UTC)
WATCHED = (os.path.join("cubital", "store", ""), os.path.join("cubital", "workspace", ""))


class Fuse:
    """Counts calls and returns inside the watched folders and ends the process at the one it was set to."""

    def __init__(self, event: int) -> None:
        self.event = event
        self.count = 0
        self.watched: dict[CodeType, bool] = {}  # asked at every call of every library, so the answer is kept

    def __call__(self, frame: FrameType, _kind: str, _argument: Any) -> None:
        code = frame.f_code
        watched = self.watched.get(code)
        if watched is None:
            watched = self.watched[code] = any(folder in code.co_filename for folder in WATCHED)
        if not watched:
            return
        self.count += 1
        if self.count == self.event:
            os.kill(os.getpid(), signal.SIGKILL)


def take(workspace: Workspace, file: Path) -> None:
    """Takes one laboratory file."""
    take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


def move(workspace: Workspace, file: Path) -> None:
    """Takes one file of ward movements."""
    take_movements(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


def compact(workspace: Workspace, _file: Path) -> None:
    """Joins the small files."""
    compact_workspace(workspace)


def vacuum(workspace: Workspace, _file: Path) -> None:
    """Lets go of every state but the last, and of their files at once."""
    vacuum_workspace(workspace, now=FAR_AHEAD, grace=timedelta(0))


def back_up_there(workspace: Workspace, file: Path) -> None:
    """Writes a backup to ``file``."""
    back_up(workspace, to=file)


WORKS = {"take": take, "move": move, "compact": compact, "vacuum": vacuum, "back up": back_up_there}


def do(order: dict[str, Any], report: int) -> None:
    """In the child: the whole work, workspace creation included, and the number of events to the parent."""
    fuse = Fuse(order.get("event", 0))
    if "event" in order:
        sys.setprofile(fuse)
    with open_workspace(Path(order["folder"])) as workspace:
        WORKS[order["work"]](workspace, Path(order["file"]))
    sys.setprofile(None)
    os.write(report, str(fuse.count).encode())


def run(order: dict[str, Any]) -> dict[str, Any]:
    """In the parent: forks the child, kills it in time if so ordered, and says how it ended."""
    reading, writing = os.pipe()
    started = time.perf_counter()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            do(order, writing)
            status = 0
        finally:
            os._exit(status)
    os.close(writing)
    if "delay" in order:
        time.sleep(order["delay"])
        os.kill(child, signal.SIGKILL)
    hung = False
    while (ended := os.waitpid(child, os.WNOHANG))[0] == 0:
        time.sleep(0.002)
        if not hung and time.perf_counter() - started > PATIENCE:
            hung = True
            os.kill(child, signal.SIGKILL)
    status = ended[1]
    events = os.read(reading, 32)
    os.close(reading)
    if os.WIFEXITED(status) and os.WEXITSTATUS(status) != 0:
        raise RuntimeError("the work failed by itself")
    return {
        "killed": os.WIFSIGNALED(status),
        "hung": hung,
        "seconds": time.perf_counter() - started,
        "events": int(events or 0),
    }


if __name__ == "__main__":
    for line in sys.stdin:
        print(json.dumps(run(json.loads(line))), flush=True)
