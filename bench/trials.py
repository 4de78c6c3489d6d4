"""A trial planned on a workspace of 300,000 sets and 60 units: local counts, size, order, and a simulated series.

Each design is measured in a process of its own.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from bench.measure import Line, Task, measure
from bench.packs import HOSPITALS, SETS, SMALL, fill_workspace
from cubital.domain.trial import TrialDesign
from cubital.workspace.opening import open_workspace
from cubital.workspace.trial_planning import TrialRequest, plan_trial

MOST_SECONDS = 3.0
DESIGNS = {
    "week by week": TrialDesign.WEEKS,
    "units beside units": TrialDesign.PARALLEL,
    "in steps": TrialDesign.STEPPED,
}


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line per design."""
    sets = SMALL if small else SETS
    place = folder / f"trial-workspace-{sets}"
    shutil.rmtree(place, ignore_errors=True)
    fill_workspace(place, folder, sets)
    for name, design in DESIGNS.items():
        done = measure("bench.trials:planned", str(place), design.value)
        yield Line(
            what=f"a trial {name} in twenty units, {sets:,} sets ({done.result})", seconds=done.seconds,
            busy_seconds=done.busy_seconds, peak_mb=done.peak_mb, target=f"under {MOST_SECONDS:g} s",
            met=done.seconds < MOST_SECONDS,
        )  # fmt: skip


def planned(place: str, design: str) -> Task:
    """A fall by a third, hoped for in one hospital."""
    said: list[str] = []

    def work() -> None:
        request = TrialRequest(
            facility=HOSPITALS[0], start=date(2026, 3, 2), relative_risk=0.67, design=TrialDesign(design), seed=7
        )
        with open_workspace(Path(place)) as workspace:
            said.append(plan_trial(workspace, request).reading.state.value.replace("_", " "))

    return Task(work=work, report=lambda: said[-1])
