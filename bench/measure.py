"""Measures one piece of work in a process of its own: best of a few runs, and the most memory it ever held.

A task is ``module:function``. The function gets its arguments, prepares whatever shall not be measured, and returns a
``Task``. What its report gives, unmeasured, must be plain data; it comes back beside the figures, so that two ways to
the same result can be compared.
"""

from __future__ import annotations

import importlib
import json
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent


@dataclass(frozen=True, kw_only=True)
class Task:
    """``work`` is measured; ``report`` is asked once afterwards for what came of it."""

    work: Callable[[], object]
    report: Callable[[], Any] = lambda: None


@dataclass(frozen=True, kw_only=True)
class Measured:
    """``seconds`` of wall clock and ``busy_seconds`` of all cores, each the best run; ``peak_mb`` of the process."""

    seconds: float
    busy_seconds: float
    peak_mb: float
    result: Any


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line of the table. ``target`` says in words what was asked; ``met`` is none where nothing was.

    ``busy_seconds`` are those of all cores together: on a machine that does other work too they are the fairer figure.
    None where they were not measured.
    """

    what: str
    seconds: float
    peak_mb: float
    busy_seconds: float | None = None
    ratio: str = ""
    target: str = ""
    met: bool | None = None


def measure(task: str, *arguments: str | int, repeat: int = 3) -> Measured:
    """Runs ``task`` in a fresh interpreter. A task that fails raises ``CalledProcessError`` with its trace shown."""
    words = [sys.executable, "-m", "bench.measure", task, str(repeat), json.dumps(arguments)]
    done = subprocess.run(words, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True)
    return Measured(**json.loads(done.stdout.splitlines()[-1]))


def most_memory_mb() -> float:
    """The most resident memory this process ever had, in MB (1,000,000 bytes)."""
    status = Path("/proc/self/status")
    if status.exists():
        held = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM:"))
        return int(held.split()[1]) * 1024 / 1e6
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / 1e6 if sys.platform == "darwin" else most * 1024 / 1e6


def _run(name: str, repeat: int, arguments: list[Any]) -> Measured:
    module, function = name.split(":")
    task: Task = getattr(importlib.import_module(module), function)(*arguments)
    walls, busy = [], []
    for _turn in range(repeat):
        wall, cpu = time.perf_counter(), time.process_time()
        task.work()
        walls.append(time.perf_counter() - wall)
        busy.append(time.process_time() - cpu)
    peak = most_memory_mb()
    return Measured(seconds=min(walls), busy_seconds=min(busy), peak_mb=peak, result=task.report())


if __name__ == "__main__":
    print(json.dumps(vars(_run(sys.argv[1], int(sys.argv[2]), json.loads(sys.argv[3])))))
