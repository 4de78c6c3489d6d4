"""Did it work, several groups: coverage of intervals, size and power across units, waves, doses and mixes."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from calibration.claim import Claim, at_least, at_most, share_claim
from cubital.stats.difference_in_differences import BeforeAfter, difference_in_differences
from cubital.stats.dose import DosedUnit, dose_trend
from cubital.stats.interval import Interval
from cubital.stats.mix_decomposition import GroupCounts, decompose_mix
from cubital.stats.stepped_design import draw_order
from cubital.stats.stepped_rollout import SteppedCell, fit_roll_out, shuffle_order
from cubital.stats.unit_differences import UnitRow, cluster_differences, shuffle_units

SEED = 20_261_300
RUNS, NETWORKS, WORLDS = 2_000, 1_000, 400


def _held(span: Interval, truth: float) -> bool:
    return span.low <= truth <= span.high


def two_groups() -> Iterator[Claim]:
    """Difference-in-differences of small and larger groups, every set independent."""
    seed = SEED + 30
    random = np.random.default_rng(seed)
    exact = middle = points = ratio = 0
    for _run in range(RUNS):
        a, b, c, d = (int(x) for x in random.binomial([300, 300, 400, 400], [0.05, 0.04, 0.03, 0.0239]))
        found = difference_in_differences(
            BeforeAfter(events_before=a, n_before=300, events_after=b, n_after=300),
            BeforeAfter(events_before=c, n_before=400, events_after=d, n_after=400),
        )
        exact += found.exact.p_two_sided <= 0.05
        middle += found.exact.p_midp <= 0.05
        points += _held(found.risk_difference.interval, -0.01 + 0.0061)
        ratio += _held(found.ratio_of_odds_ratios.interval, 1.0)
    claims = (
        ("exact test calls it", 0.05, exact, "at_most"), ("mid-P calls it", 0.05, middle, "equal"),
        ("95 % interval of the difference holds it", 0.95, points, "equal"),
        ("95 % interval of the ratio of odds ratios holds it", 0.95, ratio, "at_least"),
    )  # fmt: skip
    for what, said, hits, kind in claims:
        yield share_claim(
            f"two groups of 300 and 400 sets, equal changes: {what}", said, hits=hits, runs=RUNS, seed=seed, kind=kind
        )


def _network(random: np.random.Generator, *, treated: int, units: int, effect: float, swing: float) -> list[UnitRow]:
    rows = []
    for at in range(units):
        level, move = -3.0 + 0.3 * random.normal(), -0.2 + swing * random.normal() + effect * (at < treated)
        for after, share in ((False, level), (True, level + move)):
            x = int(random.binomial(900, 1 / (1 + math.exp(-share))))
            rows.append(UnitRow(f"{at:02}", at < treated, after, x, 900))
    return rows


def several_units() -> Iterator[Claim]:
    """Units that also change for reasons of their own (0.3 in log odds)."""
    for at, (treated, units) in enumerate(((4, 10), (10, 20))):
        seed = SEED + 40 + at
        random = np.random.default_rng(seed)
        plain = by_unit = shuffled = held = power = 0
        for _run in range(NETWORKS):
            rows = _network(random, treated=treated, units=units, effect=0.0, swing=0.3)
            by_unit += not _held(cluster_differences(rows).interval, 1.0)
            shuffled += shuffle_units(rows).p <= 0.05 if units <= 10 else 0
            plain += difference_in_differences(_pooled(rows, True), _pooled(rows, False)).exact.p_midp <= 0.05
            some = cluster_differences(_network(random, treated=treated, units=units, effect=-0.5, swing=0.3))
            held += _held(some.interval, math.exp(-0.5))
            power += some.interval.high < 1
        what = f"{treated} of {units} units changed, units swing by 0.3"
        yield at_most(
            f"{what}: errors by unit call an effect that is none", 0.07, hits=by_unit, runs=NETWORKS, seed=seed
        )
        if units <= 10:
            yield at_most(f"{what}: the shuffle does", 0.05, hits=shuffled, runs=NETWORKS, seed=seed)
        yield at_least(f"{what}: sets taken as independent do", 0.15, hits=plain, runs=NETWORKS, seed=seed)
        yield at_least(f"{what}: errors by unit hold an odds ratio of 0.61", 0.93, hits=held, runs=NETWORKS, seed=seed)
        yield at_least(f"{what}: and find it", (0.35, 0.70)[at], hits=power, runs=NETWORKS, seed=seed)


def _pooled(rows: list[UnitRow], treated: bool) -> BeforeAfter:
    sums = {after: [0, 0] for after in (False, True)}
    for row in rows:
        if row.treated is treated:
            sums[row.after][0] += row.events
            sums[row.after][1] += row.n
    return BeforeAfter(
        events_before=sums[False][0], n_before=sums[False][1], events_after=sums[True][0], n_after=sums[True][1]
    )


def mixes() -> Iterator[Claim]:
    """A nurses' rate that falls a little, joined by phlebotomists: do the intervals of both parts hold?"""
    seed = SEED + 50
    random = np.random.default_rng(seed)
    within = mix = share = 0
    part_within = 0.040 - 0.044
    part_mix = (1510 / 2750) * (0.017 - 0.040)
    for _run in range(RUNS):
        a, b, c = (int(x) for x in random.binomial([2700, 1240, 1510], [0.044, 0.040, 0.017]))
        found = decompose_mix([
            GroupCounts(name="nurse", events_before=a, n_before=2700, events_after=b, n_after=1240),
            GroupCounts(name="phlebotomist", events_before=0, n_before=0, events_after=c, n_after=1510),
        ])  # fmt: skip
        within += _held(found.within_interval, part_within)
        mix += _held(found.mix_interval, part_mix)
        span = found.mix_share_interval
        share += span is None or _held(span, part_mix / (part_mix + part_within))
    for what, hits in (("part within", within), ("part of the mix", mix), ("share of the mix, or says none", share)):
        yield at_least(f"who draws: 95 % interval holds the {what}", 0.95, hits=hits, runs=RUNS, seed=seed)


