"""A million rows keyed, reconciled and stored, against a bare columnar read and write of the same file."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench.make_csv import write_export
from bench.measure import Line, Task, measure

ROWS, SMALL = 1_000_000, 100_000


def run(folder: Path, small: bool) -> Iterator[Line]:
    """The lines of this benchmark; the file is made first."""
    rows = SMALL if small else ROWS
    file = folder / f"export-{rows}.csv"
    if not file.exists():
        write_export(file, rows=rows)
    bare = measure("bench.importing:bare", str(file), str(folder), repeat=3)
    yield Line(what="bare columnar read and write of the file", seconds=bare.seconds, peak_mb=bare.peak_mb)
    taken = measure("bench.importing:take", str(file), str(folder / "taken"), repeat=3)
    report = taken.result
    yield Line(
        what=f"{report['rows']:,} rows taken: keyed, reconciled, {report['sets']:,} sets stored",
        seconds=taken.seconds,
        peak_mb=taken.peak_mb,
        ratio=f"{taken.seconds / bare.seconds:.1f} × bare",
        target="at most 3 × bare; under 2 GB",
        met=taken.seconds <= 3 * bare.seconds and taken.peak_mb < 2000,
    )


def bare(file: str, folder: str) -> Task:
    """All columns as text into Parquet, as the engine does it by itself."""
    import duckdb

    out = Path(folder) / "bare.parquet"

    def work() -> None:
        connection = duckdb.connect()
        connection.execute("set threads = 2")
        connection.execute(
            f"copy (select * from read_csv('{file}', all_varchar = true)) to '{out}' (format parquet, compression zstd)"
        )
        connection.close()

    return Task(work=work)


def take(file: str, folder: str) -> Task:
    """The whole way in through the workspace; each run into a fresh one, which is made outside the measured part."""
    from cubital.workspace.opening import open_workspace
    from cubital.workspace.taking import take_file

    place = Path(folder)
    shutil.rmtree(place, ignore_errors=True)
    held: dict[str, Any] = {"run": 0}

    def fresh() -> Any:
        held["run"] += 1
        return open_workspace(place / str(held["run"]))

    def work() -> None:
        with fresh() as workspace:
            report = take_file(
                workspace, file=Path(file), facility="Marrowby General", timezone="America/Chicago", accept=True
            )
        held["report"] = {"rows": report.rows, "sets": report.sets}

    return Task(work=work, report=lambda: held["report"])
