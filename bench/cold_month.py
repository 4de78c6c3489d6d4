"""A month of two thousand sets, from the file to the sentence, every start of the program included."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from bench.make_csv import ROWS_PER_SET, write_export
from bench.measure import ROOT, Line

SETS = 2_000
# The engine loads pandas and pyarrow when they are there; `make demo` does not install them, only the tests do.
AS_INSTALLED = (
    "import atexit, os, sys; sys.modules.update(pandas=None, pyarrow=None)\n"
    "from bench.measure import most_memory_mb\n"
    "atexit.register(lambda: open(os.environ['PEAK'], 'w').write(str(most_memory_mb())))\n"
    "from cubital.cli import main; main()"
)


def run(folder: Path, small: bool) -> Iterator[Line]:
    """Two processes, as a person would type them: take the file, ask for the month."""
    del small
    file = folder / "month.csv"
    write_month(file)
    workspace = folder / "month-workspace"
    shutil.rmtree(workspace, ignore_errors=True)
    start = time.perf_counter()
    place = ("--facility", "Marrowby General")
    peaks = [
        call(workspace, "take", str(file), *place, "--timezone", "America/Chicago", "--yes"),
        call(workspace, "month", "2024-01"),
    ]
    seconds = time.perf_counter() - start
    yield Line(
        what=f"{SETS:,} sets, file to sentence, cold start included",
        seconds=seconds,
        peak_mb=max(peaks),
        ratio=f"take {peaks[0]:.0f} MB, month {peaks[1]:.0f} MB",
        target="under 5 s; 300 MB",
        met=seconds < 5 and max(peaks) < 300,
    )


def write_month(out: Path) -> None:
    """The generator's years, cut to its one January of about two thousand sets."""
    whole = out.with_name("years.csv")
    write_export(whole, rows=int(SETS * 36 * ROWS_PER_SET))
    with whole.open(encoding="utf-8") as lines, out.open("w", encoding="utf-8") as month:
        month.write(next(lines))
        month.writelines(line for line in lines if line.split(",")[6].startswith("2024-01"))


def call(workspace: Path, *words: str) -> float:
    """One run of the command line in a process of its own; the most memory it held, in MB."""
    command = [sys.executable, "-c", AS_INSTALLED, "--workspace", str(workspace), *words]
    peak = workspace.with_name("peak.txt")
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=ROOT, env={**os.environ, "PEAK": str(peak)})
    return float(peak.read_text())