def _rolled(random: np.random.Generator, seed: int, *, units: int, steps: int, effect: float) -> list[SteppedCell]:
    rollout = draw_order([f"u{at:02}" for at in range(units)], steps=steps, seed=seed)
    level = -3.0 + 0.4 * random.normal(size=(units, 1)) - 0.05 * np.arange(steps + 1)
    events = random.binomial(150, 1 / (1 + np.exp(-level - effect * rollout.exposure)))
    return [
        SteppedCell(name, period, period >= rollout.starts[at], int(events[at, period]), 150)
        for at, name in enumerate(rollout.units)
        for period in range(steps + 1)
    ]


def roll_outs() -> Iterator[Claim]:
    """Twelve units in four waves; six in three for the shuffle."""
    seed = SEED + 60
    random = np.random.default_rng(seed)
    held = called = found = shuffled = 0
    for run in range(WORLDS):
        one = fit_roll_out(_rolled(random, run, units=12, steps=4, effect=-0.6))
        held += _held(one.interval, math.exp(-0.6))
        found += one.p <= 0.05
        called += fit_roll_out(_rolled(random, run, units=12, steps=4, effect=0.0)).p <= 0.05
        shuffled += shuffle_order(_rolled(random, run, units=6, steps=3, effect=0.0)).p <= 0.05
    what = "twelve units in four waves of 150 sets"
    yield at_least(f"{what}: 95 % interval holds an odds ratio of 0.55", 0.95, hits=held, runs=WORLDS, seed=seed)
    yield at_least(f"{what}: and it is found", 0.80, hits=found, runs=WORLDS, seed=seed)
    yield at_most(f"{what}: an effect called that is none", 0.05, hits=called, runs=WORLDS, seed=seed)
    yield at_most(
        "six units in three waves: the shuffle calls one that is none", 0.05, hits=shuffled, runs=WORLDS, seed=seed
    )


def doses() -> Iterator[Claim]:
    """Twelve units that attended from none to all, and swing by 0.2 of their own."""
    seed = SEED + 70
    random = np.random.default_rng(seed)
    held = called = 0
    for slope in (-0.6, 0.0):
        for _run in range(RUNS):
            units = []
            for at in range(12):
                dose, level = at / 11, -3.0 + 0.3 * random.normal()
                later = level - 0.2 + slope * dose + 0.2 * random.normal()
                x, y = (int(random.binomial(600, 1 / (1 + math.exp(-one)))) for one in (level, later))
                units.append(
                    DosedUnit(name=str(at), dose=dose, events_before=x, n_before=600, events_after=y, n_after=600)
                )
            span = dose_trend(units, step=1.0).interval
            held += slope != 0 and _held(span, math.exp(slope))
            called += slope == 0 and not _held(span, 1.0)
    yield share_claim("twelve units, attendance: 95 % interval holds the slope", 0.95, hits=held, runs=RUNS, seed=seed)
    yield share_claim("twelve units, attendance: a slope called that is none", 0.05, hits=called, runs=RUNS, seed=seed)


CLAIMS = (two_groups, several_units, mixes, roll_outs, doses)
