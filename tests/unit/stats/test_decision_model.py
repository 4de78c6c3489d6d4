"""Draws, swings, break-evens and the value of information, against check values and closed forms."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from scipy import stats as scipy_stats

from cubital.stats import uncertain_values as uv
from cubital.stats.decision_model import (
    acceptability,
    break_even,
    draw_inputs,
    one_way,
    shares_best,
    spread_of,
    two_way,
)
from cubital.stats.value_of_information import (
    information_by_sorting,
    information_on_one,
    perfect_information,
    perfect_information_normal,
)


@pytest.fixture(scope="module")
def cases(check_values):
    read = json.loads(check_values("m16-cost-psa-voi.json").read_text(encoding="utf-8"))
    return {case["id"]: case for case in read["cases"]}


def test_perfect_information_of_a_printed_table(cases):
    # Micieli A et al., J Am Heart Assoc 2014, Table 1 (looked up); recomputed in base R
    case = cases["m16-evpi-table10"]
    found = perfect_information(np.column_stack([case["inputs"]["nmb_warfarin"], case["inputs"]["nmb_laa"]]))
    expected = case["expected"]
    assert found.means == pytest.approx((expected["mean_warfarin"], expected["mean_laa"]), abs=1e-6)
    assert found.mean_of_best == pytest.approx(expected["mean_max"], abs=1e-6)
    assert found.value == pytest.approx(expected["evpi"], abs=1e-6)
    assert found.losses == pytest.approx(expected["opportunity_loss"], abs=1e-6)


def test_share_of_draws_in_which_a_choice_is_best(cases):
    case = cases["m16-ceac-point"]  # a count by hand
    found = shares_best(np.column_stack([case["inputs"]["nmb_warfarin"], case["inputs"]["nmb_laa"]]))
    assert found[1] == pytest.approx(case["expected"]["prob_laa_best"], abs=1e-12)


def test_normal_net_benefit_in_closed_form(cases):
    case = cases["m16-evpi-normal-voi"]  # the formula of a package vignette (voi 1.0.3), truncated normal in R
    right, value = perfect_information_normal(case["inputs"]["mean"], case["inputs"]["sd"])
    assert right == pytest.approx(case["expected"]["prob_correct"], abs=1e-9)
    assert value == pytest.approx(case["expected"]["evpi"], abs=1e-9)


def test_moments_give_the_parameters_of_an_independent_package(cases):
    case = cases["m16-mom-distributions"]  # dampack 1.0.2.1000
    given, expected = case["inputs"], case["expected"]
    assert uv.gamma_of_moments(*given["gamma"]).parameters == pytest.approx(
        (expected["gamma_shape"], expected["gamma_scale"]), abs=1e-9
    )
    for moments, key in zip(given["beta"], ("beta1", "beta2"), strict=True):
        assert uv.beta_of_moments(*moments).parameters[:2] == pytest.approx(expected[key], abs=1e-9)
    assert uv.lognormal_of_moments(*given["lognormal"]).parameters == pytest.approx(
        (expected["lognormal_mu"], expected["lognormal_sigma"]), abs=1e-9
    )


def test_product_of_gamma_and_beta_has_its_closed_mean(cases):
    case = cases["m16-product-gamma-beta"]  # closed form; percentiles from R with 2,000,000 draws
    gamma, beta = uv.gamma_of_moments(2400, 600), uv.beta_of_moments(0.18, 0.04)
    assert gamma.mean * beta.mean == pytest.approx(case["expected"]["mean"], rel=1e-9)
    drawn = draw_inputs({"cost": gamma, "chance": beta}, draws=200_000, seed=7)
    spread = spread_of(drawn["cost"] * drawn["chance"], percents=(2.5, 50, 97.5))
    error = case["expected"]["sd"] / math.sqrt(200_000)
    assert spread.mean == pytest.approx(case["expected"]["mean"], abs=4 * error)
    assert spread.sd == pytest.approx(case["expected"]["sd"], rel=0.01)
    assert [one for _p, one in spread.percentiles] == pytest.approx([202.4, 412.8, 770.7], rel=0.01)


def test_shares_of_counts_are_the_means_of_a_dirichlet(cases):
    case = cases["m16-dirichlet-rows"]  # Chancellor JV et al. 1997, from memory, recomputed
    for row, expected in zip(uv.shares_of_counts(case["inputs"]["counts"]), case["expected"]["p"], strict=True):
        assert row == pytest.approx(expected, abs=1e-9)
    with pytest.raises(ValueError, match="counts"):
        uv.shares_of_counts([0, 0])


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (uv.triangular(700, 2900, 6400), scipy_stats.triang(2200 / 5700, 700, 5700)),
        (uv.triangular(0, 0, 1), scipy_stats.triang(0, 0, 1)),
        (uv.uniform(2, 5), scipy_stats.uniform(2, 3)),
        (uv.pert(0.33, 0.41, 0.7), scipy_stats.beta(1 + 4 * 0.08 / 0.37, 1 + 4 * 0.29 / 0.37, 0.33, 0.37)),
        (uv.beta_of_moments(0.18, 0.04), scipy_stats.beta(16.425, 74.825)),
        (uv.gamma_of_moments(2400, 600), scipy_stats.gamma(16, scale=150)),
        (
            uv.lognormal_of_moments(1250, 400),
            scipy_stats.lognorm(0.31223328022, scale=math.exp(7.08215401966)),
        ),
    ],
    ids=lambda one: getattr(one, "shape", ""),
)
def test_quantiles_and_draws_agree_with_scipy(ours, theirs):
    chances = np.array([0.001, 0.05, 0.386, 0.5, 0.9, 0.999])
    assert ours.quantile(chances) == pytest.approx(theirs.ppf(chances), rel=1e-9)
    assert ours.mean == pytest.approx(theirs.mean(), rel=1e-9)
    drawn = ours.draw(np.random.default_rng(3), 20_000)
    assert scipy_stats.kstest(drawn, theirs.cdf).pvalue > 0.001


def test_a_fixed_value_never_varies():
    assert set(draw_inputs({"a": uv.fixed(4.0)}, draws=9, seed=1)["a"]) == {4.0}


@pytest.mark.parametrize(
    "make",
    [
        lambda: uv.triangular(2, 1, 3),
        lambda: uv.triangular(1, 1, 1),
        lambda: uv.pert(0, 5, 4),
        lambda: uv.uniform(3, 3),
        lambda: uv.beta_of_moments(0.5, 0.5),
        lambda: uv.beta_of_moments(1.2, 0.1),
        lambda: uv.gamma_of_moments(0, 1),
        lambda: uv.lognormal_of_moments(1, -1),
        lambda: uv.fixed(math.nan),
    ],
)
def test_impossible_distributions_are_refused(make):
    with pytest.raises(ValueError, match=r"\w"):
        make()


def test_same_seed_same_draws_and_another_seed_others():
    inputs = {"a": uv.triangular(0, 1, 2), "b": uv.gamma_of_moments(3, 1)}
    first, again, other = (draw_inputs(inputs, draws=100, seed=seed) for seed in (5, 5, 6))
    assert (first["a"] == again["a"]).all()
    assert (first["b"] == again["b"]).all()
    assert not (first["a"] == other["a"]).any()
    alone = draw_inputs({"c": uv.uniform(0, 1), "b": inputs["b"]}, draws=100, seed=5)
    assert (alone["b"] == first["b"]).all()  # whatever stands beside it, and in which order


def _pays(values):
    return values["averted"] * values["worth"] - values["cost"]


LIKELY = {"averted": 100.0, "worth": 2000.0, "cost": 150_000.0}


def test_swings_come_widest_first_and_hold_the_others_still():
    swings = one_way(_pays, likely=LIKELY, ranges={"averted": (90, 110), "worth": (500, 3000)})
    assert [one.key for one in swings] == ["worth", "averted"]
    assert (swings[0].at_low, swings[0].at_high, swings[1].width) == (-100_000, 150_000, 40_000)  # by hand


def test_break_even_is_where_the_result_is_nothing():
    assert break_even(_pays, likely=LIKELY, key="worth") == pytest.approx(1500)  # 150,000 / 100
    assert break_even(_pays, likely=LIKELY, key="averted") == pytest.approx(75)
    assert break_even(lambda v: v["a"] * 0 + 1, likely={"a": 1.0}, key="a") is None
    with pytest.raises(ValueError, match="straight"):
        break_even(lambda v: v["a"] ** 2 - 4, likely={"a": 3.0}, key="a")


def test_two_way_grid_has_a_row_for_the_first_input():
    grid = two_way(_pays, likely=LIKELY, first=("averted", [50, 75, 100]), second=("worth", [1000, 2000]))
    assert grid.tolist() == [[-100_000, -50_000], [-75_000, 0], [-50_000, 50_000]]


def test_acceptability_rises_with_what_a_unit_is_worth():
    found = acceptability([10, 20, 30], 100, worth=[1, 4, 6, 20])  # by hand: above 100 in 0, 1, 2 and 3 of 3
    assert found == pytest.approx((0, 1 / 3, 2 / 3, 1))


def test_value_of_one_input_agrees_two_ways_and_is_below_that_of_all():
    inputs = {"averted": uv.triangular(20, 80, 150), "worth": uv.triangular(500, 1800, 4000), "cost": uv.fixed(150_000)}

    def choices(values):
        return np.column_stack([np.zeros_like(values["worth"]), _pays(values)])

    drawn = draw_inputs(inputs, draws=200_000, seed=11)
    results = choices(drawn)
    everything = perfect_information(results).value
    for key in ("averted", "worth"):
        exact = information_on_one(choices, inputs, key=key)
        assert exact == pytest.approx(information_by_sorting(results, drawn[key]), rel=0.03)
        assert 0 < exact < everything
    assert information_on_one(choices, inputs, key="cost") == 0


def test_empty_tables_are_refused():
    for refuse in (perfect_information, shares_best):
        with pytest.raises(ValueError, match="draws by choices"):
            refuse([])
    with pytest.raises(ValueError, match="row of results"):
        spread_of([1.0, math.nan])
    with pytest.raises(ValueError, match="groups"):
        information_by_sorting([[1.0, 2.0]], [1.0], groups=2)
    with pytest.raises(ValueError, match="draws"):
        draw_inputs({}, draws=0, seed=1)
    with pytest.raises(ValueError, match="deviation"):
        perfect_information_normal(1, 0)
