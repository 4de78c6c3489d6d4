"""What a before-and-after series could show.

Sources: m13 of the check values, power with known AR(1) errors (three cases, generalised least squares); the
simulation's many fits at once against single fits and errors by ``fit_counts`` (itself held against R and statsmodels).
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from scipy.stats import norm

from cubital.stats.robust_errors import Errors
from cubital.stats.segmented_counts import fit_counts
from cubital.stats.segmented_design import SegmentedShape, change_row, segmented_design
from cubital.stats.series_power import (
    SeriesModel,
    SeriesPlan,
    _fit_many,
    _variances,
    known_series_power,
    simulate_series_power,
)

HALVING = SeriesPlan(before=12, after=12, sets=400, share=0.04, odds_ratio=0.5)
NOTHING = SeriesPlan(before=18, after=18, sets=300, share=0.04, odds_ratio=1.0)


@pytest.mark.parametrize("name", ["m13-its-power-a", "m13-its-power-b", "m13-its-power-c"])
def test_power_with_known_noise_matches_the_check_values(check_values, name):
    cases = json.loads(check_values("m13-sample-size.json").read_text())["cases"]
    case = next(one for one in cases if one["id"] == name)
    i = case["inputs"]
    on = i.get("which", "level")
    error, power = known_series_power(
        before=i["n0"], after=i["n1"], effect=i[on], on=on, sd=i["sd"], correlation=i["rho"], alpha=i["alpha"]
    )
    assert error == pytest.approx(case["expected"]["se"], abs=1e-8)
    assert power == pytest.approx(case["expected"]["power"], abs=1e-8)


@pytest.mark.parametrize("errors", list(Errors))
def test_many_fits_at_once_are_the_single_fits(errors):
    random = np.random.default_rng(4)
    design = segmented_design(SegmentedShape(points=24, changes=(12,)))
    events = random.binomial(300, 0.05, size=(30, 24)).astype(float)
    model = SeriesModel(slope=True, months_after=3, errors=errors)
    row = change_row(design, 3)
    at, fit = _fit_many(events, 300, design.matrix)
    variance = _variances(events, at, 300, design.matrix, row=row, how=model)
    assert fit.all()
    for run, counts in enumerate(events):
        one = fit_counts(counts, np.full(24, 300), design.matrix, errors=errors)
        np.testing.assert_allclose(at[run], one.coefficients, atol=1e-6)
        assert variance[run] == pytest.approx(row @ one.covariance @ row, rel=1e-5)


def test_without_an_effect_it_is_found_as_rarely_as_said():
    """4,000 series of 18 and 18 months: 5 % within three Monte-Carlo errors, also with months that swing."""
    for spread in (0.0, 0.3):
        plan = SeriesPlan(before=18, after=18, sets=300, share=0.04, odds_ratio=1.0, spread=spread)
        found = simulate_series_power(plan, runs=4000)
        assert found.false_findings == pytest.approx(0.05, abs=0.015)
        assert found.power == pytest.approx(found.false_findings, abs=4 * (found.power_error + found.false_error))


def test_months_that_follow_each_other_borrow_power():
    """Correlated swings that the errors do not know: false findings above 5 %, and the answer says so."""
    plan = SeriesPlan(before=18, after=18, sets=300, share=0.04, odds_ratio=1.0, spread=0.4, correlation=0.6)
    assert simulate_series_power(plan, runs=2000).false_findings > 0.07
    assert simulate_series_power(plan, model=SeriesModel(errors=Errors.MODEL), runs=2000).false_findings > 0.2


def test_power_agrees_with_the_normal_formula_for_large_months():
    """A step without a trend in large months is a comparison of two shares: power from the two log odds' variances."""
    plan = SeriesPlan(before=12, after=12, sets=200, share=0.05, odds_ratio=0.7)
    found = simulate_series_power(plan, model=SeriesModel(trend=False, errors=Errors.MODEL), runs=4000)
    odds = 0.05 / 0.95 * 0.7
    second = odds / (1 + odds)
    error = math.sqrt(sum(1 / (12 * 200 * p * (1 - p)) for p in (0.05, second)))
    expected = norm.cdf(abs(math.log(0.7)) / error - norm.ppf(0.975))
    assert found.power == pytest.approx(expected, abs=0.03)


def test_more_months_and_larger_effects_are_found_more_often():
    plans = [
        SeriesPlan(before=6, after=6, sets=300, share=0.04, odds_ratio=0.6),
        SeriesPlan(before=18, after=18, sets=300, share=0.04, odds_ratio=0.6),
        SeriesPlan(before=18, after=18, sets=300, share=0.04, odds_ratio=0.4),
    ]
    powers = [simulate_series_power(plan, runs=1000).power for plan in plans]
    assert powers[0] + 0.1 < powers[1] < powers[2] - 0.1


def test_a_slow_effect_needs_its_own_model():
    slow = SeriesPlan(before=18, after=18, sets=400, share=0.05, odds_ratio=1.0, slope_ratio=0.95)
    late = SeriesModel(slope=True, months_after=17)
    assert simulate_series_power(slow, model=late, runs=1000).power > 0.4
    assert simulate_series_power(slow, model=SeriesModel(slope=True), runs=1000).false_findings < 0.09


def test_the_same_seed_gives_the_same_answer_and_its_error():
    one, other = (simulate_series_power(HALVING, runs=500, seed=3) for _time in range(2))
    assert one == other
    assert one.power_error == pytest.approx(math.sqrt(one.power * (1 - one.power) / 500))
    assert simulate_series_power(HALVING, runs=500, seed=4) != one


def test_series_almost_without_events_are_counted_as_unfit():
    rare = SeriesPlan(before=3, after=3, sets=20, share=0.01, odds_ratio=0.5)
    assert simulate_series_power(rare, runs=500).unfit > 0.3


@pytest.mark.parametrize(
    "wrong",
    [{"before": 0}, {"share": 0.0}, {"odds_ratio": 0.0}, {"spread": -1.0}, {"correlation": 1.0}, {"sets": 0}],
)
def test_plans_that_are_none_are_refused(wrong):
    with pytest.raises(ValueError, match=r"needs|ratio|spread"):
        SeriesPlan(**({"before": 6, "after": 6, "sets": 100, "share": 0.05, "odds_ratio": 0.5} | wrong))


def test_models_that_do_not_fit_the_series_are_refused():
    with pytest.raises(ValueError, match="too short"):
        simulate_series_power(SeriesPlan(before=2, after=1, sets=100, share=0.05, odds_ratio=0.5))
    plan = SeriesPlan(before=9, after=1, sets=100, share=0.05, odds_ratio=0.5)
    with pytest.raises(ValueError, match="one month"):
        simulate_series_power(plan, model=SeriesModel(slope=True))
    with pytest.raises(ValueError, match="one run"):
        simulate_series_power(NOTHING, runs=0)
    with pytest.raises(ValueError, match="level or a slope"):
        known_series_power(before=6, after=6, effect=1, on="season", sd=1)
