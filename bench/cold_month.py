"""A month of two thousand sets, from the file to the sentence, every start of the program included."""

from __future__ import annotations

import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from bench.make_csv import ROWS_PER_SET, write_export
from bench.measure import Line

SETS = 2_000


def run(folder: Path, small: bool) -> Iterator[Line]:
    """Two processes, as a person would type them: take the file, ask for the month."""
    del small
    file = folder / "month.csv"
    write_month(file)
    workspace = folder / "month-workspace"
    shutil.rmtree(workspace, ignore_errors=True)
    start = time.perf_counter()
    call(workspace, "take", str(file), "--facility", "Marrowby General", "--timezone", "America/Chicago", "--yes")
    call(workspace, "month", "2024-01")
    seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024 / 1e6
    yield Line(
        what=f"{SETS:,} sets, file to sentence, cold start included",
        seconds=seconds,
        peak_mb=peak,
        target="under 5 s; 300 MB",
        met=seconds < 5 and peak < 300,
    )


def write_month(out: Path) -> None:
    """The generator's years, cut to its one January of about two thousand sets."""
    whole = out.with_name("years.csv")
    write_export(whole, rows=int(SETS * 36 * ROWS_PER_SET))
    with whole.open(encoding="utf-8") as lines, out.open("w", encoding="utf-8") as month:
        month.write(next(lines))
        month.writelines(line for line in lines if line.split(",")[6].startswith("2024-01"))


def call(workspace: Path, *words: str) -> None:
    """One run of the command line in a process of its own."""
    command = [sys.executable, "-m", "cubital", "--workspace", str(workspace), *words]
    subprocess.run(command, check=True, capture_output=True)
