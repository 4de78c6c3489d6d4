"""A FHIR export of one resource per line read into canonical rows, against parsing its lines and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench.measure import Line, Task, measure

WANTED = 30_000  # resources per second of one core
DRAWS, SMALL = 35_000, 1_500


def run(folder: Path, small: bool) -> Iterator[Line]:
    """The lines of this benchmark; the export of the invented network's largest hospital is made first."""
    draws = SMALL if small else DRAWS
    file = folder / f"export-{draws}.ndjson"
    if not file.exists():
        _write(file, draws)
    bare = measure("bench.resources:bare", str(file), repeat=3)
    yield Line(
        what=f"{bare.result:,} FHIR resources parsed and thrown away",
        seconds=bare.seconds,
        busy_seconds=bare.busy_seconds,
        peak_mb=bare.peak_mb,
    )
    read = measure("bench.resources:read", str(file), repeat=3)
    speed = bare.result / read.busy_seconds
    yield Line(
        what=f"the same into canonical rows: {read.result:,} sets",
        seconds=read.seconds,
        busy_seconds=read.busy_seconds,
        peak_mb=read.peak_mb,
        ratio=f"{read.busy_seconds / bare.busy_seconds:.1f} × parsing, {speed:,.0f} resources per core second",
        target=f"at least {WANTED:,} resources per core second",
        met=speed >= WANTED,
    )


def _write(file: Path, draws: int) -> None:
    from cubital.workspace.demo.draws import draw_world
    from cubital.workspace.demo.fhir_export import write_fhir_export
    from cubital.workspace.demo.files import DOUBLED_ROW, _history
    from cubital.workspace.demo.mess import spoil
    from cubital.workspace.demo.world import DEFAULT_SEED, HOSPITALS

    largest = next(iter(draw_world(DEFAULT_SEED)))
    spoil(largest, HOSPITALS[0], seed=DEFAULT_SEED)
    write_fhir_export(file, list(_history(largest))[:draws], doubled=DOUBLED_ROW)


def bare(file: str) -> Task:
    """Every line through the JSON parser."""
    import orjson

    held = {"count": 0}

    def work() -> None:
        with Path(file).open("rb", buffering=1 << 20) as stream:
            held["count"] = sum(1 for line in stream if orjson.loads(line))

    return Task(work=work, report=lambda: held["count"])


def read(file: str) -> Task:
    """The whole reading, from the file to the canonical tables of the session."""
    from cubital.domain.places import Facility, SourceMemory
    from cubital.engine import open_session
    from cubital.intake.reading import read_cultures

    held: dict[str, Any] = {}

    def work() -> None:
        with open_session(ordered=True) as session:
            intake = read_cultures(
                session,
                Path(file),
                facility=Facility(name="Marrowby General", timezone="America/Chicago"),
                secret=b"only for measuring this reading",
                memory=SourceMemory(columns={}, answers={}, organisms={}),
                accept=True,
                progress=lambda _step, _share: None,
            )
            held["sets"] = intake.reconciliation.sets

    return Task(work=work, report=lambda: held["sets"])
