"""Looks at a running trial.

Sources: Jennison and Turnbull, Group Sequential Methods, 2000, tables 2.1 and 2.3 (constants of Pocock and of O'Brien
and Fleming, from memory): their crossing chances must integrate to 0.05. Limits by spending at five equal looks: 4.877,
3.357, 2.680, 2.290, 2.031 and Pocock's 2.438, 2.427, 2.410, 2.397, 2.386 (from memory, as other programs print them);
recomputed here by scipy's integral of the multivariate normal and by simulation.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal, norm

from cubital.stats.alpha_spending import (
    Spending,
    drift_for_power,
    inflation,
    look_chances,
    plan_looks,
    repeated_interval,
    spent_by,
)

FIVE = [0.2, 0.4, 0.6, 0.8, 1.0]
UNEVEN = [0.15, 0.5, 0.62, 1.0]


@pytest.mark.parametrize(
    ("spending", "printed"),
    [
        (Spending.OBRIEN_FLEMING, [4.877, 3.357, 2.680, 2.290, 2.031]),
        (Spending.POCOCK, [2.438, 2.427, 2.410, 2.397, 2.386]),
    ],
)
def test_five_equal_looks_give_the_limits_in_print(spending, printed):
    assert plan_looks(FIVE, spending=spending).z == pytest.approx(printed, abs=6e-4)


@pytest.mark.parametrize(("looks", "pocock", "obrien"), [(2, 2.178, 1.977), (5, 2.413, 2.040), (10, 2.555, 2.087)])
def test_classical_constants_integrate_to_their_error(looks, pocock, obrien):
    at = np.arange(1, looks + 1) / looks
    plan = plan_looks(at)
    for z in (np.full(looks, pocock), obrien / np.sqrt(at)):
        assert look_chances(replace(plan, z=z), 0.0).power == pytest.approx(0.05, abs=2e-4)


def joint(at, drift=0.0):
    """Mean and covariance of z over the looks."""
    share = np.asarray(at)
    lesser, larger = np.minimum.outer(share, share), np.maximum.outer(share, share)
    return drift * np.sqrt(share), np.sqrt(lesser / larger)


@pytest.mark.parametrize("spending", list(Spending))
@pytest.mark.parametrize("drift", [0.0, 2.8])
def test_chances_match_the_multivariate_normal_integral(spending, drift):
    """scipy's quasi-Monte-Carlo integral (Genz) of staying inside all limits so far."""
    plan = plan_looks(UNEVEN, spending=spending)
    found = look_chances(plan, drift).reached
    mean, covariance = joint(UNEVEN, drift)
    for k in range(1, 5):
        z = np.minimum(plan.z[:k], 8.0)
        inside = multivariate_normal(mean[:k], covariance[:k, :k], seed=1, maxpts=200_000).cdf(z, lower_limit=-z)
        assert found[k - 1] == pytest.approx(1 - inside, abs=2e-4)


@pytest.mark.parametrize("sides", [1, 2])
def test_simulated_trials_cross_as_often_as_planned(sides):
    """200,000 walks; the error of a share of 5 % is 0.0005."""
    plan = plan_looks(UNEVEN, sides=sides)
    steps = np.random.default_rng(3).normal(size=(200_000, 4)) * np.sqrt(np.diff([0, *UNEVEN]))
    z = steps.cumsum(axis=1) / np.sqrt(UNEVEN)
    crossed = (z >= plan.z) if sides == 1 else (np.abs(z) >= plan.z)
    assert crossed.any(axis=1).mean() == pytest.approx(0.05, abs=0.002)
    assert look_chances(plan, 0.0).power == pytest.approx(0.05, abs=1e-9)


def test_looking_without_a_plan_finds_things_that_are_not_there():
    """Armitage, McPherson and Rowe 1969 (from memory): five looks at 1.96 raise 5 % to 14.2 %."""
    naive = replace(plan_looks(FIVE), z=np.full(5, norm.ppf(0.975)))
    assert look_chances(naive, 0.0).power == pytest.approx(0.142, abs=5e-4)


def test_one_look_at_the_end_is_the_usual_test():
    plan = plan_looks([1.0])
    assert plan.z == pytest.approx([norm.ppf(0.975)])
    assert plan.nominal_p == pytest.approx([0.05])
    assert drift_for_power(plan, 0.9) == pytest.approx(norm.ppf(0.975) + norm.ppf(0.9), abs=1e-4)
    assert inflation(plan, 0.9) == pytest.approx(1.0)


