"""The guard over a network's year: 60 units, 12 months, with hospitals, quarters and the year, nothing left before.

``guard`` hides as little as possible, exactly; how hard that is depends on how many counts are small, so three rates.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from bench.measure import Line, Task, measure
from cubital.indicators.disclosure.guard import guard
from cubital.indicators.disclosure.tables import CountTable, SmallCounts
from cubital.indicators.disclosure.unit_months import UnitMonth, build_unit_table, longer_spans

UNITS, HOSPITALS, SETS = 60, 3, 60
MONTHS = tuple(f"2026-{number:02d}" for number in range(1, 13))
RATES = (2, 10, 20)  # per cent
MOST_SECONDS = 5.0


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line per rate; the target is in seconds of work, as other work on the machine is none of it."""
    del folder
    for rate in RATES[:1] if small else RATES:
        done = measure("bench.guarding:guard_year", rate, repeat=1 if small else 3)
        hidden = f"{done.result['small']} small, {done.result['shields']} shields of {done.result['cells']} cells"
        yield Line(
            what=f"guard of 60 units × 12 months with totals, {rate} % contaminated ({hidden})", seconds=done.seconds,
            busy_seconds=done.busy_seconds, peak_mb=done.peak_mb, target=f"under {MOST_SECONDS:g} s",
            met=done.busy_seconds < MOST_SECONDS,
        )  # fmt: skip


def guard_year(rate: int) -> Task:
    """The table of one measure; what is measured is the guard alone."""
    table = build_year(rate / 100)
    found = {}

    def work() -> None:
        found["guarded"] = guard(table, SmallCounts())

    def report() -> dict[str, int]:
        guarded = found["guarded"]
        return {"cells": len(table.counts), "small": len(guarded.small), "shields": len(guarded.shielding)}

    return Task(work=work, report=report)


def build_year(rate: float) -> CountTable:
    """Binomial counts with a fixed seed; units of very different sizes."""
    draw = np.random.default_rng(1)
    sets = draw.poisson(SETS * draw.uniform(0.3, 2, (UNITS, 1)), (UNITS, len(MONTHS))) + 1
    counts = draw.binomial(sets, rate)
    rows = [
        UnitMonth(
            facility=f"hospital {unit % HOSPITALS}", unit=f"unit {unit}", month=month,
            counts={"contaminated": int(counts[unit, place])}, most={"contaminated": int(sets[unit, place])},
        )
        for unit in range(UNITS) for place, month in enumerate(MONTHS)
    ]  # fmt: skip
    return build_unit_table(rows, definition="bench", months=MONTHS, spans=longer_spans(MONTHS))
