"""Judging and monthly rates by unit on Spark on one machine, against the embedded engine; and what it moves.

Spark is for many machines. On one it shall stay within reach of the embedded engine, in memory bounded by its parts.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench.judging import MEMORY, A, _digest, _rows
from bench.make_sets import make_sets
from bench.measure import Line, Measured, Task, measure
from cubital.domain.charter import Population, with_population
from cubital.domain.tables import BOTTLES
from cubital.engine.spark import open_spark
from cubital.engine.spark_running import java_process, stop_spark
from cubital.judge.api import count_rates
from cubital.judge.counts import MonthCounts
from cubital.judge.preparing import UNIT_NAMES
from cubital.reference.charters import published_charters

ROWS, SMALL = (1_000_000, 10_000_000), (200_000,)
MASTER = "local[2]"
MOST = 25  # times the embedded engine


def run(folder: Path, small: bool) -> Iterator[Line]:
    """Two lines for every size; data are made first."""
    for rows in SMALL if small else ROWS:
        place = str(folder / f"sets-{rows}")
        make_sets(Path(place), rows)
        embedded = measure("bench.judging:rates", place, A, MEMORY)
        yield _line(f"embedded engine, {rows:,} sets", embedded)
        spark = measure("bench.engines:rates", place, A, repeat=2)
        yield _spark_line(spark, embedded, rows)


def rates(folder: str, key: str) -> Task:
    """Rates by month and unit on a local Spark; reports what it found, what it moved, and its Java machine's share."""
    log = tempfile.mkdtemp(prefix="cubital-bench-events-")
    settings = {
        "spark.eventLog.enabled": "true",
        "spark.eventLog.dir": Path(log).as_uri(),
        "spark.eventLog.rolling.enabled": "false",
        "spark.eventLog.compress": "false",
    }
    made = make_sets(Path(folder), 0)
    session = open_spark(MASTER, settings=settings)
    for name, files in (("sets", made.sets), ("isolates", made.isolates), ("set_isolates", made.isolates)):
        session.add_parquet_view(name, files)
    session.add_rows("bottles", BOTTLES, [])
    session.add_rows("unit_names", UNIT_NAMES, [])
    charter = with_population(published_charters()[key], Population.ADULTS)
    found: list[MonthCounts] = []
    runs: list[float] = []

    def work() -> None:
        before = _java_seconds()
        found[:] = count_rates(session, charter, by="unit")
        runs.append(_java_seconds() - before)

    def report() -> dict[str, Any]:
        files, peak = len(made.sets) + len(made.isolates), _java_peak_mb()
        stop_spark()
        moved = {name: number // len(runs) for name, number in _moved(Path(log)).items()}
        return {"rows": _digest(sorted(_rows(found))), "files": files, "java_mb": peak, "busy": min(runs), **moved}

    return Task(work=work, report=report)


def _moved(log: Path) -> Counter[str]:
    """Tasks, and bytes read, shuffled, sent whole and spilled, added up over every task of the event log."""
    total: Counter[str] = Counter()
    for file in log.iterdir():
        for line in file.read_text(encoding="utf-8").splitlines():
            event = json.loads(line)
            if event["Event"] == "SparkListenerTaskEnd" and event.get("Task Metrics"):
                metrics = event["Task Metrics"]
                total["tasks"] += 1
                total["input_bytes"] += metrics["Input Metrics"]["Bytes Read"]
                total["shuffle_bytes"] += metrics["Shuffle Write Metrics"]["Shuffle Bytes Written"]
                total["spilled_bytes"] += metrics["Disk Bytes Spilled"]
    return total


def _java_seconds() -> float:
    cells = Path(f"/proc/{java_process()}/stat").read_text().rpartition(")")[2].split()
    return (int(cells[11]) + int(cells[12])) / os.sysconf("SC_CLK_TCK")


def _java_peak_mb() -> float:
    status = Path(f"/proc/{java_process()}/status").read_text().splitlines()
    return int(next(line for line in status if line.startswith("VmHWM:")).split()[1]) * 1024 / 1e6


def _line(what: str, measured: Measured) -> Line:
    return Line(
        what=what, seconds=measured.seconds, busy_seconds=measured.busy_seconds, peak_mb=measured.peak_mb
    )  # fmt: skip


def _spark_line(spark: Measured, embedded: Measured, rows: int) -> Line:
    told = spark.result
    times, busy = spark.seconds / embedded.seconds, told["busy"] / embedded.busy_seconds
    same = "" if told["rows"] == embedded.result["rows"] else " (RATES DIFFER)"
    return Line(
        what=f"Spark {MASTER}, {rows:,} sets in {told['files']} files: {told['tasks']:,} tasks; per million sets "
        f"{told['input_bytes'] / rows:.1f} MB read, {told['shuffle_bytes'] / rows:.2f} MB shuffled, "
        f"{told['spilled_bytes'] / rows:.1f} MB spilled{same}",
        seconds=spark.seconds,
        busy_seconds=told["busy"],
        peak_mb=spark.peak_mb + told["java_mb"],
        ratio=f"{times:.1f} × ({busy:.1f}) embedded",
        target=f"at most {MOST} × at 10 M",
        met=not same and times <= MOST,
    )
