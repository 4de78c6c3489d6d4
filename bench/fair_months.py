"""Fair answers about months: seconds and memory for each question over 300,000 sets, from stored tables to the answer.

Each question is measured in a process of its own, counting included, as the workspace asks it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from bench.judging import _session
from bench.make_sets import make_sets
from bench.measure import Line, Task, measure
from cubital.answers.below_target import build_target_answer
from cubital.answers.better import build_better_answer
from cubital.answers.charts.answering import build_chart_answer
from cubital.answers.charts.choosing import choose_chart
from cubital.answers.charts.gap_answering import build_gap_answer
from cubital.answers.charts.kinds import ChartKind
from cubital.answers.counts import MonthCount
from cubital.answers.since_when import build_since_answer
from cubital.answers.unit_months import build_units_answer
from cubital.domain.answer import Answer
from cubital.engine import QuerySession
from cubital.judge.api import count_rates
from cubital.reference.charters import published_charters
from cubital.workspace.asked_places import AskedPlace
from cubital.workspace.charters import DEFAULT_CHARTER
from cubital.workspace.place_counts import count_days, count_units, plain_counts
from cubital.workspace.signals import gaps_of_days

SETS, SMALL = 300_000, 20_000
CHARTER = published_charters()[DEFAULT_CHARTER]


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line per question."""
    rows = SMALL if small else SETS
    place = folder / f"sets-{rows}"
    made = make_sets(place, rows)
    for name in QUESTIONS:
        done = measure("bench.fair_months:answer", str(place), name)
        yield Line(
            what=f"{name} over {made.rows:,} sets", seconds=done.seconds, busy_seconds=done.busy_seconds,
            peak_mb=done.peak_mb, ratio=str(done.result), target="under 2 s, 600 MB",
            met=done.seconds < 2 and done.peak_mb < 600,
        )  # fmt: skip


def answer(folder: str, name: str) -> Task:
    """The whole answer from the stored tables."""
    session = _session(folder)
    found: list[str] = []
    return Task(work=lambda: found.append(QUESTIONS[name](session).verdict.value), report=lambda: found[-1])


def _months(session: QuerySession) -> tuple[MonthCount, ...]:
    return plain_counts([one for one in count_rates(session, CHARTER, by="network") if one.month != "undated"])


def _chosen(session: QuerySession) -> Answer:
    counts = _months(session)
    choice = choose_chart(counts)
    kind = ChartKind.P if choice.kind is ChartKind.GAPS else choice.kind
    return build_chart_answer(counts, kind=kind, why=choice.why)


def _gaps(session: QuerySession) -> Answer:
    everywhere = AskedPlace(noun="network", name="", facility=None, unit=None, renames=())
    return build_gap_answer(gaps_of_days(count_days(session, CHARTER, place=everywhere, to_month=None)))


QUESTIONS: Mapping[str, Callable[[QuerySession], Answer]] = {
    "the chart that fits": _chosen,
    "running sum": lambda session: build_chart_answer(_months(session), kind=ChartKind.CUSUM),
    "since when": lambda session: build_since_answer(_months(session)),
    "are we getting better": lambda session: build_better_answer(_months(session)),
    "below the target": lambda session: build_target_answer(_months(session), target=0.03),
    "sets between contaminations": _gaps,
    "some unit anyway": lambda session: build_units_answer(
        count_units(session, CHARTER, facility=None, to_month=None), months=12
    ),
}
