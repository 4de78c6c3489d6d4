"""Fair answers about places: seconds and memory of each over 36 months, 300,000 sets, 60 units and 1,500 collectors.

Each is measured in a process of its own, from the stored tables to the answer, as the workspace makes it: judging,
what stands beside, counting, comparing, hiding small counts.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

from bench.judging import _session
from bench.make_sets import make_sets
from bench.measure import Line, Task, measure
from cubital.answers.merged_history import build_merged_answer
from cubital.answers.merged_reading import MergedCounts, read_merged
from cubital.answers.place_words import By
from cubital.answers.places import PlacesSetting, build_places_answer
from cubital.answers.places_reading import PlaceCount, PlacesPolicy, read_places
from cubital.answers.standardised import build_standardised_answer
from cubital.answers.standardised_reading import read_standardised
from cubital.answers.visit import build_visit_answer
from cubital.answers.visit_reading import read_visit
from cubital.engine import Session
from cubital.indicators.disclosure.guard import guard
from cubital.indicators.disclosure.tables import SmallCounts
from cubital.judge.cells import Dimension, count_cells
from cubital.judge.counts import Scope
from cubital.judge.judging import judge_sets
from cubital.reference.charters import published_charters
from cubital.workspace.example_policy import build_example_policy
from cubital.workspace.places_answers import build_place_table, month_strata, unit_counts
from cubital.workspace.places_company import company_figures
from cubital.workspace.places_gathering import (
    STRATA,
    add_strata,
    hours_together,
    key_text,
    place_columns,
    place_counts,
    strata_columns,
    tally_cells,
    value_of,
)

SETS, SMALL = 500_000, 40_000  # over sixty months, of which thirty-six are asked about
UNITS, COLLECTORS = 20, 1_500  # units in each of three hospitals
CHARTER = published_charters()["a_one_of_several_all_sets"]
ASKED = Scope(from_month="2023-01", to_month="2025-12")
MIDDLE = "2024-07"
POLICY = PlacesPolicy()
SETTING = PlacesSetting(heading="Unit")


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line per answer; where the time goes stands as a ratio: the judge's part of it."""
    rows = SMALL if small else SETS
    place = folder / f"sets-{rows}"
    make_sets(place, rows)
    for name, words in (
        ("units", "units side by side, small counts hidden"), ("hours", "hours side by side"),
        ("standard", "units, their mix allowed for"), ("visit", "one unit before and after a visit"),
        ("merged", "two histories around a merger"),
    ):  # fmt: skip
        done = measure(f"bench.fair:{name}", str(place))
        sets, judged = done.result
        yield Line(
            what=f"{words}, {sets:,} sets in 36 months", seconds=done.seconds, busy_seconds=done.busy_seconds,
            peak_mb=done.peak_mb, ratio=f"the judge alone {judged:.2f} s", target="under 2 s, 600 MB",
            met=done.seconds < 2 and done.peak_mb < 600,
        )  # fmt: skip


def units(folder: str) -> Task:
    """Who stands out among sixty units."""
    return _compared(folder, By.UNIT)


def hours(folder: str) -> Task:
    """Which of twenty-four hours stands out."""
    return _compared(folder, By.HOUR)


def _compared(folder: str, by: By) -> Task:
    session = _places_session(folder)

    def work() -> None:
        counts = _counts(session, by, strata=False)
        guard(build_place_table(counts), SmallCounts())
        build_places_answer(read_places(counts, policy=POLICY), setting=SETTING)

    return Task(work=work, report=lambda: _report(session))


def standard(folder: str) -> Task:
    """Who still stands out once age group, way of drawing and shift are allowed for."""
    session = _places_session(folder)

    def work() -> None:
        counts = _counts(session, By.UNIT, strata=True)
        guard(build_place_table(counts), SmallCounts())
        build_standardised_answer(read_standardised(counts, policy=POLICY), setting=SETTING, by="mix")

    return Task(work=work, report=lambda: _report(session))


def visit(folder: str) -> Task:
    """One unit before and after."""
    session = _places_session(folder)

    def work() -> None:
        cells = count_cells(session, CHARTER, by=(Dimension.FACILITY, Dimension.UNIT, Dimension.MONTH), scope=ASKED)
        before, after = (unit_counts(cells, keep=keep) for keep in (lambda m: m < MIDDLE, lambda m: m > MIDDLE))
        reading = read_visit(before, after, key=before[0].key, months=(18, 17), policy=POLICY)
        build_visit_answer(reading, name="Unit")

    return Task(work=work, report=lambda: _report(session))


def merged(folder: str) -> Task:
    """All hospitals' histories at one mix."""
    session = _places_session(folder)

    def work() -> None:
        cells = count_cells(session, CHARTER, by=(Dimension.FACILITY, Dimension.MONTH, *STRATA), scope=ASKED)
        counts = MergedCounts(cells=month_strata(cells), at=MIDDLE, own={})
        build_merged_answer(read_merged(counts), by="mix")

    return Task(work=work, report=lambda: _report(session))


def _counts(session: Session, by: By, *, strata: bool) -> tuple[PlaceCount, ...]:
    company_figures(session, CHARTER, scope=ASKED, policy=build_example_policy())
    cells = count_cells(session, CHARTER, by=place_columns(by), scope=ASKED, judge=False)
    tallies, _nowhere = tally_cells(cells, value_of(by))
    if strata:
        together = hours_together(by)
        split = count_cells(session, CHARTER, by=strata_columns(by), scope=ASKED, judge=False, together=together)
        add_strata(tallies, split, value_of(by))
    return place_counts(tallies, {key: key_text(key) for key in tallies}, by)


def _report(session: Session) -> tuple[int, float]:
    """How many sets were counted, and how long judging them alone takes."""
    start = time.perf_counter()
    judge_sets(session, CHARTER, scope=ASKED)
    judged = time.perf_counter() - start
    cells = count_cells(session, CHARTER, by=(Dimension.FACILITY,), judge=False)
    return int(cells.denominator.sum()), judged


def _places_session(folder: str) -> Session:
    session = _session(folder)
    session.add_parquet_view("stored", make_sets(Path(folder), 0).sets)
    session.do(
        "create or replace temp view sets as select * replace "
        f"('U' || (hash(unit_key, facility) % {UNITS})::varchar as unit_key, "
        f"'B' || (hash(patient_key, day) % {COLLECTORS})::varchar as collector_key, 'A' as attribution) from stored"
    )
    return session
