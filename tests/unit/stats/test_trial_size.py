"""Sizes of trials against the check values of method 13: R Hmisc, power.prop.test, pwr, epiR, TrialSize, printed books.

The file names package, version and source of every value; tolerances are the file's own.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, fisher_exact

from cubital.stats.chart_size import (
    chance_of_missing,
    size_for_an_event,
    size_for_half_detection,
    size_for_lower_limit,
)
from cubital.stats.cluster_size import design_effect
from cubital.stats.exact_power import MOST, fisher_power, fisher_size
from cubital.stats.run_lengths import bernoulli_cusum_run_length
from cubital.stats.trial_size import (
    arcsine_size,
    corrected_size,
    one_share_size,
    power_of_size,
    precision_size,
    smallest_found,
    uncorrected_size,
    unpooled_size,
)

EXACT = 1e-6  # relative, as the check file says
SHARES = st.floats(0.005, 0.5)


@pytest.fixture(scope="module")
def cases(check_values):
    return {case["id"]: case for case in json.loads(check_values("m13-sample-size.json").read_text())["cases"]}


def test_four_corrections_of_two_shares_match_r(cases):
    chosen = [case for name, case in cases.items() if name.startswith("m13-two-")]
    assert len(chosen) == 4
    for case in chosen:
        i, wanted = case["inputs"], case["expected"]
        asked = {"level": 1 - i["alpha"], "power": i["power"]}
        assert uncorrected_size(i["p1"], i["p2"], **asked) == pytest.approx(wanted["n"], rel=EXACT)
        assert corrected_size(i["p1"], i["p2"], **asked) == pytest.approx(wanted["n_cc"], rel=EXACT)
        assert arcsine_size(i["p1"], i["p2"], **asked) == pytest.approx(wanted["n_arcsine"], rel=EXACT)


def test_power_of_a_given_size_matches_r(cases):
    wanted = cases["m13-rdoc"]["expected"]
    assert uncorrected_size(0.5, 0.75, power=0.9) == pytest.approx(wanted["n_power90"], abs=1e-4)
    assert power_of_size(0.5, 0.75, size=50) == pytest.approx(wanted["power_n50"], abs=1e-4)


def test_one_sided_risk_ratio_matches_woodward(cases):
    case = cases["m13-woodward-8.13"]
    p0 = case["inputs"]["p0"]
    found = 2 * uncorrected_size(p0, p0 * case["inputs"]["risk_ratio"], level=0.9, power=0.9)
    assert found == pytest.approx(case["expected"]["n_total"], rel=EXACT)


def test_design_effect_matches_epir(cases):
    case = cases["m13-cows-deff"]
    i, wanted = case["inputs"], case["expected"]
    effect = design_effect(i["rho"], size=i["cluster_size"])
    plain = uncorrected_size(i["p1"], i["p2"])
    assert effect == pytest.approx(wanted["design_effect"], rel=EXACT)
    assert plain == pytest.approx(wanted["n_per_group_srs"], rel=EXACT)
    assert plain * effect == pytest.approx(wanted["n_per_group_clustered"], rel=EXACT)


def test_precision_and_finite_population_match_epir(cases):
    wanted = cases["m13-precision"]["expected"]
    assert precision_size(0.15, half_width=0.03) == pytest.approx(wanted["n"], rel=EXACT)
    assert precision_size(0.15, half_width=0.03, population=1500) == pytest.approx(wanted["n_fpc"], rel=EXACT)


def test_unpooled_and_one_share_match_trialsize(cases):
    wanted = cases["m13-chow"]["expected"]
    assert unpooled_size(0.65, 0.85) == pytest.approx(wanted["two"], rel=EXACT)
    assert one_share_size(0.5, change=0.2) == pytest.approx(wanted["one"], rel=EXACT)


def test_operating_curve_of_a_p_chart_matches_montgomery(cases):
    case = cases["m13-pchart-oc-a"]
    i = case["inputs"]
    missed = [chance_of_missing(p, n=i["n"], low=i["lcl"], high=i["ucl"]) for p in i["p"]]
    assert missed == pytest.approx(case["expected"]["beta"], abs=1e-8)
    assert [1 / (1 - beta) for beta in missed] == pytest.approx(case["expected"]["arl"], rel=1e-8)


def test_points_of_a_p_chart_match_montgomery(cases):
    wanted = cases["m13-pchart-n"]["expected"]
    assert size_for_half_detection(0.01, shift=0.04) == pytest.approx(wanted["n_detect"], abs=1e-9)
    assert size_for_lower_limit(0.05) == pytest.approx(wanted["n_lcl_positive"], abs=1e-9)
    assert size_for_an_event(0.01) == pytest.approx(wanted["n_at_least_one_exact"], abs=1e-9)


def test_delay_of_a_cusum_matches_the_exact_engine(cases):
    case = cases["m13-cusum-delay"]
    p0, odds = case["inputs"]["p0"], case["inputs"]["odds_ratio"]
    raised = odds * p0 / (1 - p0 + odds * p0)
    for rate, key in ((p0, "arl0"), (raised, "arl1")):
        found = bernoulli_cusum_run_length(usual=p0, changed=raised, limit=case["inputs"]["h"], rate=rate)
        assert found == pytest.approx(case["expected"][key], rel=1e-5)


@pytest.mark.parametrize(("first", "second", "printed"), [(0.04, 0.02, 1141), (0.042, 0.026, 2013), (0.03, 0.02, 3825)])
def test_anchors_of_question_18(first, second, printed):
    """Printed in the job map: 1 141, 2 013, 3 825 (the last one rounded where the others are rounded up)."""
    assert uncorrected_size(first, second) == pytest.approx(printed, abs=1.0)


@pytest.mark.parametrize(("sizes", "shares"), [((20, 20), (0.5, 0.9)), ((12, 25), (0.1, 0.5)), ((30, 30), (0.2, 0.2))])
def test_fisher_power_is_the_sum_over_every_table(sizes, shares):
    """Against every table, judged by scipy.stats.fisher_exact."""
    wanted = sum(
        binom.pmf(x, sizes[0], shares[0]) * binom.pmf(y, sizes[1], shares[1])
        for x in range(sizes[0] + 1)
        for y in range(sizes[1] + 1)
        if fisher_exact([[x, sizes[0] - x], [y, sizes[1] - y]])[1] <= 0.05
    )
    assert fisher_power(*shares, sizes=sizes) == pytest.approx(wanted, abs=1e-10)


def test_fisher_size_reaches_its_power_and_one_set_less_does_not():
    size = fisher_size(0.2, 0.6)
    assert fisher_power(0.2, 0.6, sizes=(size, size)) >= 0.8 > fisher_power(0.2, 0.6, sizes=(size - 1, size - 1))
    assert fisher_size(0.02, 0.0199) is None
    assert corrected_size(0.02, 0.0199) > MOST


def test_size_and_power_hold_in_simulated_trials():
    """20,000 trials at 1 141 per arm: z test without correction. Monte-Carlo error 0.003 (power), 0.0015 (size)."""
    rng = np.random.default_rng(18)
    n, trials = 1141, 20_000

    def found(first, second):
        x, y = rng.binomial(n, first, trials), rng.binomial(n, second, trials)
        middle = (x + y) / (2 * n)
        z = (x - y) / n / np.sqrt(2 * middle * (1 - middle) / n)
        return float((np.abs(z) > 1.959964).mean())

    assert found(0.04, 0.02) == pytest.approx(0.80, abs=0.012)
    assert found(0.03, 0.03) == pytest.approx(0.05, abs=0.006)


@given(SHARES, st.floats(0.05, 0.9), st.floats(0.05, 0.9))
def test_a_smaller_difference_takes_more_sets(first, one, other):
    near, far = max(one, other), min(one, other)
    if near - far < 1e-6:
        return
    for method in (uncorrected_size, corrected_size, arcsine_size, unpooled_size):
        assert method(first, first * near) > method(first, first * far)


@given(SHARES, st.floats(0.1, 0.9), st.floats(0.55, 0.95), st.floats(0.25, 4))
def test_size_and_power_undo_each_other(first, ratio, power, arms):
    second = first * ratio
    size = uncorrected_size(first, second, power=power, ratio=arms)
    assert power_of_size(first, second, size=size, ratio=arms) == pytest.approx(power, abs=1e-9)
    assert corrected_size(first, second, power=power, ratio=arms) > size


@given(SHARES, st.integers(200, 20_000))
def test_smallest_found_difference_is_what_the_size_finds(first, size):
    lowest = smallest_found(first, size=size)
    if lowest is None:
        assert power_of_size(first, 0.0, size=size) < 0.8
    else:
        assert uncorrected_size(first, lowest) == pytest.approx(size, rel=1e-5)


@pytest.mark.parametrize("method", [uncorrected_size, corrected_size, arcsine_size, unpooled_size])
@pytest.mark.parametrize(
    ("shares", "asked"),
    [((0.02, 0.02), {}), ((0, 0.1), {}), ((0.1, 1), {}), ((math.nan, 0.1), {}), ((0.1, 0.2), {"power": 1}),
     ((0.1, 0.2), {"ratio": 0}), ((0.1, 0.2), {"ratio": math.inf}), ((0.1, 0.2), {"level": 1})],
)  # fmt: skip
def test_what_is_no_trial_is_refused(method, shares, asked):
    with pytest.raises(ValueError, match=r"shares|power|ratio|level"):
        method(*shares, **asked)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: one_share_size(0.5, change=0),
        lambda: precision_size(0.5, half_width=0),
        lambda: precision_size(0.5, half_width=0.1, population=0),
        lambda: power_of_size(0.5, 0.4, size=0),
        lambda: smallest_found(0, size=10),
        lambda: fisher_power(0.1, 0.2, sizes=(0, 5)),
        lambda: size_for_half_detection(0.1, shift=0),
        lambda: size_for_lower_limit(0),
        lambda: size_for_an_event(0.1, chance=1),
        lambda: chance_of_missing(0.1, n=0, low=0, high=1),
    ],
)
def test_absurd_input_is_refused(wrong):
    with pytest.raises(ValueError, match=r"."):
        wrong()


def test_edges_of_power():
    assert power_of_size(0.0, 1.0, size=3) == 1.0
    assert power_of_size(0.0, 0.0, size=3) == 0.0
    assert smallest_found(0.02, size=30) is None