def test_looks_cost_little_with_one_curve_and_more_with_the_other():
    """Jennison and Turnbull's factors at 90 % for five looks lie near 1.03 and 1.21 (from memory)."""
    assert inflation(plan_looks(FIVE), 0.9) == pytest.approx(1.025, abs=0.01)
    assert inflation(plan_looks(FIVE, spending=Spending.POCOCK), 0.9) == pytest.approx(1.20, abs=0.02)


def test_a_strong_effect_ends_a_trial_early():
    plan = plan_looks(FIVE)
    weak, strong = look_chances(plan, 1.0), look_chances(plan, 5.0)
    assert strong.mean_fraction < 0.7 < weak.mean_fraction
    assert look_chances(plan, drift_for_power(plan, 0.8)).power == pytest.approx(0.8, abs=1e-6)


def test_a_trial_that_ends_short_may_spend_the_rest():
    short, kept = plan_looks([0.3, 0.7], spend_rest=True), plan_looks([0.3, 0.7])
    assert short.spent[-1] == pytest.approx(0.05)
    assert look_chances(short, 0.0).power == pytest.approx(0.05)
    assert kept.spent[-1] < 0.03
    assert short.z[1] < kept.z[1]


def test_more_information_than_planned_spends_no_more():
    assert plan_looks([0.5, 1.3]).spent[-1] == pytest.approx(0.05)


def test_a_very_early_look_has_no_limit():
    plan = plan_looks([0.01, 1.0])
    assert plan.z[0] == np.inf
    assert plan.nominal_p[0] == 0
    assert look_chances(plan, 0.0).power == pytest.approx(0.05, abs=1e-9)


def test_repeated_intervals_hold_the_truth_at_every_look():
    """20,000 trials of drift 2: the interval holds it at all five looks in 95 % or more."""
    plan = plan_looks(FIVE)
    steps = np.random.default_rng(8).normal(size=(20_000, 5)) * np.sqrt(0.2) + 2 * 0.2
    estimates = steps.cumsum(axis=1) / np.array(FIVE)
    held = np.ones(20_000, dtype=bool)
    for look, share in enumerate(FIVE):
        low, high = repeated_interval(0.0, share**-0.5, plan=plan, look=look)
        held &= (estimates[:, look] + low <= 2) & (estimates[:, look] + high >= 2)
    assert held.mean() == pytest.approx(0.95, abs=0.005)


@pytest.mark.parametrize("at", [[], [0.0, 1.0], [0.5, 0.5], [0.6, 0.4], [0.5, 0.5005]])
def test_looks_that_do_not_rise_are_refused(at):
    with pytest.raises(ValueError, match="looks"):
        plan_looks(at)


def test_errors_sides_and_powers_out_of_range_are_refused():
    with pytest.raises(ValueError, match="error"):
        spent_by(0.5, alpha=0.0, spending=Spending.POCOCK)
    with pytest.raises(ValueError, match="side"):
        plan_looks([1.0], sides=3)
    with pytest.raises(ValueError, match="power"):
        drift_for_power(plan_looks([1.0]), 0.01)


LOOKS = st.lists(st.integers(1, 100), min_size=1, max_size=6, unique=True).map(lambda at: [x / 100 for x in sorted(at)])


@settings(max_examples=40)
@given(LOOKS, st.sampled_from(list(Spending)), st.sampled_from([1, 2]), st.sampled_from([0.01, 0.05, 0.1]))
def test_what_is_spent_is_what_crosses(at, spending, sides, alpha):
    plan = plan_looks(at, alpha=alpha, sides=sides, spending=spending)
    finite = np.where(np.isfinite(plan.z), plan.spent, 0.0)
    assert look_chances(plan, 0.0).reached[-1] == pytest.approx(max(finite.max(), 0.0), abs=1e-6)
    assert (np.diff(plan.spent) >= -1e-15).all()
    assert plan.spent[-1] <= alpha + 1e-12


@given(st.floats(0.01, 1), st.floats(0.01, 1), st.sampled_from(list(Spending)))
def test_more_information_never_takes_back_error(one, other, spending):
    low, high = sorted((one, other))
    early, late = (spent_by(at, alpha=0.05, spending=spending) for at in (low, high))
    assert early <= late <= 0.05 + 1e-15
    assert spent_by(0.0, alpha=0.05, spending=spending) == 0
