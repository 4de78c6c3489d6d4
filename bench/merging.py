"""A correction of two thousand sets merged into a store of five million, against a bare rewrite of the same months."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench.make_sets import make_sets
from bench.measure import Line, Task, measure

ROWS, SMALL = 5_000_000, 200_000
CORRECTED = 2_000
OWN = "bottle, organism_key, raw_text, match, negated"
FEW, ALL = "2023-03", ""  # the first of the months that a correction speaks of


def run(folder: Path, small: bool) -> Iterator[Line]:
    """The lines of this benchmark; the store is made first, outside of what is measured."""
    rows = SMALL if small else ROWS
    store = folder / f"merging-{rows}"
    made = make_sets(folder / f"sets-{rows}", rows)
    build_store(store, made.sets, made.isolates)
    for months, first in (("two months", FEW), ("every month", ALL)):
        bare = measure("bench.merging:bare", str(store), first, repeat=2)
        yield Line(
            what=f"bare rewrite of the tables: {months}",
            seconds=bare.seconds, busy_seconds=bare.busy_seconds, peak_mb=bare.peak_mb,
        )  # fmt: skip
        merged = measure("bench.merging:merge", str(store), first, repeat=2)
        few = first == FEW
        yield Line(
            what=f"{CORRECTED:,} corrections of {rows:,} sets in {months}: {merged.result:,} changed",
            seconds=merged.seconds,
            busy_seconds=merged.busy_seconds,
            peak_mb=merged.peak_mb,
            ratio=f"{merged.seconds / bare.seconds:.1f} × bare",
            target="at most 3 s" if few else "",
            met=merged.seconds <= 3 if few else None,
        )


def build_store(place: Path, sets: tuple[Path, ...], isolates: tuple[Path, ...]) -> None:
    """A store of these sets with two bottles each, its files joined; the versions are noted beside it."""
    from cubital.domain.snapshots import TableVersions
    from cubital.engine import open_session
    from cubital.store.cultures import CultureStore

    if (place / "done").exists():
        return
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir(parents=True)
    store = CultureStore(place / "cultures")
    store.folder.mkdir()
    with open_session(folders=[store.folder, isolates[0].parent], memory="4GB", ordered=True) as session:
        session.add_parquet_view("made_sets", sets)
        session.add_parquet_view("made_isolates", isolates)
        session.do("create view new_sets as select set_id as row_set, * exclude (set_id, batch) from made_sets")
        session.do("create view new_isolates as select set_id as row_set, " + OWN + " from made_isolates")
        session.do(NEW_BOTTLES.format(source="made_sets", key="set_id"))
        versions = store.merge(session, versions=TableVersions(), batch=1).versions
    versions = store.compact(store.crowded_months(versions, at_least=2), versions=versions, number=1).versions
    (place / "done").write_text(f"{versions.sets} {versions.bottles} {versions.isolates} {versions.movements}")


NEW_BOTTLES = """
create view new_bottles as
select {key} as row_set, unnest([1, 2])::integer as bottle, unnest(['aerobic', 'anaerobic']) as kind,
  null::double as fill_ml, '' as fill_source, false as grew
from {source}
"""


def merge(place: str, first: str) -> Task:
    """The correction: every set named has another unit, and every tenth an organism. Undone after each run."""
    from cubital.engine import open_session
    from cubital.store.cultures import CultureStore

    store, versions = CultureStore(Path(place) / "cultures"), _versions(Path(place))
    correction = Path(place) / f"correction-{first or 'all'}.parquet"
    _write_correction(store, versions, correction, first=first)
    held: dict[str, Any] = {"versions": versions}

    def work() -> None:
        clean = store.recover(versions, last_batch=1, last_compaction=1)
        with open_session(folders=[store.folder, correction.parent], ordered=True) as session:
            session.do(f"create table new_sets as from read_parquet('{correction}')")
            session.do(NEW_BOTTLES.replace("create view", "create table").format(source="new_sets", key="row_set"))
            session.do(NEW_ISOLATES)
            outcome = store.merge(session, versions=clean, batch=2)
        held["changed"] = outcome.changed

    return Task(work=work, report=lambda: held["changed"])


NEW_ISOLATES = """
create table new_isolates as
select row_set, null::integer as bottle, 'escherichia-coli' as organism_key, 'E. coli' as raw_text, 'exact' as match,
  false as negated
from new_sets where row_set % 10 = 0
"""


def bare(place: str, first: str) -> Task:
    """The least that a correction by month must do: read the months' rows and write them again."""
    import duckdb

    from cubital.store.cultures import CultureStore

    store, versions = CultureStore(Path(place) / "cultures"), _versions(Path(place))
    out = Path(place) / "bare"
    files = {
        name: [
            str(store.table(name).folder / file.path)
            for file in store.table(name).files(getattr(versions, name))
            if not first or first <= file.month <= _next(first)
        ]
        for name in ("sets", "bottles", "isolates")
    }

    def work() -> None:
        shutil.rmtree(out, ignore_errors=True)
        out.mkdir()
        with duckdb.connect() as connection:
            connection.execute("set threads = 2")
            for name, paths in files.items():
                connection.execute(
                    f"copy (from read_parquet({paths}, hive_partitioning = false)) to '{out / name}' "
                    "(format parquet, compression zstd, partition_by (month), write_partition_columns true)"
                )

    return Task(work=work)


def _write_correction(store: Any, versions: Any, out: Path, *, first: str) -> None:
    where = f"month between '{first}' and '{_next(first)}'" if first else "true"
    with store.open_snapshot(versions) as session:
        drawn = session.scratch / "correction.parquet"
        session.do(f"""
            copy (
              select row_number() over (order by set_id) as row_set, 'corrected' as unit_key,
                * exclude (set_id, batch, unit_key)
              from (from sets where {where} order by hash(set_id, 1) limit {CORRECTED})
            ) to '{drawn}' (format parquet)
        """)
        shutil.move(drawn, out)


def _versions(place: Path) -> Any:
    from cubital.domain.snapshots import TableVersions

    names = ("sets", "bottles", "isolates", "movements")
    numbers = (place / "done").read_text().split()
    return TableVersions(**{name: int(number) for name, number in zip(names, numbers, strict=True)})


def _next(month: str) -> str:
    year, number = int(month[:4]), int(month[5:])
    return f"{year + number // 12}-{number % 12 + 1:02d}"
