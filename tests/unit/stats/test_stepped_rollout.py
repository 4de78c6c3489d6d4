"""A change that reaches units one after another.

Sources: Hussey MA, Hughes JP, Contemp Clin Trials 2007;28:182-191, their closed formula written out here; Woertman W et
al., J Clin Epidemiol 2013;66:752-758, their design effect (both from memory); R lme4 through the ten wards of m09 of
the check values. Power and coverage against simulated roll-outs.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.stats.mixed_logistic import NotIdentifiable, fit_mixed_logistic
from cubital.stats.stepped_design import StepAssumptions, draw_order, stepped_error, stepped_power
from cubital.stats.stepped_rollout import SteppedCell, fit_roll_out, shuffle_order

PLAN = StepAssumptions(before=0.04, after=0.025, sets=150, between_sd=0.01)


def hussey_hughes(exposure, plan):
    """Their formula (with its own letters): variance of the effect from sums over the exposure table."""
    units, periods = exposure.shape
    s2, t2 = plan.set_variance / plan.sets, plan.between_sd**2
    u = exposure.sum()
    w = (exposure.sum(axis=0) ** 2).sum()
    v = (exposure.sum(axis=1) ** 2).sum()
    top = units * s2 * (s2 + periods * t2)
    bottom = (units * u - w) * s2 + (u**2 + units * periods * u - periods * w - units * v) * t2
    return math.sqrt(top / bottom)


@pytest.mark.parametrize(("units", "steps"), [(4, 4), (12, 4), (10, 3), (24, 6)])
def test_error_is_hussey_and_hughes_formula(units, steps):
    exposure = draw_order([str(u) for u in range(units)], steps=steps, seed=3).exposure
    assert stepped_error(exposure, PLAN) == pytest.approx(hussey_hughes(exposure, PLAN), rel=1e-10)


@pytest.mark.parametrize(("steps", "sets", "sd"), [(3, 100, 0.01), (5, 40, 0.03)])
def test_error_agrees_with_the_design_effect(steps, sets, sd):
    """Woertman: one baseline and one period after each step, k steps, against a parallel trial of single sets."""
    plan = StepAssumptions(before=0.04, after=0.03, sets=sets, between_sd=sd)
    units = 2 * steps
    rho = sd**2 / (sd**2 + plan.set_variance)
    effect = (1 + rho * (steps * sets + sets - 1)) / (1 + rho * (steps * sets / 2 + sets - 1))
    effect *= 3 * (1 - rho) / (2 * (steps - 1 / steps))
    plain = 4 * (plan.set_variance + sd**2) / (units * sets)
    exposure = draw_order([str(u) for u in range(units)], steps=steps, seed=1).exposure
    assert stepped_error(exposure, plan) ** 2 == pytest.approx(plain * effect, rel=1e-9)


def test_power_is_what_simulated_roll_outs_reach():
    """2,000 roll-outs of twelve units in four waves, fitted by weighted least squares with known errors."""
    rollout = draw_order([str(u) for u in range(12)], steps=4, seed=2)
    exposure, random = rollout.exposure, np.random.default_rng(5)
    cover = np.eye(5) * PLAN.set_variance / PLAN.sets + PLAN.between_sd**2
    inverse = np.linalg.inv(cover)
    designs = [np.column_stack([np.eye(5), row]) for row in exposure]
    bread = np.linalg.inv(sum(d.T @ inverse @ d for d in designs))
    found = 0
    for _run in range(2000):
        shares = np.clip(0.04 - 0.015 * exposure + PLAN.between_sd * random.normal(size=(12, 1)), 0, 1)
        seen = random.binomial(150, shares) / 150
        effect = (bread @ sum(d.T @ inverse @ y for d, y in zip(designs, seen, strict=True)))[-1]
        found += abs(effect) > 1.959964 * math.sqrt(bread[-1, -1])
    assert found / 2000 == pytest.approx(stepped_power(exposure, PLAN), abs=0.04)


def test_an_order_by_lot_is_even_and_comes_again():
    units = [f"unit {at}" for at in range(10)]
    one, other = draw_order(units, steps=4, seed=9), draw_order(units, steps=4, seed=9)
    assert one == other
    assert [len(wave) for wave in one.waves()] == [3, 3, 2, 2]
    assert sorted(name for wave in one.waves() for name in wave) == sorted(units)
    assert draw_order(units, steps=4, seed=10) != one


def test_every_unit_is_as_likely_to_be_first():
    """6,000 orders of six units in three waves: each starts first in a third, within four standard errors."""
    first = np.array([draw_order("abcdef", steps=3, seed=seed).starts for seed in range(6000)]) == 1
    assert np.abs(first.mean(axis=0) - 1 / 3).max() < 4 * math.sqrt(2 / 9 / 6000)


def test_swings_and_left_out_cells_cost_certainty():
    exposure = draw_order("abcdefgh", steps=4, seed=1).exposure
    plain = stepped_error(exposure, PLAN)
    swinging = StepAssumptions(before=0.04, after=0.025, sets=150, between_sd=0.01, period_sd=0.008)
    phased = exposure.copy()
    for row in phased:
        row[int(np.argmax(row))] = np.nan
    assert stepped_error(exposure, swinging) > plain
    assert stepped_error(phased, PLAN) > plain


def test_a_unit_that_is_left_out_altogether_adds_nothing():
    exposure = draw_order("abcdefgh", steps=4, seed=1).exposure
    more = np.vstack([exposure, np.full(5, np.nan)])
    assert stepped_error(more, PLAN) == pytest.approx(stepped_error(exposure, PLAN))


def test_one_start_for_all_leaves_nothing_to_shuffle():
    cells = [SteppedCell(unit, period, period > 0, 3, 50) for unit in "abc" for period in range(3)]
    found = shuffle_order(cells)
    assert (found.estimate, found.p, found.ways) == (0.0, 1.0, 1)


def test_units_that_start_together_show_nothing():
    with pytest.raises(ValueError, match="told from the periods"):
        stepped_error(np.array([[0.0, 1, 1]] * 6), PLAN)


@pytest.mark.parametrize("wrong", [{"before": 0.0}, {"after": 0.04}, {"sets": 0}, {"between_sd": -1.0}])
def test_impossible_plans_are_refused(wrong):
    with pytest.raises(ValueError, match=r"shares|sets"):
        StepAssumptions(**({"before": 0.04, "after": 0.025, "sets": 150, "between_sd": 0.01} | wrong))


@pytest.mark.parametrize(("units", "steps"), [("ab", 3), ("aa", 2), ("abc", 1)])
def test_orders_that_are_none_are_refused(units, steps):
    with pytest.raises(ValueError, match="two waves"):
        draw_order(units, steps=steps, seed=1)


def rolled(seed, *, units=12, steps=4, effect=-0.6, sets=150, sd=0.4):
    """Cells of one simulated roll-out: units differ by ``sd`` in log odds, periods drift down by 0.05 each."""
    random = np.random.default_rng(seed)
    rollout = draw_order([f"u{at:02}" for at in range(units)], steps=steps, seed=seed)
    level = -3.0 + sd * random.normal(size=(units, 1)) - 0.05 * np.arange(steps + 1)
    events = random.binomial(sets, 1 / (1 + np.exp(-level - effect * rollout.exposure)))
    return [
        SteppedCell(name, period, period >= rollout.starts[at], int(events[at, period]), sets)
        for at, name in enumerate(rollout.units)
        for period in range(steps + 1)
    ]


def test_the_model_is_the_mixed_model_with_periods():
    cells = rolled(1)
    found = fit_roll_out(cells, student=False)
    design = [[1, cell.exposed, *(cell.period == at for at in (1, 2, 3, 4))] for cell in cells]
    plain = fit_mixed_logistic(
        [c.events for c in cells], [c.n for c in cells], np.array(design, float), [int(c.unit[1:]) for c in cells]
    )
    span = plain.odds_ratio(1)
    assert (found.interval.low, found.interval.high) == pytest.approx((span.low, span.high))
    assert found.odds_ratio == pytest.approx(math.exp(plain.coefficients[1]))
    assert len(found.periods) == 4


def test_wards_that_all_start_together_are_refused(check_values):
    """The ten wards of m09 change between the same two periods: with period effects nothing can be said."""
    cases = json.loads(check_values("m09-mixed-logistic.json").read_text())["cases"]
    i = next(case for case in cases if case["id"] == "m09-wards")["inputs"]
    rows = zip(i["ward"], i["period"], i["post"], i["y"], i["n"], strict=True)
    with pytest.raises(NotIdentifiable) as refused:
        fit_roll_out([SteppedCell(f"{ward:02}", period, bool(post), y, n) for ward, period, post, y, n in rows])
    assert refused.value.why == "rank"
    assert 1 in refused.value.columns


def test_a_known_effect_is_recovered_with_the_coverage_said():
    """Thirty roll-outs with an odds ratio of 0.55: 95 % intervals hold it; mean of the logs within three errors."""
    found = [fit_roll_out(rolled(seed)) for seed in range(30)]
    held = np.mean([one.interval.low <= math.exp(-0.6) <= one.interval.high for one in found])
    logs = np.log([one.odds_ratio for one in found])
    assert held >= 0.86
    assert logs.mean() == pytest.approx(-0.6, abs=3 * logs.std() / math.sqrt(30))
    assert np.mean([one.unit_sd for one in found]) == pytest.approx(0.4, abs=0.1)


def test_a_shuffle_of_the_order_keeps_its_size_and_finds_an_effect():
    """100 roll-outs of six units in three waves (90 orders), without and with a strong effect."""
    none = np.mean([shuffle_order(rolled(s, units=6, steps=3, effect=0.0, sd=0.2)).p <= 0.05 for s in range(100)])
    strong = np.mean([shuffle_order(rolled(s, units=6, steps=3, effect=-1.5, sd=0.2)).p <= 0.05 for s in range(100)])
    assert none <= 0.11
    assert strong >= 0.6
    assert shuffle_order(rolled(1, units=6, steps=3)).ways == 90


def test_many_orders_are_drawn_by_lot():
    one = shuffle_order(rolled(1, units=12, steps=4))
    assert (one.ways, one.exact) == (20_000, False)
    assert one == shuffle_order(rolled(1, units=12, steps=4))
    assert 1 / one.ways <= one.p <= 1


def test_cells_that_do_not_fit_are_refused():
    cells = rolled(1, units=6, steps=3)
    with pytest.raises(ValueError, match="each unit needs sets"):
        shuffle_order(cells[1:])
    with pytest.raises(ValueError, match="three units"):
        fit_roll_out([cell for cell in cells if cell.unit in ("u00", "u01")])
    with pytest.raises(ValueError, match="impossible"):
        SteppedCell("a", 0, False, 3, 2)


@given(st.integers(2, 6), st.integers(0, 6), st.integers(0, 1000))
def test_exposure_never_goes_back_and_ends_with_everyone(steps, more, seed):
    rollout = draw_order([str(u) for u in range(steps + more)], steps=steps, seed=seed)
    assert (np.diff(rollout.exposure, axis=1) >= 0).all()
    assert not rollout.exposure[:, 0].any()
    assert rollout.exposure[:, -1].all()
