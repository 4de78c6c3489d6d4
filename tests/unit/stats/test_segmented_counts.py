"""Segmented regression of counts.

Sources: m08 of the check values (R glm); the open data of Lopez Bernal J, Cummins S, Gasparrini A, Int J Epidemiol
2017;46:348-355, whose 0.894 (0.864 to 0.925) is recomputed from its 59 months; statsmodels 0.15 as a second way.
"""

from __future__ import annotations

import csv
import json
import math
import warnings

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from cubital.stats.mixed_logistic import NotIdentifiable
from cubital.stats.robust_errors import Errors
from cubital.stats.segmented_counts import Family, fit_counts
from cubital.stats.segmented_design import SegmentedShape, segmented_design
from cubital.stats.segmented_effects import (
    count_lines,
    difference_after,
    events_spared,
    level_ratio,
    ratio_after,
    slope_ratio,
)

EXACT = 1e-6  # iterated fits against R's
BEFORE_AFTER = SegmentedShape(points=32, changes=(16,))


@pytest.fixture(scope="module")
def cases(check_values):
    found = json.loads(check_values("m08-interrupted-time-series.json").read_text())["cases"]
    return {case["id"]: case for case in found}


@pytest.fixture(scope="module")
def sicily(open_data):
    rows = list(csv.DictReader((open_data("its-sicily") / "sicily.csv").read_text().splitlines()))
    return [float(row["aces"]) for row in rows], [float(row["stdpop"]) for row in rows]


def ban(harmonics=0):
    return segmented_design(SegmentedShape(points=59, changes=(36,), slope=False, harmonics=harmonics))


def test_the_smoking_ban_gives_the_published_ratio(sicily):
    fit = fit_counts(*sicily, ban().matrix, family=Family.POISSON, errors=Errors.MODEL)
    found = level_ratio(fit, ban())
    assert (found.estimate, found.interval.low, found.interval.high) == pytest.approx((0.894, 0.864, 0.925), abs=1e-3)


def test_the_smoking_ban_matches_r_with_and_without_its_dispersion(cases, sicily):
    expected = cases["m08-sicily-poisson"]["expected"]
    for errors, name in ((Errors.MODEL, "rr_poisson"), (Errors.QUASI, "rr_quasi")):
        fit = fit_counts(*sicily, ban().matrix, family=Family.POISSON, errors=errors, student=False)
        found = level_ratio(fit, ban())
        assert [found.estimate, found.interval.low, found.interval.high] == pytest.approx(expected[name], abs=2e-6)
    assert fit.coefficients[1:] == pytest.approx([expected["coef_time"], expected["coef_ban"]], abs=EXACT)
    assert fit.dispersion == pytest.approx(expected["dispersion"], abs=2e-5)


def test_the_season_gives_the_published_ratio_too(sicily):
    """The same paper's model with two waves a year and the dispersion: 0.885 (0.839 to 0.933), from memory."""
    design = ban(harmonics=2)
    found = level_ratio(fit_counts(*sicily, design.matrix, family=Family.POISSON, student=False), design)
    assert (found.estimate, found.interval.low, found.interval.high) == pytest.approx((0.885, 0.839, 0.933), abs=6e-4)


def own32(cases):
    """The check value counts months from 1, those after the change too: 17 × slope stands in its constant."""
    inputs = cases["m08-own-count32"]["inputs"]
    matrix = segmented_design(BEFORE_AFTER).matrix.copy()
    matrix[:, 1] += 1
    matrix[16:, 3] += 1
    return inputs["events"], inputs["n"], matrix


def test_thirty_two_months_match_r(cases):
    expected = cases["m08-own-count32"]["expected"]
    quasi = fit_counts(*own32(cases), family=Family.POISSON, floor=False)
    np.testing.assert_allclose(quasi.coefficients, expected["poisson_coef"], atol=EXACT)
    np.testing.assert_allclose(quasi.errors, expected["quasi_se"], atol=EXACT)
    assert quasi.dispersion == quasi.dispersion_used == pytest.approx(expected["dispersion"], abs=EXACT)
    logistic = fit_counts(*own32(cases), errors=Errors.MODEL)
    np.testing.assert_allclose(logistic.coefficients, expected["logistic_coef"], atol=EXACT)
    np.testing.assert_allclose(logistic.errors, expected["logistic_se"], atol=EXACT)
    assert logistic.deviance == pytest.approx(expected["logistic_deviance"], abs=EXACT)


def test_months_more_even_than_chance_are_no_better_evidence(cases):
    floored, plain = fit_counts(*own32(cases)), fit_counts(*own32(cases), errors=Errors.MODEL)
    assert floored.dispersion < 0.3
    assert floored.dispersion_used == 1
    np.testing.assert_allclose(floored.errors, plain.errors)


