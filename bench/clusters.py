"""Clusters of odd organisms: seconds over 300,000 sets, and how often the scan calls where nothing happens.

The networks of the second part hold no cluster: every organism comes at its own steady rate in every unit, a year of
baseline and 28 days looked at. Asked is that at most one look in ten is called, as the answer says of itself.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from bench.judging import _session
from bench.make_sets import make_sets
from bench.measure import Line, Task, measure, most_memory_mb
from cubital.answers.cluster import build_cluster_answer
from cubital.answers.cluster_reading import ClusterPolicy, Look, look_back, read_clusters
from cubital.answers.odd_growths import Event, events_by_genus
from cubital.judge.growths import count_drawn_days, count_growths, dated_span

SETS, SMALL = 300_000, 20_000
NETWORKS, FEW = 2_000, 100
SEED = 48
FIRST = date(2025, 1, 1)
BASELINE, LOOKED = 365, 28
KINDS = {
    "one organism, 0.4 a week, 4 units": ((0.4,), 4, 1),
    "ten organisms, 0.05 to 0.9 a week, 12 units": (tuple(np.linspace(0.05, 0.9, 10)), 12, 2),
}


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line for the answer's time, one for each kind of null network."""
    rows = SMALL if small else SETS
    place = folder / f"sets-{rows}"
    made = make_sets(place, rows)
    done = measure("bench.clusters:answer", str(place))
    yield Line(
        what=f"cluster answer over {made.rows:,} sets", seconds=done.seconds, busy_seconds=done.busy_seconds,
        peak_mb=done.peak_mb, ratio=str(done.result), target="under 2 s, 600 MB",
        met=done.seconds < 2 and done.peak_mb < 600,
    )  # fmt: skip
    for name, (rates, units, facilities) in KINDS.items():
        start = time.perf_counter()
        networks = FEW if small else NETWORKS
        share = called_share(rates, units=units, facilities=facilities, networks=networks)
        error = math.sqrt(share * (1 - share) / networks)
        most = ClusterPolicy().most_chance
        yield Line(
            what=f"looks called in {networks:,} networks without a cluster: {name}",
            seconds=time.perf_counter() - start, peak_mb=most_memory_mb(), ratio=f"{share:.3f} ± {error:.3f}",
            target=f"at most {most:g}", met=share - 2 * error <= most,
        )  # fmt: skip


def answer(folder: str) -> Task:
    """The whole answer from the stored tables, as the workspace makes it."""
    session = _session(folder)
    found: list[str] = []

    def work() -> None:
        span = dated_span(session)
        if span is None:
            raise ValueError("no set is dated")
        first, before = look_back(span[1], days=LOOKED, earliest=span[0])
        since = before[0] if before else first
        growths = count_growths(session, first=since, last=span[1])
        drawn = count_drawn_days(session, first=since, last=span[1])
        names = {(day.facility, day.unit): day.unit_name for day in drawn}
        look = Look(first=first, last=span[1], before=before, units=tuple(names))
        reading = read_clusters(events_by_genus(growths), look, policy=ClusterPolicy())
        found[:] = [build_cluster_answer(reading, names=names).verdict.value]

    return Task(work=work, report=lambda: found[0])


def called_share(rates: tuple[float, ...], *, units: int, facilities: int, networks: int, seed: int = SEED) -> float:
    """The share of null networks in which a cluster is called; ``rates`` are sets a week of each organism in all."""
    rng = np.random.default_rng(seed)
    places = tuple((f"F{n % facilities}", f"u{n}") for n in range(units))
    look = Look(
        first=FIRST + timedelta(days=BASELINE), last=FIRST + timedelta(days=BASELINE + LOOKED - 1),
        before=(FIRST, FIRST + timedelta(days=BASELINE - 1)), units=places,
    )  # fmt: skip
    called = 0
    for _network in range(networks):
        events = {
            f"organism-{n}": _events(rng, places, mean=rate * (BASELINE + LOOKED) / 7) for n, rate in enumerate(rates)
        }
        called += read_clusters(events, look, policy=ClusterPolicy()).is_signal
    return called / networks


def _events(rng: np.random.Generator, places: tuple[tuple[str, str], ...], *, mean: float) -> tuple[Event, ...]:
    count = rng.poisson(mean)
    days, units = rng.integers(0, BASELINE + LOOKED, count), rng.integers(0, len(places), count)
    found = (
        Event(day=FIRST + timedelta(days=int(day)), facility=places[unit][0], unit=places[unit][1])
        for day, unit in zip(days, units, strict=True)
    )
    return tuple(sorted(found, key=lambda event: event.day))
