"""Charts: false alarms and times to detect by simulated months, against what each chart says of itself."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import numpy as np

from calibration.claim import Claim, share_claim
from cubital.answers.charts.gaps import LONG_CHANCE
from cubital.answers.charts.kinds import ChartKind
from cubital.answers.charts.monthly import WEIGHT, odds_of, read_chart
from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.unit_months import UnitMonths, build_units_answer
from cubital.stats.change_point import find_change
from cubital.stats.count_run_lengths import count_cusum_limit, count_cusum_run_length
from cubital.stats.look_elsewhere import chance_of_any_cell
from cubital.stats.proportions import clopper_pearson_interval, jeffreys_interval, wilson_interval
from cubital.stats.rare_events import gap_limit
from cubital.stats.run_chart import run_chart, run_false_alarm
from cubital.stats.run_rule_arl import average_run_length

SEED = 20_261_125
SETS, RATE = 480, 0.025
RUNS = 4000
Step = Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]]


def months(sets: int, counts: list[int]) -> tuple[MonthCount, ...]:
    """Months of equal size from January 2020 on."""
    month, found = "2020-01", []
    for count in counts:
        found.append(MonthCount(month=month, sets=sets, contaminated=count))
        month = next_month(month)
    return tuple(found)


def run_length(
    draw: Callable[[np.random.Generator, int], np.ndarray], speaks: Callable[[np.ndarray], np.ndarray], *, seed: int
) -> tuple[float, float]:
    """Mean number of points until ``speaks`` (which remembers) is true, with its standard error, over ``RUNS`` runs."""
    rng = np.random.default_rng(seed)
    alive, lengths = np.ones(RUNS, dtype=bool), np.zeros(RUNS)
    while alive.any():
        lengths += alive
        alive &= ~speaks(draw(rng, RUNS))
    return float(lengths.mean()), float(lengths.std(ddof=1) / math.sqrt(RUNS))


def _length_claim(what: str, said: float, draw, speaks, *, seed: int, rounded: float = 0.0) -> Claim:  # type: ignore[no-untyped-def]
    seen, error = run_length(draw, speaks, seed=seed)
    return Claim(what=what, said=said, seen=seen, error=math.hypot(error, rounded * said), runs=RUNS, seed=seed)


def _binomial(rate: float) -> Callable[[np.random.Generator, int], np.ndarray]:
    return lambda rng, size: rng.binomial(SETS, rate, size)


def _poisson(rate: float) -> Callable[[np.random.Generator, int], np.ndarray]:
    return lambda rng, size: rng.poisson(SETS * rate, size)


class Smoothed:
    """An EWMA over many runs at once, with its widening limits."""

    def __init__(self) -> None:
        self.average, self.share = np.full(RUNS, RATE), 1.0

    def __call__(self, counts: np.ndarray) -> np.ndarray:
        self.average = WEIGHT * counts / SETS + (1 - WEIGHT) * self.average
        self.share *= (1 - WEIGHT) ** 2
        sd = math.sqrt(RATE * (1 - RATE) / SETS * WEIGHT / (2 - WEIGHT) * (1 - self.share))
        return np.asarray(np.abs(self.average - RATE) > 3 * sd)


class RunningSum:
    """The two running sums over many runs at once."""

    def __init__(self, sides: list[tuple[float, float]], *, sets: int, rate: float) -> None:
        self.sides, self.sums = sides, [np.zeros(RUNS) for _side in sides]
        self.sets, self.rate = sets, rate

    def __call__(self, counts: np.ndarray) -> np.ndarray:
        spoken = np.zeros(RUNS, dtype=bool)
        for place, (odds, limit) in enumerate(self.sides):
            score = counts * math.log(odds) - self.sets * math.log1p(self.rate * (odds - 1))
            self.sums[place] = np.maximum(0.0, self.sums[place] + score)
            spoken |= self.sums[place] >= limit
        return spoken


def chart_claims() -> Iterator[Claim]:
    """Average run lengths, unchanged and doubled, of every monthly chart."""
    base = months(SETS, [round(SETS * RATE)] * 24 + [12])
    read = {kind: read_chart(base, kind=kind) for kind in (ChartKind.P, ChartKind.U, ChartKind.EWMA, ChartKind.CUSUM)}
    mean = SETS * RATE
    reach = 3 * math.sqrt(mean)
    p = read[ChartKind.P]
    low = -1 if p.last_low_signal is None else p.last_low_signal

    def p_speaks(x: np.ndarray) -> np.ndarray:
        return np.asarray((x >= (p.first_signal or SETS + 1)) | (x <= low))

    def u_speaks(x: np.ndarray) -> np.ndarray:
        return np.asarray((x > mean + reach) | (x < mean - reach))

    sides = [
        (odds, count_cusum_limit(n=SETS, usual=RATE, odds_ratio=odds, run_length=240))
        for odds in (odds_of(RATE, 2.0), odds_of(RATE, 0.5))
    ]
    for place, (name, rate) in enumerate((("nothing changes", RATE), ("the rate doubles", 2 * RATE))):
        seed = SEED + 10 * place

        def said(kind: ChartKind, name: str = name) -> float:
            cost = read[kind].cost
            return float((cost.false_alarm_every if name == "nothing changes" else cost.found_after) or 0.0)

        yield _length_claim(f"proportion chart, months until it signals, {name}", said(ChartKind.P), _binomial(rate),
                            p_speaks, seed=seed)  # fmt: skip
        yield _length_claim(f"count chart, months until it signals, {name}", said(ChartKind.U), _poisson(rate),
                            u_speaks, seed=seed + 1)  # fmt: skip
        yield _length_claim(f"smoothed rate, months until it signals, {name}", said(ChartKind.EWMA), _binomial(rate),
                            Smoothed(), seed=seed + 2, rounded=0.01)  # fmt: skip
        one = sides[:1] if rate > RATE else sides
        yield _length_claim(f"running sum, months until it signals, {name}", said(ChartKind.CUSUM), _binomial(rate),
                            RunningSum(one, sets=SETS, rate=RATE), seed=seed + 3, rounded=0.01)  # fmt: skip
    normal = lambda rng, size: rng.normal(0, 1, size)  # noqa: E731 - one line of a table of claims
    yield _length_claim("stretched chart, normal months, until it signals, nothing changes", average_run_length({1}),
                        normal, lambda z: np.asarray(np.abs(z) > 3), seed=SEED + 30)  # fmt: skip


def gap_claims() -> Iterator[Claim]:
    """Gaps between contaminations at 2 %: the long ones, and the sum over single sets that looks for short ones."""
    seed, rate, runs = SEED + 40, 0.02, 400_000
    rng = np.random.default_rng(seed)
    limit = gap_limit(rate)
    gaps = rng.geometric(rate, runs) - 1
    exact = (1 - rate) ** limit
    yield share_claim("chart of gaps, share of gaps at the limit or beyond (exact)", exact,
                      hits=int((gaps >= limit).sum()), runs=runs, seed=seed)  # fmt: skip
    yield share_claim("chart of gaps, the same against what it aims at", LONG_CHANCE,
                      hits=int((gaps >= limit).sum()), runs=runs, seed=seed, kind="at_most")  # fmt: skip
    odds = odds_of(rate, 2.0)
    quiet = 2000
    sums_limit = count_cusum_limit(n=1, usual=rate, odds_ratio=odds, run_length=quiet)
    for place, (name, true) in enumerate((("nothing changes", rate), ("the rate doubles", 2 * rate))):
        said = count_cusum_run_length(n=1, usual=rate, odds_ratio=odds, limit=sums_limit, rate=true)
        yield _length_claim(
            f"sum over single sets, sets until it signals, {name}", said,
            lambda rng, size, true=true: rng.binomial(1, true, size),
            RunningSum([(odds, sums_limit)], sets=1, rate=rate), seed=SEED + 50 + place, rounded=0.01,
        )  # fmt: skip


def rule_claims() -> Iterator[Claim]:
    """Run chart and change point on months in which nothing changes."""
    seed, runs, points = SEED + 60, 20_000, 24
    rng = np.random.default_rng(seed)
    hits = sum(run_chart(list(row), center=0.0).signal for row in rng.normal(0, 1, (runs, points)))
    yield share_claim("long run or few crossings among 24 months, nothing changes", run_false_alarm(points).either,
                      hits=hits, runs=runs, seed=seed)  # fmt: skip
    seed, runs = SEED + 61, 4000
    rng = np.random.default_rng(seed)
    sure = sum(find_change(row, [SETS] * 24).chance >= 0.95 for row in rng.binomial(SETS, RATE, (runs, 24)))
    yield share_claim("change called sure (0.95) among 24 months, nothing changes", 0.05, hits=sure, runs=runs,
                      seed=seed, kind="at_most")  # fmt: skip


def coverage_claims() -> Iterator[Claim]:
    """How often the intervals in use hold the true rate; Wilson and Jeffreys on average over rates, exact always."""
    seed, runs = SEED + 70, 40_000
    rng = np.random.default_rng(seed)
    rates, n = rng.uniform(0.005, 0.08, runs), 480
    x = rng.binomial(n, rates)
    for name, interval, kind in (
        ("Wilson", wilson_interval, "equal"), ("Jeffreys", jeffreys_interval, "equal"),
        ("Clopper–Pearson", clopper_pearson_interval, "at_least"),
    ):  # fmt: skip
        found = {int(count): interval(int(count), n) for count in np.unique(x)}
        hits = sum(found[int(c)].low <= r <= found[int(c)].high for c, r in zip(x, rates, strict=True))
        # Wilson and Jeffreys aim at their level on average; half a percentage point is what discreteness moves it by.
        claim = share_claim(f"{name} 95 % interval holds a true rate of 0.5 to 8 % (480 sets)", 0.95, hits=hits,
                            runs=runs, seed=seed, kind=kind)  # fmt: skip
        yield Claim(**{**vars(claim), "error": math.hypot(claim.error, 0.005 / 3.5)}) if kind == "equal" else claim


def elsewhere_claims() -> Iterator[Claim]:
    """Many units times months in which nothing changes: the chance of any, and how often anything is named."""
    seed, runs = SEED + 80, 20_000
    rng = np.random.default_rng(seed)
    sizes = np.tile([20, 45, 90, 200, 480], 12)
    rates = np.full(len(sizes), 0.03)
    level = 0.001
    from scipy.stats import binom

    tails = binom.sf(rng.binomial(sizes, rates, (runs, len(sizes))) - 1, sizes, rates)
    hits = int((tails.min(axis=1) <= level).sum())
    yield share_claim("some of 60 cells of 20 to 480 sets reaches a chance of 0.001", chance_of_any_cell(
        level, list(sizes), rates=list(rates)), hits=hits, runs=runs, seed=seed)  # fmt: skip
    seed, runs, named = SEED + 81, 300, 0
    rng = np.random.default_rng(seed)
    for _run in range(runs):
        units = [
            UnitMonths(name=str(u), counts=months(int(size), list(rng.binomial(int(size), 0.03, 36))))
            for u, size in enumerate(rng.integers(40, 300, 20))
        ]
        named += build_units_answer(units, months=12).figure("findings").value > 0  # type: ignore[operator]
    yield share_claim("20 units, 12 months looked at, nothing changes: some month is named", 0.05, hits=int(named),
                      runs=runs, seed=seed, kind="at_most")  # fmt: skip


CLAIMS = (chart_claims, gap_claims, rule_claims, coverage_claims, elsewhere_claims)
