"""Did it work, one series: coverage of intervals, size and power of segmented fits, change points and looks."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from calibration.claim import Claim, at_least, at_most, share_claim
from cubital.stats.alpha_spending import Spending, drift_for_power, plan_looks
from cubital.stats.bayes_change_point import size_of_change
from cubital.stats.interval import Interval
from cubital.stats.robust_errors import Errors
from cubital.stats.segmented import LinearFit, fit_linear, fit_prais_winsten
from cubital.stats.segmented_counts import CountFit, fit_counts
from cubital.stats.segmented_design import SegmentedShape, segmented_design
from cubital.stats.series_power import SeriesPlan, simulate_series_power

SEED = 20_261_300
RUNS, WORLDS = 2_000, 400
HALVED = math.log(0.5)


def _held(span: Interval, truth: float) -> bool:
    return span.low <= truth <= span.high


def _noise(random: np.random.Generator, points: int, correlation: float) -> np.ndarray:
    """AR(1) noise of standard deviation 1, from its own long-run distribution."""
    noise = random.normal(size=points)
    for at in range(1, points):
        noise[at] = correlation * noise[at - 1] + math.sqrt(1 - correlation**2) * noise[at]
    return noise


def _series(errors: Errors, *, months: int, spread: float, correlation: float, seed: int) -> tuple[int, int]:
    """Of RUNS series of 400 sets a month: intervals that hold a halving, and false findings where nothing changed."""
    random = np.random.default_rng(seed)
    design = segmented_design(SegmentedShape(points=months, changes=(months // 2,)))
    n = np.full(months, 400)

    def fit(effect: float) -> CountFit:
        linear = design.matrix @ [-3.2, 0.0, effect, 0.0] + spread * _noise(random, months, correlation)
        return fit_counts(
            random.binomial(400, 1 / (1 + np.exp(-linear))).astype(float), n, design.matrix, errors=errors
        )

    row = [0.0, 0.0, 1.0, 0.0]
    held = sum(_held(fit(HALVED).ratio(row)[1], 0.5) for _run in range(RUNS))
    return held, sum(not _held(fit(0.0).ratio(row)[1], 1.0) for _run in range(RUNS))


COUNT_SERIES = (
    # errors, months, spread, correlation, and the coverage that the page promises at least
    (Errors.MODEL, 36, 0.0, 0.0, 0.95),
    (Errors.MODEL, 36, 0.3, 0.0, 0.78),
    (Errors.QUASI, 24, 0.0, 0.0, 0.95),
    (Errors.QUASI, 36, 0.0, 0.0, 0.95),
    (Errors.QUASI, 36, 0.3, 0.0, 0.94),
    (Errors.QUASI, 60, 0.3, 0.0, 0.94),
    (Errors.QUASI, 36, 0.3, 0.4, 0.89),
    (Errors.NEWEY_WEST, 36, 0.0, 0.0, 0.85),
    (Errors.NEWEY_WEST, 36, 0.3, 0.4, 0.81),
    (Errors.NEWEY_WEST, 120, 0.3, 0.4, 0.89),
    (Errors.NEWEY_WEST_WIDE, 24, 0.0, 0.0, 0.93),
    (Errors.NEWEY_WEST_WIDE, 36, 0.0, 0.0, 0.92),
    (Errors.NEWEY_WEST_WIDE, 36, 0.3, 0.4, 0.90),
    (Errors.NEWEY_WEST_WIDE, 60, 0.3, 0.4, 0.89),
    (Errors.NEWEY_WEST_WIDE, 120, 0.3, 0.4, 0.91),
)


def count_series() -> Iterator[Claim]:
    """Monthly counts with a step: quasi-binomial, and robust errors."""
    for at, (errors, months, spread, correlation, least) in enumerate(COUNT_SERIES):
        seed = SEED + at
        held, false = _series(errors, months=months, spread=spread, correlation=correlation, seed=seed)
        swings = f", swings {spread:g}" if spread else ""
        alike = f", neighbours {correlation:g}" if correlation else ""
        what = f"{months} months, errors '{errors.value}'{swings}{alike}"
        yield at_least(f"{what}: 95 % interval holds a halving", least, hits=held, runs=RUNS, seed=seed)
        yield at_most(f"{what}: a step called, nothing changed", 1 - least, hits=false, runs=RUNS, seed=seed)


def _widened(y: np.ndarray, design: np.ndarray) -> LinearFit:
    return fit_linear(y, design, errors=Errors.NEWEY_WEST_WIDE)


MEASURED: tuple[tuple[str, Callable[..., LinearFit], float, float], ...] = (
    ("Newey-West", fit_linear, 0.0, 0.86),
    ("Newey-West", fit_linear, 0.4, 0.81),
    ("Newey-West, widened", _widened, 0.0, 0.92),
    ("Newey-West, widened", _widened, 0.4, 0.88),
    ("Prais-Winsten", fit_prais_winsten, 0.0, 0.92),
    ("Prais-Winsten", fit_prais_winsten, 0.4, 0.90),
    ("Prais-Winsten", fit_prais_winsten, 0.6, 0.87),
)


def measured_series() -> Iterator[Claim]:
    """48 months of a measured value with a step of one standard deviation."""
    design = segmented_design(SegmentedShape(points=48, changes=(24,))).matrix
    for at, (name, fit, correlation, least) in enumerate(MEASURED):
        seed = SEED + 20 + at
        random = np.random.default_rng(seed)
        held = 0
        for _run in range(RUNS):
            y = design @ [5.0, 0.0, 1.0, 0.0] + _noise(random, 48, correlation)
            held += _held(fit(y, design).combine([0, 0, 1, 0])[1], 1.0)
        what = f"48 measured months, {name}, neighbours {correlation:g}: 95 % interval holds the step"
        yield at_least(what, least, hits=held, runs=RUNS, seed=seed)


def change_points() -> Iterator[Claim]:
    """Worlds drawn from the prior, and worlds in which nothing changes."""
    seed = SEED + 80
    random = np.random.default_rng(seed)
    n = np.full(24, 200)
    held = months = sure = 0
    for _world in range(WORLDS):
        first = int(random.integers(1, 24))
        before, after = random.beta(2, 38, size=2)
        rate = np.where(np.arange(24) >= first, after, before)
        found = size_of_change(random.binomial(n, rate).tolist(), n.tolist(), prior=(2, 38))
        held += _held(found.difference_interval, after - before)
        months += first in found.where.likely
        sure += size_of_change(random.binomial(n, 0.04).tolist(), n.tolist()).where.chance > 0.95
    yield share_claim(
        "a change in an unknown month: 95 % interval holds its size", 0.95, hits=held, runs=WORLDS, seed=seed
    )
    yield at_least("the likely months hold the true one", 0.95, hits=months, runs=WORLDS, seed=seed)
    yield at_most("a change called sure (0.95) where nothing changed", 0.02, hits=sure, runs=WORLDS, seed=seed)


def looks() -> Iterator[Claim]:
    """A trial of shares looked at five times: the normal limits on real counts, 4 % against 4 % and against 2 %."""
    for at, spending in enumerate(Spending):
        seed = SEED + 90 + at
        random = np.random.default_rng(seed)
        plan = plan_looks([0.2, 0.4, 0.6, 0.8, 1.0], spending=spending)
        apart = 0.02 / drift_for_power(plan, 0.8)
        size = round((0.04 * 0.96 + 0.02 * 0.98) / apart**2)
        for what, second, said in (("called, arms equal", 0.04, 0.05), ("4 against 2 % found", 0.02, 0.80)):
            hits = 20_000 - int(_stay(random, plan.z, size=size, shares=(0.04, second)).sum())
            claim = at_most if said < 0.5 else at_least
            words = f"five looks, {spending.value}, {size:,} sets an arm: {what}"
            yield claim(words, said, hits=hits, runs=20_000, seed=seed)


def _stay(random: np.random.Generator, limits: np.ndarray, *, size: int, shares: tuple[float, float]) -> np.ndarray:
    """Which of 20,000 trials never cross, with the pooled z of two shares at each look."""
    inside = np.ones(20_000, dtype=bool)
    part = size // len(limits)
    totals = np.zeros((2, 20_000))
    for look, limit in enumerate(limits, start=1):
        totals += [random.binomial(part, share, 20_000) for share in shares]
        pooled = totals.sum(axis=0) / (2 * part * look)
        error = np.sqrt(np.maximum(pooled * (1 - pooled), 1e-12) * 2 / (part * look))
        inside &= np.abs(totals[0] - totals[1]) / (part * look) < limit * error
    return inside


def planned_series() -> Iterator[Claim]:
    """What the planner of series says about its own false findings."""
    plan = SeriesPlan(before=12, after=12, sets=310, share=0.042, odds_ratio=0.62)
    found = simulate_series_power(plan, runs=20_000, seed=SEED + 95)
    hits = round(found.false_findings * found.runs)
    words = "planned series of 12 and 12 months: a step called that is none"
    yield at_most(words, 0.05, hits=hits, runs=found.runs, seed=SEED + 95)
    again = simulate_series_power(plan, runs=20_000, seed=SEED + 96)
    words = "its power, drawn again with another seed"
    hits = round(again.power * again.runs)
    yield share_claim(words, found.power, hits=hits, runs=again.runs, seed=SEED + 96)


CLAIMS = (count_series, measured_series, change_points, looks, planned_series)
