"""Judging and monthly rates by unit over up to fifty million sets, against the engine's count and a script."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import linear_regression
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
WIDE = "1GB"  # DuckDB's share over fifty million sets
ROWS, SMALL = (1_000_000, 10_000_000, 50_000_000), (50_000, 200_000, 500_000)
A = "a_one_of_several_all_sets"
STORED_WORDS = "select month, unit_key, count(*) from sets group by all"
FROM_TIMES = "select date_trunc('month', collected_at), unit_key, count(*) from sets group by all"

Plain = dict[str, Any]


@dataclass(frozen=True)
class Judged:
    """One size: the two counts of the engine, and the judgement."""

    sets: int
    words: Measured
    times: Measured
    swift: Measured


def run(folder: Path, small: bool) -> Iterator[Line]:
    """The lines of this benchmark; data are made first. The middle size is the one that anything was asked of."""
    found = []
    for rows in SMALL if small else ROWS:
        place = str(folder / f"sets-{rows}")
        sets = make_sets(Path(place), rows).rows
        memory = WIDE if rows == ROWS[-1] else MEMORY
        one = Judged(
            sets=sets,
            words=measure("bench.judging:count", place, STORED_WORDS),
            times=measure("bench.judging:count", place, FROM_TIMES),
            swift=measure("bench.judging:rates", place, A, memory),
        )
        found.append(one)
        yield from _judged_lines(one, memory)
        if len(found) == 2:
            yield from _other_ways(place, one)
    yield _growth_line(found)


def _judged_lines(one: Judged, memory: str) -> Iterator[Line]:
    yield _line(f"month × unit count of {one.sets:,} sets, month as stored word", one.words)
    yield _line("month × unit count, month taken from the collection time", one.times)
    yield _line(
        f"judging and monthly rates by unit, {one.sets:,} sets, engine limit {memory}",
        one.swift,
        ratio=f"{_times(one.swift, one.times)} count from times, {_times(one.swift, one.words)} stored words",
        target="at most 3 × the count; under 600 MB at 10 million, under 1 GB of the engine at 50 million",
        met=one.swift.seconds <= 3 * one.times.seconds and one.swift.peak_mb < (1200 if memory == WIDE else 600),
    )


def _other_ways(place: str, one: Judged) -> Iterator[Line]:
    script = measure("bench.judging:script", place, repeat=1)
    same = script.result == one.swift.result
    yield _line(
        "the same by a vectorised data-frame script" + (" (identical classes)" if same else " (CLASSES DIFFER)"),
        script,
        ratio=f"{_times(script, one.swift)} as long, {script.peak_mb / one.swift.peak_mb:.0f} × the memory",
        target="judging at least 25 × faster, identical classes",
        met=same and script.seconds >= 25 * one.swift.seconds,
    )
    whole = measure("bench.judging:months", place, A, repeat=1)
    yield _line(
        "judging with every series (single sets, episodes)", whole, ratio=f"{_times(whole, one.times)} count from times"
    )


def _growth_line(found: list[Judged]) -> Line:
    clock = growth_exponent([(one.sets, one.swift.seconds) for one in found])
    busy = growth_exponent([(one.sets, one.swift.busy_seconds) for one in found])
    last = found[-1].swift
    return Line(
        what=f"growth of judging from {found[0].sets:,} to {found[-1].sets:,} sets",
        seconds=last.seconds,
        busy_seconds=last.busy_seconds,
        peak_mb=last.peak_mb,
        ratio=f"exponent {clock:.2f} by the clock, {busy:.2f} by busy seconds",
        target="at most 1.05",
        met=clock <= 1.05,
    )


def growth_exponent(points: list[tuple[int, float]]) -> float:
    """The slope of log seconds over log size by least squares: 1 is in proportion."""
    sizes, seconds = [math.log(size) for size, _ in points], [math.log(second) for _, second in points]
    return linear_regression(sizes, seconds).slope


def count(folder: str, sql: str) -> Task:
    """The engine's own count."""
    session = _session(folder)
    return Task(work=lambda: session.rows(sql))


def rates(folder: str, key: str, memory: str) -> Task:
    """Rates by month and unit, the short way, and every class that partners decided."""
    session = _session(folder, memory)
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
    session.add_parquet_view("set_isolates", made.isolates)
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
