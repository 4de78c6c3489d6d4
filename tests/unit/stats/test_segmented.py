"""Segmented regression of measured series.

Sources: m08 of the check values (R sandwich 3.0.2 NeweyWest, lmtest 0.9.40 dwtest, prais 1.1.4), among them printed
values of Linden A, Stata J 2015;15:480-500 and of Montgomery, Peck and Vining, Introduction to Linear Regression
Analysis, example 14.1 (both from memory, recomputed there); statsmodels 0.15 as a second way. The sixth case of m08,
barium chloride imports, needs a data set that is no part of this project; it was run once by hand: coefficients within
4e-9 and the correlation within 2e-10 of R's.
"""

from __future__ import annotations

import json

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from cubital.stats.mixed_logistic import NotIdentifiable
from cubital.stats.robust_errors import Errors, newey_west_meat, short_series_factor, usual_lag
from cubital.stats.segmented import durbin_watson, durbin_watson_chance, fit_linear, fit_prais_winsten
from cubital.stats.segmented_design import SegmentedShape, change_row, segmented_design
from cubital.stats.segmented_effects import value_after, value_lines

EXACT = 1e-9  # closed formulas on the same numbers
ITERATED = 1e-6  # rounds end at differing tolerances


@pytest.fixture(scope="module")
def cases(check_values):
    found = json.loads(check_values("m08-interrupted-time-series.json").read_text())["cases"]
    return {case["id"]: case for case in found}


def own_design():
    """The check value counts months from 1, and the months after the change from 1 as well."""
    matrix = segmented_design(SegmentedShape(points=36, changes=(18,), after_from=1)).matrix.copy()
    matrix[:, 1] += 1
    return matrix


@pytest.mark.parametrize(
    ("errors", "name"), [("model", "se_ols"), ("white", "se_white"), ("newey-west", "se_newey_west_lag1")]
)
def test_cigarette_sales_match_r_and_the_printed_errors(cases, errors, name):
    case = cases["m08-prop99-newey"]
    design = segmented_design(SegmentedShape(points=31, changes=(19,)))
    fit = fit_linear(case["inputs"]["y"], design.matrix, errors=Errors(errors), lag=1)
    np.testing.assert_allclose(fit.coefficients, case["expected"]["coef"], atol=EXACT)
    np.testing.assert_allclose(fit.errors, case["expected"][name], atol=EXACT)
    assert fit.durbin_watson == pytest.approx(case["expected"]["durbin_watson"], abs=EXACT)
    if name in case["published"]["values"]:
        np.testing.assert_allclose(fit.errors, case["published"]["values"][name], atol=6e-5)


@pytest.mark.parametrize(
    ("lag", "small", "name"),
    [(1, True, "se_nw_lag1"), (2, True, "se_nw_lag2"), (1, False, "se_nw_lag1_unadjusted")],
)
def test_thirty_six_months_match_r(cases, lag, small, name):
    case = cases["m08-own36"]
    fit = fit_linear(case["inputs"]["y"], own_design(), lag=lag, small_sample=small)
    np.testing.assert_allclose(fit.coefficients, case["expected"]["coef"], atol=EXACT)
    np.testing.assert_allclose(fit.errors, case["expected"][name], atol=EXACT)


def test_errors_that_follow_each_other_match_r_prais(cases):
    case = cases["m08-own36"]
    fit = fit_prais_winsten(case["inputs"]["y"], own_design())
    np.testing.assert_allclose(fit.coefficients, case["expected"]["prais_winsten_coef"], atol=ITERATED)
    np.testing.assert_allclose(fit.errors, case["expected"]["prais_winsten_se"], atol=ITERATED)
    assert fit.correlation == pytest.approx(case["expected"]["prais_winsten_rho"], abs=ITERATED)


def test_chance_of_a_durbin_watson_statistic_matches_r(cases):
    """R lmtest dwtest, Pan's algorithm: 0.523958 and 0.006108."""
    own, sales = cases["m08-own36"], cases["m08-dw-softdrink"]
    found = fit_linear(own["inputs"]["y"], own_design()).durbin_watson
    assert durbin_watson_chance(found, own_design()) == pytest.approx(0.523958, abs=1e-6)
    design = np.column_stack([np.ones(20), sales["inputs"]["x"]])
    fit = fit_linear(sales["inputs"]["y"], design)
    np.testing.assert_allclose(fit.coefficients, sales["expected"]["coef"], atol=1e-6)
    assert fit.durbin_watson == pytest.approx(sales["published"]["values"]["durbin_watson"], abs=0.006)
    assert durbin_watson_chance(fit.durbin_watson, design) == pytest.approx(0.006108, abs=1e-6)


