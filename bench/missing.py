"""What may be missed and what would move it: seconds and memory over 36 months, 300,000 sets; and the models alone.

From the stored tables to the answer, as the workspace makes it: judging, infections by series, single sets, shares.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from bench.fair import ASKED, CHARTER, SETS, SMALL
from bench.judging import _session
from bench.make_sets import make_sets
from bench.measure import Line, Task, measure
from cubital.answers.driver_table import LocalShares, build_driver_answer
from cubital.answers.episode_volumes import build_episode_volumes
from cubital.answers.missed import build_missed_answer
from cubital.answers.missed_reading import FillRules, MissedMaterial, read_missed
from cubital.domain.cultures import AgeGroup
from cubital.judge.api import count_months, count_process
from cubital.judge.cells import Dimension, count_cells
from cubital.judge.found import count_found_series
from cubital.reference.policy_drivers import Share

CHILDREN = (AgeGroup.UNDER_1, AgeGroup.FROM_1_TO_17)
RULES = FillRules(target_ml=36, cap_ml=40, bottles=4)
WEIGHED = 5_000  # sets on the sheet


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line per answer."""
    rows = SMALL if small else SETS
    place = folder / f"sets-{rows}"
    make_sets(place, rows)
    for name, words in (("missed", "infections missed, from cultures and 5,000 weighed sets"),
                        ("drivers", "changes of policy over local shares")):  # fmt: skip
        done = measure(f"bench.missing:{name}", str(place))
        yield Line(
            what=f"{words}, {done.result:,} sets in 36 months", seconds=done.seconds, busy_seconds=done.busy_seconds,
            peak_mb=done.peak_mb, ratio="", target="under 3 s, 600 MB", met=done.seconds < 3 and done.peak_mb < 600,
        )  # fmt: skip


def missed(folder: str) -> Task:
    """Infections and single sets counted, seven models laid over the episodes of a weigh-in."""
    session = _session(folder)
    counted: list[int] = []

    def work() -> None:
        months = count_months(session, CHARTER, scope=ASKED)
        found = count_found_series(session, without=CHILDREN)
        single = sum(one.solitary or 0 for one in months) / max(1, sum(one.episodes or 0 for one in months))
        volumes = build_episode_volumes([12.0 + number % 9 for number in range(WEIGHED)], single_share=single)
        build_missed_answer(read_missed(MissedMaterial(found=found, volumes=volumes, rules=RULES)))
        counted[:] = [sum(one.sets for one in months)]

    return Task(work=work, report=lambda: counted[0])


def drivers(folder: str) -> Task:
    """The shares that changes would touch, and the table."""
    session = _session(folder)
    counted: list[int] = []

    def work() -> None:
        months = count_months(session, CHARTER, scope=ASKED)
        found = count_found_series(session, without=CHILDREN)
        by = (Dimension.METHOD, Dimension.HOUR)
        cells = count_cells(session, CHARTER, by=by, scope=ASKED, judge=False)
        count_process(session, CHARTER, scope=ASKED, judge=False)
        sets, contaminated = int(cells.denominator.sum()), int(cells.numerator.sum())
        shares = {Share.LINE: 0.2, Share.NEW_CANNULA: 0.1, Share.SINGLE: 0.2}
        build_driver_answer(LocalShares(sets=sets, contaminated=contaminated, shares=shares, found=found))
        counted[:] = [sum(one.sets for one in months)]

    return Task(work=work, report=lambda: counted[0])