@pytest.mark.parametrize("family", list(Family))
@pytest.mark.parametrize("lag", [0, 3])
def test_robust_errors_match_statsmodels(family, lag):
    random = np.random.default_rng(5)
    design = segmented_design(SegmentedShape(points=48, changes=(24,), harmonics=1))
    n = random.integers(200, 600, 48)
    events = random.binomial(n, 0.05)
    fit = fit_counts(events, n, design.matrix, family=family, errors=Errors.NEWEY_WEST, lag=lag)
    if family is Family.POISSON:
        model = sm.GLM(events, design.matrix, family=sm.families.Poisson(), offset=np.log(n))
    else:
        model = sm.GLM(np.column_stack([events, n - events]), design.matrix, family=sm.families.Binomial())
    oracle = model.fit(cov_type="HAC", cov_kwds={"maxlags": lag, "use_correction": True})
    np.testing.assert_allclose(fit.coefficients, oracle.params, rtol=1e-5, atol=1e-8)
    np.testing.assert_allclose(fit.errors, oracle.bse, rtol=1e-5)
    assert fit.log_likelihood == pytest.approx(oracle.llf, rel=1e-8)
    assert fit.deviance == pytest.approx(oracle.deviance, rel=1e-8)


def test_white_is_newey_west_without_neighbours(cases):
    white = fit_counts(*own32(cases), errors=Errors.WHITE)
    np.testing.assert_allclose(white.errors, fit_counts(*own32(cases), errors=Errors.NEWEY_WEST, lag=0).errors)


def noiseless(family):
    """Expected counts themselves, so that every effect is known: 4 % falling slowly, halved at once, then steeper."""
    design = segmented_design(BEFORE_AFTER)
    linear = design.matrix @ [math.log(0.04), -0.002, math.log(0.5), -0.01]
    share = np.exp(linear) if family is Family.POISSON else 1 / (1 + np.exp(-linear))
    n = np.full(32, 1e4)
    return fit_counts(share * n, n, design.matrix, family=family), design, n, share


@pytest.mark.parametrize("family", list(Family))
def test_effects_are_those_that_were_put_in(family):
    fit, design, n, share = noiseless(family)
    assert level_ratio(fit, design).estimate == pytest.approx(0.5)
    assert slope_ratio(fit, design).estimate == pytest.approx(math.exp(-0.01))
    assert ratio_after(fit, design, 6).estimate == pytest.approx(0.5 * math.exp(-0.06))
    lines = count_lines(fit, design)
    np.testing.assert_allclose(lines.expected, share)
    np.testing.assert_allclose(lines.without[:16], share[:16])
    np.testing.assert_array_less(lines.without_low, lines.without)
    np.testing.assert_array_less(lines.without, lines.without_high)
    assert difference_after(fit, design, 6).estimate == pytest.approx(share[22] - lines.without[22])
    assert events_spared(fit, design, n).estimate == pytest.approx(1e4 * (lines.without - share)[16:].sum())


def test_the_delta_method_agrees_with_drawing_coefficients():
    """A second way: 40,000 draws from the coefficients' normal distribution."""
    fit, design, n, _share = noiseless(Family.BINOMIAL)
    draws = np.random.default_rng(1).multivariate_normal(fit.coefficients, fit.covariance, size=40_000)
    with_change, without = (1 / (1 + np.exp(-draws @ m[16:].T)) for m in (design.matrix, design.without))
    spared = events_spared(fit, design, n, level=0.6827)
    width = (spared.interval.high - spared.interval.low) / 2
    assert width == pytest.approx(float((1e4 * (without - with_change).sum(axis=1)).std()), rel=0.1)


@pytest.mark.parametrize(
    ("events", "why"), [([0] * 8, "events"), ([50] * 8, "events"), ([3, 2, 4, 2, 0, 0, 0, 0], "separation")]
)
def test_what_the_counts_cannot_say_is_refused(events, why):
    design = [[1, 0]] * 4 + [[1, 1]] * 4
    with pytest.raises(NotIdentifiable) as refused:
        fit_counts(events, [50] * 8, design)
    assert refused.value.why == why


def test_a_fit_that_does_not_come_to_rest_is_refused(monkeypatch):
    monkeypatch.setattr("cubital.stats.segmented_counts._STEPS", 1)
    with pytest.raises(NotIdentifiable, match="separation"):
        fit_counts([3, 2, 4, 2, 1, 2, 1, 1], [50] * 8, [[1, 0]] * 4 + [[1, 1]] * 4)


def test_kit_and_training_in_one_month_are_refused_by_column():
    design = [[1, 0, 0]] * 4 + [[1, 1, 1]] * 4
    with pytest.raises(NotIdentifiable) as refused:
        fit_counts([3, 2, 4, 2, 1, 2, 1, 1], [50] * 8, design)
    assert (refused.value.why, refused.value.columns) == ("rank", (1, 2))


@pytest.mark.parametrize(("events", "n"), [([1, 2, 9], [5, 5, 5]), ([1, 2, 1], [5, 5, 0]), ([-1, 2, 1], [5, 5, 5])])
def test_impossible_counts_are_refused(events, n):
    with pytest.raises(ValueError, match=r"impossible|needs a count"):
        fit_counts(events, n, [[1]] * 3)