def test_two_changes_and_a_season_match_statsmodels():
    random = np.random.default_rng(3)
    design = segmented_design(SegmentedShape(points=60, changes=(20, 41), harmonics=2, first=4))
    y = design.matrix @ random.normal(size=len(design.columns)) + random.normal(size=60)
    fit = fit_linear(y, design.matrix, lag=3)
    oracle = sm.OLS(y, design.matrix).fit(cov_type="HAC", cov_kwds={"maxlags": 3, "use_correction": True}, use_t=True)
    np.testing.assert_allclose(fit.coefficients, oracle.params, rtol=1e-7)
    np.testing.assert_allclose(fit.errors, oracle.bse, rtol=1e-7)
    middle, interval = fit.combine(np.eye(len(design.columns))[2])
    assert (middle, interval.low, interval.high) == pytest.approx((oracle.params[2], *oracle.conf_int()[2]), rel=1e-7)


def test_the_effect_is_what_the_line_and_its_counterfactual_differ_by():
    design = segmented_design(SegmentedShape(points=30, changes=(10, 20), harmonics=1))
    coefficients = np.arange(1.0, len(design.columns) + 1)
    apart = (design.matrix - design.without) @ coefficients
    assert not apart[:20].any()
    for months in (0, 4, 9):
        assert change_row(design, months) @ coefficients == pytest.approx(apart[20 + months])


def test_months_left_out_keep_their_place_in_time():
    design = segmented_design(SegmentedShape(points=12, changes=(6,), left_out=(6, 7)))
    assert design.times.tolist() == [0, 1, 2, 3, 4, 5, 8, 9, 10, 11]
    assert design.matrix[6].tolist() == [1.0, 8.0, 1.0, 2.0]


def test_a_gap_is_not_a_neighbour():
    scores = np.array([[1.0], [2.0], [4.0]])
    assert newey_west_meat(scores, lag=1).item() == pytest.approx(21 + 2 * 0.5 * (2 + 8))
    assert newey_west_meat(scores, lag=1, times=np.array([0, 1, 3])).item() == pytest.approx(21 + 2 * 0.5 * 2)


def test_columns_that_say_the_same_are_refused_by_name():
    with pytest.raises(NotIdentifiable) as refused:
        fit_linear([1, 2, 3, 4], [[1, 0, 0], [1, 1, 1], [1, 0, 0], [1, 1, 1]])
    assert refused.value.columns == (1, 2)


@pytest.mark.parametrize(
    ("y", "design", "words"),
    [
        ([1, 2], [[1, 0], [1, 1]], "no more points"),
        ([1, 2, 3], [[1, 0], [1, 1]], "one length"),
        ([1, 2, float("nan")], [[1], [1], [1]], "missing"),
    ],
)
def test_series_that_cannot_be_fitted_are_refused(y, design, words):
    with pytest.raises(ValueError, match=words):
        fit_linear(y, design)


@pytest.mark.parametrize("changes", [(), (0,), (12,), (5, 5), (7, 5), (3, 5, 7)])
def test_changes_outside_the_series_are_refused(changes):
    with pytest.raises(ValueError, match="change"):
        SegmentedShape(points=12, changes=changes)


def test_an_effect_before_the_change_is_refused():
    with pytest.raises(ValueError, match="before the change"):
        change_row(segmented_design(SegmentedShape(points=12, changes=(6,))), -1)


def test_more_waves_than_a_year_holds_are_refused():
    with pytest.raises(ValueError, match="waves"):
        SegmentedShape(points=40, changes=(20,), harmonics=6)


def test_a_dispersion_and_a_backward_lag_are_refused():
    with pytest.raises(ValueError, match="counts only"):
        fit_linear([1, 2, 3], [[1], [1], [1]], errors=Errors.QUASI)
    with pytest.raises(ValueError, match="backwards"):
        fit_linear([1, 2, 3], [[1], [1], [1]], lag=-1)


def test_rounds_that_are_cut_short_keep_the_last_correlation():
    y = np.random.default_rng(1).normal(size=30).cumsum()
    one, many = (fit_prais_winsten(y, np.ones((30, 1)), most_rounds=rounds) for rounds in (1, 200))
    assert 0.5 < one.correlation < 1
    assert one.correlation != many.correlation


