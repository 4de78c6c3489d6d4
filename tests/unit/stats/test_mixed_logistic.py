"""Random-intercept logistic regression against R lme4 (25-node quadrature and Laplace); source in each case.

Data: contagious bovine pleuropneumonia, Beitler and Landis's eight clinics, ten invented wards. A plain logistic fit is
held against statsmodels.
"""

from __future__ import annotations

import json

import numpy as np
import pytest
import statsmodels.api as sm

from cubital.stats.mixed_logistic import NotIdentifiable, fit_logistic, fit_mixed_logistic


@pytest.fixture(scope="module")
def cases(check_values):
    found = json.loads(check_values("m09-mixed-logistic.json").read_text())["cases"]
    return {case["id"]: case for case in found}


def numbered(labels):
    return np.unique(labels, return_inverse=True)[1]


def material(case):
    i = case["inputs"]
    if case["id"] == "m09-cbpp":
        period = np.array(i["period"])
        design = np.column_stack([np.ones(len(period)), *(period == p for p in (2, 3, 4))])
        return i["incidence"], i["size"], design, numbered(i["herd"])
    if case["id"] == "m09-beitler":
        return i["success"], i["n"], np.column_stack([np.ones(len(i["n"])), i["treatment"]]), numbered(i["clinic"])
    events = next(i[name] for name in ("y", "x", "events", "contaminated") if name in i)
    return events, i["n"], np.column_stack([np.ones(len(i["n"])), i["post"]]), numbered(i["ward"])


@pytest.mark.parametrize("name", ["m09-cbpp", "m09-beitler", "m09-wards"])
@pytest.mark.parametrize(("nodes", "method"), [(25, "agq"), (1, "laplace")])
def test_fits_match_lme4(cases, name, nodes, method):
    expected = cases[name]["expected"]
    fit = fit_mixed_logistic(*material(cases[name]), nodes=nodes)
    np.testing.assert_allclose(fit.coefficients, expected[f"{method}_coef"], atol=3e-4)
    assert fit.group_sd == pytest.approx(expected[f"{method}_sd"], abs=3e-4)
    np.testing.assert_allclose(fit.errors, expected[f"{method}_se"], rtol=3e-3)


def test_a_fit_without_groups_matches_statsmodels():
    random = np.random.default_rng(7)
    n = random.integers(20, 200, 30)
    design = np.column_stack([np.ones(30), random.normal(size=(30, 2))])
    events = random.binomial(n, 0.05)
    fit = fit_logistic(events, n, design)
    oracle = sm.GLM(np.column_stack([events, n - events]), design, family=sm.families.Binomial()).fit()
    np.testing.assert_allclose(fit.coefficients, oracle.params, rtol=1e-6)
    np.testing.assert_allclose(fit.errors, oracle.bse, rtol=1e-5)
    assert fit.log_likelihood == pytest.approx(oracle.llf, abs=1e-6)


def test_groups_that_do_not_differ_leave_the_plain_fit():
    events, n = [4, 4, 4, 4, 6, 6, 6, 6], [100] * 8
    design = np.column_stack([np.ones(8), [0, 0, 0, 0, 1, 1, 1, 1]])
    mixed, plain = fit_mixed_logistic(events, n, design, [0, 1, 2, 3] * 2), fit_logistic(events, n, design)
    assert mixed.group_sd < 0.02
    np.testing.assert_allclose(mixed.coefficients, plain.coefficients, atol=1e-3)


def test_columns_that_say_the_same_are_named():
    design = [[1, 0, 0], [1, 1, 1], [1, 0, 0], [1, 1, 1]]
    with pytest.raises(NotIdentifiable) as refused:
        fit_mixed_logistic([1, 2, 1, 2], [10] * 4, design, [0, 0, 1, 1])
    assert (refused.value.why, refused.value.columns) == ("rank", (1, 2))


@pytest.mark.parametrize(
    ("events", "why"), [([0, 0, 0, 0], "events"), ([5, 5, 5, 5], "events"), ([2, 0, 3, 0], "separation")]
)
def test_what_the_data_cannot_say_is_refused(events, why):
    with pytest.raises(NotIdentifiable) as refused:
        fit_mixed_logistic(events, [5] * 4, [[1, 0], [1, 1], [1, 0], [1, 1]], [0, 0, 1, 1])
    assert refused.value.why == why


def test_known_truth_is_recovered():
    """200 groups, true effect 0.5 and spread 0.6: the estimate lies within three of its own errors."""
    random = np.random.default_rng(11)
    group = np.repeat(np.arange(200), 2)
    x = np.tile([0.0, 1.0], 200)
    eta = -3 + 0.5 * x + 0.6 * random.normal(size=200)[group]
    n = np.full(400, 120)
    events = random.binomial(n, 1 / (1 + np.exp(-eta)))
    fit = fit_mixed_logistic(events, n, np.column_stack([np.ones(400), x]), group)
    assert abs(fit.coefficients[1] - 0.5) < 3 * fit.errors[1]
    assert fit.group_sd == pytest.approx(0.6, abs=0.12)
    assert fit.odds_ratio(1).low < np.exp(0.5) < fit.odds_ratio(1).high


def test_the_unit_of_a_column_changes_its_coefficient_and_nothing_else():
    """In units of a five-thousandth the search strays to log odds of thousands; nothing overflows, it comes back."""
    random = np.random.default_rng(3)
    group, x = np.repeat(np.arange(30), 4), random.normal(size=120)
    chance = 1 / (1 + np.exp(3.2 - 0.6 * x - 0.4 * random.normal(size=30)[group]))
    events, n = random.binomial(200, chance), np.full(120, 200.0)
    small, large = (
        fit_mixed_logistic(events, n, np.column_stack([np.ones(120), scale * x]), group) for scale in (1, 5000)
    )
    assert large.coefficients * [1, 5000] == pytest.approx(small.coefficients, rel=1e-4)
    assert large.errors * [1, 5000] == pytest.approx(small.errors, rel=1e-3)
    assert large.log_likelihood == pytest.approx(small.log_likelihood, abs=1e-6)
