"""Clusters: the chance of one stretch, of a stretch anywhere, and how often the whole scan calls where nothing is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

import numpy as np

from calibration.claim import Claim, share_claim
from cubital.answers.cluster_reading import ClusterPolicy, ClusterReading, Look, read_clusters
from cubital.answers.odd_growths import Event
from cubital.stats.scan import chance_anywhere, chance_anywhere_after

SEED = 20_261_125
RUNS, NETWORKS = 100_000, 1_000
FIRST = date(2025, 1, 1)
BASELINE, LOOKED, WINDOW = 365, 28, 14
ONE = (0.4,)
TEN = tuple(float(rate) for rate in np.linspace(0.05, 0.9, 10))


def one_stretch() -> Iterator[Claim]:
    """A window fixed beforehand after a baseline: called at 5 % no more often than that, whatever the rate."""
    for number, mean in enumerate((0.2, 0.8, 2.0)):
        rng = np.random.default_rng(SEED + number)
        before, counts = rng.poisson(26 * mean, RUNS), rng.poisson(mean, RUNS)
        pairs, times = np.unique(np.stack([counts, before]), axis=1, return_counts=True)
        hits = sum(
            int(n)
            for (count, usual), n in zip(pairs.T, times, strict=True)
            if count and chance_anywhere_after(int(count), before=int(usual), windows_before=26.0, windows=1.0) <= 0.05
        )
        yield share_claim(
            f"one fixed stretch, {mean:g} expected, called at 5 %", 0.05, hits=hits, runs=RUNS, seed=SEED + number,
            kind="at_most",
        )  # fmt: skip


def anywhere() -> Iterator[Claim]:
    """A stretch of 14 days anywhere in 28 or 84, the rate known: Naus's approximation, times simulated continuously."""
    for number, (count, mean, windows) in enumerate(((4, 0.8, 2), (5, 0.8, 6), (3, 0.4, 2))):
        rng = np.random.default_rng(SEED + 10 + number)
        hits = sum(_densest(rng, mean=mean, windows=windows) >= count for _run in range(RUNS // 4))
        yield share_claim(
            f"{count} in a stretch anywhere in {windows}, {mean:g} expected in one",
            chance_anywhere(count, mean=mean, windows=windows), hits=hits, runs=RUNS // 4, seed=SEED + 10 + number,
        )  # fmt: skip


def _densest(rng: np.random.Generator, *, mean: float, windows: int) -> int:
    times = np.sort(rng.uniform(0, windows, rng.poisson(mean * windows)))
    return max((int(np.searchsorted(times, time + 1) - place) for place, time in enumerate(times)), default=0)


def whole_scan() -> Iterator[Claim]:
    """Networks without a cluster: called at the stated chance or less often; everything looked at is added up."""
    for number, (name, rates, units) in enumerate(
        (("one organism in 4 units", ONE, 4), ("ten organisms in 12 units", TEN, 12))
    ):
        chances = [_chance(reading) for reading in _networks(rates, units=units, seed=SEED + 20 + number)]
        for most in (0.1, 0.05):
            yield share_claim(
                f"whole scan, {name}, called at {most:g}", most, hits=sum(chance <= most for chance in chances),
                runs=NETWORKS, seed=SEED + 20 + number, kind="at_most",
            )  # fmt: skip


def planted() -> Iterator[Claim]:
    """Five more sets in nine days at 0.4 a week in 4 units: how often the scan sees them."""
    chances = [_chance(reading) for reading in _networks(ONE, units=4, seed=SEED + 30, more=5)]
    hits = sum(chance <= ClusterPolicy().most_chance for chance in chances)
    yield share_claim(
        "five more sets in nine days at 0.4 a week, called", 0.8, hits=hits, runs=NETWORKS, seed=SEED + 30,
        kind="at_least",
    )  # fmt: skip


def _chance(reading: ClusterReading) -> float:
    return reading.best.chance_anywhere if reading.best else 1.0


def _networks(rates: Sequence[float], *, units: int, seed: int, more: int = 0) -> Iterator[ClusterReading]:
    rng = np.random.default_rng(seed)
    places = tuple((f"F{n % 2}", f"u{n}") for n in range(units))
    first = FIRST + timedelta(days=BASELINE)
    look = Look(
        first=first, last=first + timedelta(days=LOOKED - 1), before=(FIRST, first - timedelta(days=1)), units=places
    )
    for _network in range(NETWORKS):
        events = {
            f"organism-{n}": _events(rng, places, mean=rate * (BASELINE + LOOKED) / 7, more=more)
            for n, rate in enumerate(rates)
        }
        yield read_clusters(events, look, policy=ClusterPolicy())


def _events(
    rng: np.random.Generator, places: Sequence[tuple[str, str]], *, mean: float, more: int
) -> tuple[Event, ...]:
    usual = rng.integers(0, BASELINE + LOOKED, rng.poisson(mean))
    start = BASELINE + int(rng.integers(0, LOOKED - 9))
    days = np.sort(np.concatenate([usual, rng.integers(start, start + 9, more)]))
    units = rng.integers(0, len(places), len(days))
    return tuple(
        Event(day=FIRST + timedelta(days=int(day)), facility=places[unit][0], unit=places[unit][1])
        for day, unit in zip(days, units, strict=True)
    )


CLAIMS = (one_stretch, anywhere, whole_scan, planted)