def test_a_bend_that_was_not_fitted_is_refused():
    with pytest.raises(ValueError, match="slope"):
        slope_ratio(fit_counts([1, 2, 3, 4], [50] * 4, [[1]] * 4), ban())


@given(st.integers(0, 5000), st.integers(2, 9))
def test_exposure_in_other_units_changes_only_the_constant(seed, times):
    random = np.random.default_rng(seed)
    n = random.integers(100, 500, 24)
    events = random.binomial(n, 0.06) + 1
    design = segmented_design(SegmentedShape(points=24, changes=(12,))).matrix
    plain = fit_counts(events, n, design, family=Family.POISSON)
    other = fit_counts(events, times * n, design, family=Family.POISSON)
    np.testing.assert_allclose(plain.coefficients[1:], other.coefficients[1:], atol=1e-7)
    np.testing.assert_allclose(plain.errors, other.errors, rtol=1e-6)
    assert plain.coefficients[0] - other.coefficients[0] == pytest.approx(math.log(times))


@given(st.integers(0, 5000))
def test_the_other_sets_mirror_the_effect(seed):
    random = np.random.default_rng(seed)
    n = random.integers(100, 500, 24)
    events = random.binomial(n, 0.06) + 1
    design = segmented_design(SegmentedShape(points=24, changes=(12,))).matrix
    for errors in (Errors.QUASI, Errors.NEWEY_WEST, Errors.NEWEY_WEST_WIDE):
        ours, others = (fit_counts(x, n, design, errors=errors) for x in (events, n - events))
        np.testing.assert_allclose(ours.coefficients, -others.coefficients, atol=1e-6)
        np.testing.assert_allclose(ours.errors, others.errors, rtol=1e-5)


def coverage(errors, *, spread, runs=400):
    """How often the 95 % interval of a halving holds it: 36 months of 400 sets, log odds of months differ by spread."""
    random = np.random.default_rng(9)
    design = segmented_design(SegmentedShape(points=36, changes=(18,)))
    linear = design.matrix @ [-3.2, 0.0, math.log(0.5), 0.0]
    held = 0
    for _run in range(runs):
        share = 1 / (1 + np.exp(-linear - spread * random.normal(size=36)))
        fit = fit_counts(random.binomial(400, share), np.full(36, 400), design.matrix, errors=errors)
        found = level_ratio(fit, design).interval
        held += found.low <= 0.5 <= found.high
    return held / runs


@pytest.mark.parametrize(
    ("errors", "spread", "least", "most"),
    [
        (Errors.MODEL, 0.0, 0.92, 0.98),
        (Errors.QUASI, 0.0, 0.93, 0.99),
        (Errors.QUASI, 0.4, 0.91, 0.98),
        (Errors.MODEL, 0.4, 0.60, 0.86),  # an error that trusts chance alone is too short: why it is not the default
        (Errors.NEWEY_WEST, 0.0, 0.80, 0.92),  # too sure in short series
        (Errors.NEWEY_WEST_WIDE, 0.0, 0.89, 0.98),
        (Errors.NEWEY_WEST_WIDE, 0.4, 0.88, 0.98),
    ],
)
def test_coverage_of_a_halving_is_what_the_page_says(errors, spread, least, most):
    assert least <= coverage(errors, spread=spread) <= most


@pytest.mark.parametrize("family", list(Family))
def test_series_with_few_events_are_fitted_where_another_program_fits_them(family):
    """150 short series of very uneven counts: fitted, they reach the deviance of statsmodels; refused, it finds none.

    Every fifth has months in which everything was contaminated, which sends Newton's first steps too far.
    """
    random = np.random.default_rng(0)
    refused = 0
    for run in range(150):
        months = int(random.integers(8, 60))
        change = int(random.integers(2, months - 2))
        design = segmented_design(SegmentedShape(points=months, changes=(change,), slope=bool(run % 2))).matrix
        n = random.integers(5, 400, months)
        share = np.exp(random.uniform(-7, -1)) * np.where(np.arange(months) >= change, np.exp(random.normal()), 1)
        events = random.binomial(n, np.minimum(0.9, share))
        if run % 5 == 0:
            events = np.where(random.random(months) < 0.05, n, events)
        try:
            found = fit_counts(events, n, design, family=family)
        except (NotIdentifiable, ValueError):
            refused += 1
            assert not _fits_elsewhere(events, n, design, family)
            continue
        assert found.deviance == pytest.approx(_elsewhere(events, n, design, family).deviance, rel=1e-6, abs=1e-6)
    assert 5 < refused < 60


def _elsewhere(events, n, design, family):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if family is Family.POISSON:
            return sm.GLM(events, design, family=sm.families.Poisson(), offset=np.log(n)).fit(maxiter=300)
        return sm.GLM(np.column_stack([events, n - events]), design, family=sm.families.Binomial()).fit(maxiter=300)


def _fits_elsewhere(events, n, design, family):
    if not 0 < events.sum() < n.sum() or np.linalg.matrix_rank(design) < design.shape[1]:
        return False
    found = _elsewhere(events, n, design, family)
    return bool(np.ptp(design @ found.params) < 11 and (found.bse < 20).all())
