"""Judging and monthly rates by unit over ten million sets, against the engine's own count and a data-frame script."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench.make_sets import make_sets
from bench.measure import Line, Measured, Task, measure
from cubital.domain.charter import Population, with_population
from cubital.domain.tables import BOTTLES
from cubital.engine import Session, open_session
from cubital.engine.session import DEFAULT_MEMORY
from cubital.judge.api import count_months, count_rates
from cubital.judge.counts import MonthCounts
from cubital.judge.preparing import UNIT_NAMES
from cubital.reference.charters import published_charters

THREADS = 2
MEMORY = "350MB"  # DuckDB's share; Python and its libraries come on top of it
ROWS, SMALL = 10_000_000, 500_000
A, B = "a_one_of_several_all_sets", "b_one_of_several_eligible_sets"
STORED_WORDS = "select month, unit_key, count(*) from sets group by all"
FROM_TIMES = "select date_trunc('month', collected_at), unit_key, count(*) from sets group by all"

Plain = dict[str, Any]


def run(folder: Path, small: bool) -> Iterator[Line]:
    """The lines of this benchmark; data are made first."""
    rows = SMALL if small else ROWS
    place = str(folder / f"sets-{rows}")
    make_sets(Path(place), rows)
    words = measure("bench.judging:count", place, STORED_WORDS)
    times = measure("bench.judging:count", place, FROM_TIMES)
    yield _line("month × unit count, month as stored word", words)
    yield _line("month × unit count, month taken from the collection time", times)
    swift = measure("bench.judging:rates", place, A)
    yield _line(
        f"judging and monthly rates by unit, {rows:,} sets",
        swift,
        ratio=f"{_times(swift, times)} count from times, {_times(swift, words)} stored words",
        target="at most 4 × the count; under 600 MB",
        met=swift.seconds <= 4 * words.seconds and swift.peak_mb < 600,
    )
    script = measure("bench.judging:script", place, repeat=1)
    same = script.result == swift.result
    yield _line(
        "the same by a vectorised data-frame script" + (" (identical classes)" if same else " (CLASSES DIFFER)"),
        script,
        ratio=f"{_times(script, swift)} as long, {script.peak_mb / swift.peak_mb:.0f} × the memory",
        target="judging at least 20 × faster, identical classes",
        met=same and script.seconds >= 20 * swift.seconds,
    )
    for key, what in ((A, "with every series (single sets, episodes)"), (B, "over eligible series")):
        whole = measure("bench.judging:months", place, key, repeat=1)
        yield _line(f"judging {what}", whole, ratio=f"{_times(whole, times)} count from times")


def count(folder: str, sql: str) -> Task:
    """The engine's own count."""
    session = _session(folder)
    return Task(work=lambda: session.rows(sql))


def rates(folder: str, key: str) -> Task:
    """Rates by month and unit, the short way, and every class that partners decided."""
    session = _session(folder)
    charter = with_population(published_charters()[key], Population.ADULTS)
    found: list[MonthCounts] = []

    def work() -> None:
        found[:] = count_rates(session, charter, by="unit")

    return Task(work=work, report=lambda: _digests(_rows(found), _suspects(session)))


def months(folder: str, key: str) -> Task:
    """Counts by month and unit with every series, in as much memory as a session usually has."""
    session = _session(folder, DEFAULT_MEMORY)
    charter = with_population(published_charters()[key], Population.ADULTS)
    return Task(work=lambda: count_months(session, charter, by="unit"))


def script(folder: str) -> Task:
    """The data-frame script."""
    from bench.judging_pandas import judge

    made = make_sets(Path(folder), 0)
    sets, isolates = ([str(file) for file in files] for files in (made.sets, made.isolates))
    found: list[Plain] = []

    def work() -> None:
        found[:] = [judge(sets, isolates)]

    return Task(work=work, report=lambda: _digests(found[0]["rows"], found[0]["classes"]))


def _session(folder: str, memory: str = MEMORY) -> Session:
    made = make_sets(Path(folder), 0)
    session = open_session(folders=[Path(folder)], memory=memory, threads=THREADS)
    session.add_parquet_view("sets", made.sets)
    session.add_parquet_view("isolates", made.isolates)
    session.add_rows("bottles", BOTTLES, [])
    session.add_rows("unit_names", UNIT_NAMES, [])
    return session


def _rows(found: list[MonthCounts]) -> list[list[str | int | None]]:
    counted = [one for one in found if one.sets]
    return [[one.month, one.facility, one.unit, one.sets, one.numerator, one.positives] for one in counted]


def _suspects(session: Session) -> dict[str, list[int]]:
    rows = session.rows("select set_class, list(set_id order by set_id) from verdicts group by set_class order by 1")
    return dict(rows)


def _digests(rows: list[list[Any]], classes: dict[str, list[int]]) -> dict[str, str]:
    return {name: _digest(value) for name, value in (("rows", sorted(rows)), *sorted(classes.items()))}


def _digest(value: object) -> str:
    return hashlib.sha256(json.dumps(value).encode()).hexdigest()[:16]


def _times(one: Measured, other: Measured) -> str:
    """How many times as long, by the clock and (in brackets) by busy seconds of all cores."""
    return f"{one.seconds / other.seconds:.1f} × ({one.busy_seconds / other.busy_seconds:.1f})"


def _line(what: str, measured: Measured, *, ratio: str = "", target: str = "", met: bool | None = None) -> Line:
    return Line(
        what=what,
        seconds=measured.seconds,
        busy_seconds=measured.busy_seconds,
        peak_mb=measured.peak_mb,
        ratio=ratio,
        target=target,
        met=met,
    )
