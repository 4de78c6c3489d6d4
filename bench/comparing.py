"""Fair comparisons and hours: seconds over 300,000 sets of 1,500 collectors, and how often they speak of nothing.

Calibration: networks in which day and night do not differ while collectors do (standard deviation 0.5 in log odds),
once with the same people day and night and once with other people at night; asked is that a difference is called in at
most one of twenty. Coverage: the Wilson interval at the sizes that observation sheets have. Seeds stand in each line.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from scipy.stats import binom

from bench.judging import _session
from bench.make_sets import make_sets
from bench.measure import Line, Task, measure, most_memory_mb
from cubital.answers.compared import build_compared_answer
from cubital.answers.compared_reading import ComparedCell, ComparedMaterial, Divided, read_comparison
from cubital.answers.hours import build_hours_answer
from cubital.answers.hours_reading import read_hours
from cubital.domain.charter import Charter
from cubital.engine import Session
from cubital.judge.cells import CellCounts, count_cells
from cubital.reference.charters import published_charters
from cubital.stats.proportions import wilson_interval
from cubital.workspace.fair_gathering import (
    HOUR_DIMENSIONS,
    FairBy,
    comparison_material,
    fair_dimensions,
    fair_together,
    hours_material,
)

SETS, SMALL = 300_000, 20_000
COLLECTORS = 1_500
NETWORKS, FEW = 400, 40
SIZES = (10, 26, 53, 141)
CHARTER = "a_one_of_several_all_sets"


def run(folder: Path, small: bool) -> Iterator[Line]:
    """The answers' time, the model's alone, and the calibration."""
    rows = SMALL if small else SETS
    place = folder / f"sets-{rows}"
    made = make_sets(place, rows)
    for task, words, seconds in (
        ("comparison", "day and night compared", 2), ("model", "the mixed model alone, counts gathered", 5),
        ("hours", "best twelve hours", 2),
    ):  # fmt: skip
        done = measure(f"bench.comparing:{task}", str(place))
        yield Line(
            what=f"{words}, {made.rows:,} sets, {COLLECTORS:,} collectors", seconds=done.seconds,
            busy_seconds=done.busy_seconds, peak_mb=done.peak_mb, ratio=str(done.result),
            target=f"under {seconds} s, 600 MB", met=done.seconds < seconds and done.peak_mb < 600,
        )  # fmt: skip
    for apart in (False, True):
        yield _false_line(apart, FEW if small else NETWORKS)
    yield from (_coverage_line(size) for size in SIZES)


def _false_line(apart: bool, networks: int) -> Line:
    start, seed = time.perf_counter(), 21 + apart
    share = false_share(networks, seed=seed, apart=apart)
    error = math.sqrt(max(share * (1 - share), 0.05 * 0.95) / networks)
    who = "other collectors at night" if apart else "the same collectors day and night"
    return Line(
        what=f"a difference called in {networks} networks without one, {who} (seed {seed})",
        seconds=time.perf_counter() - start, peak_mb=most_memory_mb(), ratio=f"{share:.3f} ± {error:.3f}",
        target="at most 0.05", met=share - 2 * error <= 0.05,
    )  # fmt: skip


def _coverage_line(size: int) -> Line:
    start = time.perf_counter()
    mean, least = wilson_coverage(size)
    return Line(
        what=f"coverage of the Wilson interval at {size} draws, shares 0.5 to 0.95 (exact)",
        seconds=time.perf_counter() - start, peak_mb=most_memory_mb(), ratio=f"mean {mean:.3f}, least {least:.3f}",
        target="mean 0.94 to 0.96", met=0.94 <= mean <= 0.96,
    )  # fmt: skip


def false_share(networks: int, *, seed: int, apart: bool) -> float:
    """In what share of made networks without a difference between day and night one is called.

    Each has 40 collectors with 150 sets; ``apart``: half of the collectors draw by day only and half at night only.
    """
    random = np.random.default_rng(seed)
    called = 0
    for _network in range(networks):
        rates = 1 / (1 + np.exp(3.5 - 0.5 * random.normal(size=40)))
        cells = []
        for person, rate in enumerate(rates):
            by_day = 150 * (person % 2) if apart else int(random.binomial(150, 0.6))
            for group, sets in (("day", by_day), ("night", 150 - by_day)):
                if sets:
                    bad = int(random.binomial(sets, rate))
                    cells.append(
                        ComparedCell(group=group, stratum=(), sets=sets, contaminated=bad, cluster=str(person))
                    )
        material = ComparedMaterial(cells=tuple(cells), by=Divided.SHIFT, column="Shift", clusters="collector")
        reading = read_comparison(material)
        called += any(reading.different(pair) for pair in reading.pairs)
    return called / networks


def wilson_coverage(size: int) -> tuple[float, float]:
    """Mean and least exact coverage at ``size`` draws over true shares from 0.5 to 0.95."""
    intervals = [wilson_interval(x, size) for x in range(size + 1)]
    found = []
    for share in np.linspace(0.5, 0.95, 91):
        inside = [x for x, one in enumerate(intervals) if one.low <= share <= one.high]
        found.append(float(binom.pmf(inside, size, share).sum()))
    return float(np.mean(found)), min(found)


def comparison(folder: str) -> Task:
    """From the stored sets to the answer: judging, counting, comparing, the model."""
    session, charter = _session_with_collectors(folder), published_charters()[CHARTER]
    said: list[str] = []

    def work() -> None:
        cells = _shift_cells(session, charter)
        said[:] = [build_compared_answer(read_comparison(comparison_material(cells, FairBy.SHIFT))).verdict.value]

    return Task(work=work, report=lambda: said[0])


def model(folder: str) -> Task:
    """The reading alone, its counts gathered before."""
    session, charter = _session_with_collectors(folder), published_charters()[CHARTER]
    material = comparison_material(_shift_cells(session, charter), FairBy.SHIFT)
    return Task(work=lambda: read_comparison(material), report=lambda: f"{len(material.cells):,} cells")


def hours(folder: str) -> Task:
    """From the stored sets to the answer about hours."""
    session, charter = _session_with_collectors(folder), published_charters()[CHARTER]

    def work() -> None:
        build_hours_answer(read_hours(hours_material(count_cells(session, charter, by=HOUR_DIMENSIONS))))

    return Task(work=work)


def _shift_cells(session: Session, charter: Charter) -> CellCounts:
    by = fair_dimensions(FairBy.SHIFT)
    return count_cells(session, charter, by=by, together=fair_together(FairBy.SHIFT))


def _session_with_collectors(folder: str) -> Session:
    session = _session(folder)
    session.add_parquet_view("stored", make_sets(Path(folder), 0).sets)
    session.do(
        "create or replace temp view sets as select * replace "
        f"('B' || (hash(patient_key, day) % {COLLECTORS})::varchar as collector_key, 'A' as attribution) from stored"
    )
    return session