def test_a_perfect_line_has_no_statistic_of_neighbours():
    assert np.isnan(durbin_watson([0.0, 0.0, 0.0]))
    assert fit_prais_winsten([2.0] * 6, [[1.0]] * 6).coefficients.tolist() == pytest.approx([2.0])


@given(st.lists(st.floats(-100, 100), min_size=3, max_size=40))
def test_the_statistic_lies_between_none_and_four(left):
    found = durbin_watson(left)
    assert np.isnan(found) or -1e-9 <= found <= 4 + 1e-9


@given(st.integers(1, 2000))
def test_the_usual_lag_never_falls_as_series_grow(points):
    assert 1 <= usual_lag(points) <= usual_lag(points + 1)


@given(st.integers(0, 10_000), st.floats(0.1, 50), st.floats(-50, 50))
def test_units_of_measurement_do_not_matter(seed, scale, shift):
    y = np.random.default_rng(seed).normal(size=24)
    design = segmented_design(SegmentedShape(points=24, changes=(12,))).matrix
    plain, other = fit_linear(y, design), fit_linear(scale * y + shift, design)
    np.testing.assert_allclose(other.coefficients[1:], scale * plain.coefficients[1:], rtol=1e-6, atol=1e-8)
    np.testing.assert_allclose(other.errors, scale * plain.errors, rtol=1e-6, atol=1e-8)


def widened(y, design):
    return fit_linear(y, design, errors=Errors.NEWEY_WEST_WIDE)


@pytest.mark.parametrize("lag", [3, 19, 59])
def test_the_widening_is_the_limit_of_a_mean_with_that_lag(lag):
    """A second way to Kiefer and Vogelsang's cubic: 20,000 means of 200 independent values, Bartlett's weights."""
    y = np.random.default_rng(lag).normal(size=(20_000, 200))
    left = y - y.mean(axis=1, keepdims=True)
    spread = (left**2).sum(axis=1)
    for apart in range(1, lag + 1):
        spread += 2 * (1 - apart / (lag + 1)) * (left[:, apart:] * left[:, :-apart]).sum(axis=1)
    score = np.abs(y.sum(axis=1)) / np.sqrt(spread)
    assert np.quantile(score, 0.95) == pytest.approx(1.96 * short_series_factor(200, lag=lag) ** 0.5, rel=0.025)


def test_lines_and_effect_of_a_measured_series():
    design = segmented_design(SegmentedShape(points=30, changes=(15,)))
    y = design.matrix @ [5.0, 0.1, -2.0, 0.05] + np.tile([0.1, -0.1], 15)
    fit = fit_linear(y, design.matrix)
    lines, effect = value_lines(fit, design), value_after(fit, design, 4)
    assert effect.estimate == pytest.approx(lines.expected[19] - lines.without[19])
    assert effect.estimate == pytest.approx(-1.8, abs=0.1)
    assert effect.interval.high < 0
    assert ((lines.without_low < lines.without) & (lines.without < lines.without_high)).all()


def coverage(rho, fit, *, runs=400, seed=1):
    """How often the 95 % interval of a step of 1 holds it; 48 months, AR(1) noise of standard deviation 1."""
    random = np.random.default_rng(seed)
    design = segmented_design(SegmentedShape(points=48, changes=(24,))).matrix
    held = 0
    for _run in range(runs):
        noise = random.normal(size=98)
        for at in range(1, 98):
            noise[at] = rho * noise[at - 1] + noise[at] * np.sqrt(1 - rho**2)
        _middle, interval = fit(design @ [5.0, 0.0, 1.0, 0.0] + noise[50:], design).combine([0, 0, 1, 0])
        held += interval.low <= 1 <= interval.high
    return held / runs


@pytest.mark.parametrize(
    ("rho", "fit", "least", "most"),
    [
        (0.0, fit_linear, 0.84, 0.93),  # robust errors are a little short in short series
        (0.4, fit_linear, 0.72, 0.86),  # and too short where neighbours are alike: the page says so
        (0.0, widened, 0.90, 0.98),
        (0.4, widened, 0.84, 0.94),
        (0.4, fit_prais_winsten, 0.86, 0.95),
    ],
)
def test_coverage_of_a_step_is_what_the_page_says(rho, fit, least, most):
    assert least <= coverage(rho, fit) <= most
