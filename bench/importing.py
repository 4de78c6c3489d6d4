"""Files keyed, reconciled and stored, against a bare columnar read and write of the same file; and one workbook."""

from __future__ import annotations

import csv
import shutil
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from bench.make_csv import write_export
from bench.measure import Line, Task, measure

SIZES, SMALL_SIZES = ((1_000_000, 3), (10_000_000, 1)), ((100_000, 1),)  # rows, and how often each is measured
WORKBOOK_ROWS, SMALL_WORKBOOK_ROWS = 200_000, 10_000
MOST_RATIO, MOST_MB, MOST_WORKBOOK_SECONDS = 3, 1500, 15
TIMES = ("DOB", "ORD_DT", "COLL_DT", "RECV_DT", "LOAD_DT", "POS_DT")


def run(folder: Path, small: bool) -> Iterator[Line]:
    """The lines of this benchmark; the files are made first."""
    for rows, repeat in SMALL_SIZES if small else SIZES:
        file = _export(folder, rows)
        bare = measure("bench.importing:bare", str(file), str(folder), repeat=repeat)
        yield Line(
            what=f"bare columnar read and write of {rows:,} rows",
            seconds=bare.seconds,
            busy_seconds=bare.busy_seconds,
            peak_mb=bare.peak_mb,
        )
        taken = measure("bench.importing:take", str(file), str(folder / "taken"), repeat, repeat=repeat)
        report = taken.result
        yield Line(
            what=f"{report['rows']:,} rows taken: keyed, reconciled, {report['sets']:,} sets stored",
            seconds=taken.seconds,
            busy_seconds=taken.busy_seconds,
            peak_mb=taken.peak_mb,
            ratio=f"{taken.seconds / bare.seconds:.1f} × bare ({taken.busy_seconds / bare.busy_seconds:.1f})",
            target=f"at most {MOST_RATIO} × bare; under {MOST_MB:,} MB",
            met=taken.seconds <= MOST_RATIO * bare.seconds and taken.peak_mb < MOST_MB,
        )
    yield _workbook(folder, SMALL_WORKBOOK_ROWS if small else WORKBOOK_ROWS)


def _workbook(folder: Path, rows: int) -> Line:
    file = folder / f"export-{rows}.xlsx"
    if not file.exists():
        _write_workbook(_export(folder, rows), file)
    taken = measure("bench.importing:take", str(file), str(folder / "taken"), 1, repeat=1)
    return Line(
        what=f"{taken.result['rows']:,} rows of a workbook taken, {taken.result['sets']:,} sets stored",
        seconds=taken.seconds,
        busy_seconds=taken.busy_seconds,
        peak_mb=taken.peak_mb,
        target=f"under {MOST_WORKBOOK_SECONDS} s",
        met=taken.seconds < MOST_WORKBOOK_SECONDS,
    )


def _export(folder: Path, rows: int) -> Path:
    file = folder / f"export-{rows}.csv"
    if not file.exists():
        write_export(file, rows=rows)
    return file


def _write_workbook(export: Path, file: Path) -> None:
    """The export as a workbook, its times as true dates."""
    import xlsxwriter

    book = xlsxwriter.Workbook(file, {"constant_memory": True})
    sheet, shown = book.add_worksheet(), book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
    with export.open(encoding="utf-8", newline="") as stream:
        for number, row in enumerate(csv.DictReader(stream), start=1):
            if number == 1:
                sheet.write_row(0, 0, list(row))
            for column, (name, cell) in enumerate(row.items()):
                if name in TIMES and cell:
                    sheet.write_datetime(number, column, datetime.fromisoformat(cell), shown)
                else:
                    sheet.write(number, column, cell)
    book.close()


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


def take(file: str, folder: str, times: int) -> Task:
    """The whole way in through the workspace; each run into a fresh one, which is made outside the measured part."""
    from cubital.workspace.opening import open_workspace
    from cubital.workspace.taking import take_file

    place = Path(folder)
    shutil.rmtree(place, ignore_errors=True)
    fresh = [place / str(number) for number in range(times)]
    for workspace_folder in fresh:
        open_workspace(workspace_folder).close()
    held: dict[str, Any] = {}

    def work() -> None:
        with open_workspace(fresh.pop()) as workspace:
            report = take_file(
                workspace, file=Path(file), facility="Marrowby General", timezone="America/Chicago", accept=True
            )
        held["report"] = {"rows": report.rows, "sets": report.sets}

    return Task(work=work, report=lambda: held["report"])
