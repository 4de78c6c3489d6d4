"""A committee pack for 60 units of three hospitals over 36 months, 300,000 sets: from the stored tables to the PDF.

The first pack of a workspace, and the next one beside it, each in a process of its own; the target is in seconds of
work. Counting, guarding beside what left before, receipts, keeping and setting the pages are all in it.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import duckdb

from bench.make_csv import ROWS_PER_SET, write_export
from bench.measure import Line, Task, measure
from cubital.workspace.opening import open_workspace
from cubital.workspace.packs import PackAsk, list_packs, make_pack, print_pack
from cubital.workspace.taking import take_file

HOSPITALS, UNITS = ("Marrowby", "Thistlecombe", "Orrin Quay"), 20
SETS, SMALL = 300_000, 6_000
MOST_SECONDS = 10.0
SPANS = {"the first pack": ("2025-07", "2025-09"), "the next quarter's": ("2025-10", "2025-12")}


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line per pack."""
    sets = SMALL if small else SETS
    place = folder / f"pack-workspace-{sets}"
    shutil.rmtree(place, ignore_errors=True)
    fill_workspace(place, folder, sets)
    for name, span in SPANS.items():
        done = measure("bench.packs:pack", str(place), *span)
        yield Line(
            what=f"{name}, 60 units, {sets:,} sets ({done.result})", seconds=done.seconds,
            busy_seconds=done.busy_seconds, peak_mb=done.peak_mb, target=f"under {MOST_SECONDS:g} s",
            met=done.busy_seconds < MOST_SECONDS,
        )  # fmt: skip


def pack(place: str, first: str, last: str) -> Task:
    """The pack of all hospitals together, made, kept and printed."""

    def work() -> None:
        with open_workspace(Path(place)) as workspace:
            made = make_pack(workspace, ask=PackAsk(from_month=first, to_month=last))
            print_pack(workspace, number=made.number, out=Path(place) / "pack.pdf")

    def report() -> str:
        with open_workspace(Path(place)) as workspace:
            return list_packs(workspace)[-1].verdict.value.replace("_", " ")

    return Task(work=work, report=report)


def fill_workspace(place: Path, folder: Path, sets: int) -> None:
    """Makes a workspace of that many sets in 60 units of three hospitals, taken in from laboratory files."""
    with open_workspace(place, create=True) as workspace:
        for number, hospital in enumerate(HOSPITALS):
            file = folder / f"pack-{number}.csv"
            write_export(file, rows=int(sets / len(HOSPITALS) * ROWS_PER_SET))
            _with_units(file, hospital=number)
            take_file(workspace, file=file, facility=hospital, timezone="America/Chicago", accept=True)


def _with_units(file: Path, *, hospital: int) -> None:
    """The same file with twenty units, and with accessions and patients of its own."""
    made = file.with_suffix(".new.csv")
    duckdb.sql(
        f"""copy (select * replace (
            'UNIT ' || (hash(ACC_NO) % {UNITS})::varchar as LOC,
            (ACC_NO::bigint + {hospital} * 100000000)::varchar as ACC_NO,
            (MRN::bigint + {hospital} * 100000000)::varchar as MRN)
        from read_csv('{file}', all_varchar=true)) to '{made}' (header, delimiter ',')"""
    )
    made.replace(file)
