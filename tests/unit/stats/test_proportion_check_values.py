"""Intervals for proportions, ratios and tables against R, printed tables, statsmodels and SciPy.

Tolerances: each case of the check values brings its own. Two kinds of value were made in R by a root finder left at its
default tolerance (1.2e-4): mid-P limits and Fisher's conditional odds ratios. Those are compared as closely as that
allows, and to full precision against SciPy and against the equation they solve.
"""

from __future__ import annotations

import json

import pytest
from scipy.stats import binom, fisher_exact
from scipy.stats.contingency import odds_ratio
from statsmodels.stats.proportion import proportion_confint

from cubital.stats.exact_table import exact_table
from cubital.stats.proportions import PROPORTION_INTERVALS, midp_interval, wilson_interval
from cubital.stats.rate_ratios import rate_ratio
from cubital.stats.two_proportions import (
    difference_newcombe,
    difference_wald,
    odds_ratio_wald,
    risk_ratio_score,
    risk_ratio_wald,
)

MIDP_ROOT = 2.5e-5  # see above; at 0 of 20 the limit is 1 − 0.05^(1/20) = 0.139108, R's root finder gives 0.139086
FISHER_ROOT = 1e-2  # relative, on limits; 626.24 (SciPy and here) against 621.93 for the tea tasting
FISHER_ESTIMATE_ROOT = 3e-4


@pytest.fixture(scope="module")
def cases(check_values):
    """Oracle of every case: R 4.2.2 with binom, exactci, ratesci, PropCIs, epitools; named per case in the file."""
    return json.loads(check_values("m01-proportions.json").read_text())["cases"]


def _of(cases, submethod):
    chosen = [case for case in cases if case["submethod"].startswith(submethod)]
    assert chosen
    return chosen


def test_seven_intervals_of_one_proportion_match_r(cases):
    for case in _of(cases, "single proportion"):
        inputs = case["inputs"]
        for method, expected in case["expected"].items():
            found = PROPORTION_INTERVALS[method](inputs["x"], inputs["n"], level=inputs["level"])
            clipped = [max(0.0, expected[0]), min(1.0, expected[1])]
            tolerance = MIDP_ROOT if method == "midp" else 1e-9
            assert [found.low, found.high] == pytest.approx(clipped, abs=tolerance), (case["id"], method)


def test_printed_intervals_match_to_their_last_digit(cases):
    """Newcombe RG, Stat Med 1998;17:857-872, Table I, as quoted in the check values."""
    printed = [case for case in _of(cases, "single proportion") if case.get("published")]
    assert len(printed) >= 3
    for case in printed:
        for method, expected in case["published"]["values"].items():
            found = PROPORTION_INTERVALS[method](case["inputs"]["x"], case["inputs"]["n"])
            assert [found.low, found.high] == pytest.approx(expected, abs=5.05e-5), (case["id"], method)


def test_differences_match_r(cases):
    for case in _of(cases, "difference"):
        i, expected = case["inputs"], case["expected"]
        for method, function in (("newcombe_hybrid", difference_newcombe), ("wald", difference_wald)):
            found = function(i["x1"], i["n1"], x2=i["x2"], n2=i["n2"], level=i["level"])
            assert found.estimate == pytest.approx(expected["difference"], abs=1e-12)
            assert [found.interval.low, found.interval.high] == pytest.approx(expected[method], abs=1e-6), case["id"]


def test_risk_and_odds_ratios_match_r(cases):
    for case in _of(cases, "risk ratio"):
        i, expected = case["inputs"], case["expected"]
        for method, function in (("rr_wald", risk_ratio_wald), ("or_wald", odds_ratio_wald)):
            found = function(i["x1"], i["n1"], x2=i["x2"], n2=i["n2"])
            values = [found.estimate, found.interval.low, found.interval.high]
            assert values == pytest.approx(expected[method], rel=1e-9), case["id"]


def test_score_interval_of_the_risk_ratio_matches_r(cases):
    (case,) = [case for case in _of(cases, "risk ratio") if "rr_score" in case["expected"]]
    i = case["inputs"]
    found = risk_ratio_score(i["x1"], i["n1"], x2=i["x2"], n2=i["n2"]).interval
    assert [found.low, found.high] == pytest.approx(case["expected"]["rr_score"], rel=2e-4)


def test_conditional_odds_ratios_match_r(cases):
    for case in _of(cases, "risk ratio"):
        i, expected = case["inputs"], case["expected"]
        found = exact_table(i["x1"], i["n1"] - i["x1"], c=i["x2"], d=i["n2"] - i["x2"])
        assert found.odds_ratio == pytest.approx(expected["or_conditional_mle"], rel=1e-5)
        assert [found.interval.low, found.interval.high] == pytest.approx(expected["or_fisher_ci"], rel=1e-4)
        if "or_midp" in expected:
            midp = [found.odds_ratio_midp, found.interval_midp.low, found.interval_midp.high]
            assert midp == pytest.approx(expected["or_midp"], rel=1e-3)
            assert found.p_two_sided == pytest.approx(expected["p_fisher_two_sided"], rel=1e-9)
            assert found.p_midp_two_sided == pytest.approx(expected["p_midp_two_sided"], rel=1e-9)


def test_fisher_tables_match_r(cases):
    for case in _of(cases, "Fisher exact"):
        (a, b), (c, d) = case["inputs"]["table"]
        found, expected = exact_table(a, b, c=c, d=d), case["expected"]
        for name in ("p_two_sided", "p_less", "p_greater", "p_midp_two_sided"):
            assert getattr(found, name) == pytest.approx(expected[name], rel=1e-9), (case["id"], name)
        assert found.odds_ratio == pytest.approx(expected["or_conditional_mle"], rel=FISHER_ESTIMATE_ROOT)
        assert [found.interval.low, found.interval.high] == pytest.approx(expected["or_ci"], rel=FISHER_ROOT)


def test_rate_ratios_match_r(cases):
    for case in _of(cases, "rate ratio"):
        i, expected = case["inputs"], case["expected"]
        found = rate_ratio(i["x1"], i["t1"], x2=i["x2"], t2=i["t2"])
        assert found.estimate == pytest.approx(expected["rate_ratio"], rel=1e-9)
        assert [found.wald.low, found.wald.high] == pytest.approx(expected["wald_ci"], rel=1e-9)
        assert [found.exact.low, found.exact.high] == pytest.approx(expected["exact_ci"], rel=1e-9)
        assert found.midp_p == pytest.approx(expected["midp_p"], rel=1e-9)
        assert found.exact_p == pytest.approx(expected.get("exact_p", found.exact_p), rel=1e-4)


@pytest.mark.parametrize(("x", "n"), [(0, 20), (1, 20), (19, 498), (289, 11142), (20, 20)])
@pytest.mark.parametrize(
    ("method", "theirs"),
    [("wilson", "wilson"), ("clopper_pearson", "beta"), ("agresti_coull", "agresti_coull"), ("jeffreys", "jeffreys")],
)
def test_statsmodels_gives_the_same_interval(x, n, method, theirs):
    """Oracle: statsmodels proportion_confint, an independent implementation."""
    found = PROPORTION_INTERVALS[method](x, n)
    low, high = proportion_confint(x, n, method=theirs)
    assert (found.low, found.high) == pytest.approx((max(0, low), min(1, high)), abs=1e-12)


@pytest.mark.parametrize(("x", "n", "level"), [(0, 20, 0.95), (15, 148, 0.95), (81, 263, 0.9), (17, 1203, 0.99)])
def test_midp_limits_solve_their_own_equation(x, n, level):
    """Berry and Armitage 1995: tail beyond x plus half of x equals α/2; probabilities by scipy.stats.binom."""
    found = midp_interval(x, n, level=level)
    upper = binom.cdf(x - 1, n, found.high) + binom.pmf(x, n, found.high) / 2
    assert upper == pytest.approx((1 - level) / 2, abs=1e-9)
    if x:
        lower = binom.sf(x, n, found.low) + binom.pmf(x, n, found.low) / 2
        assert lower == pytest.approx((1 - level) / 2, abs=1e-9)


@pytest.mark.parametrize("table", [((3, 1), (1, 3)), ((2, 15), (10, 3)), ((12, 5), (3, 14)), ((118, 2628), (61, 2628))])
def test_scipy_gives_the_same_exact_table(table):
    """Oracle: scipy.stats.fisher_exact and scipy.stats.contingency.odds_ratio(kind='conditional')."""
    (a, b), (c, d) = table
    found, theirs = exact_table(a, b, c=c, d=d), odds_ratio(table)
    limits = theirs.confidence_interval(0.95)
    assert found.odds_ratio == pytest.approx(theirs.statistic, rel=1e-6)
    assert (found.interval.low, found.interval.high) == pytest.approx((limits.low, limits.high), rel=1e-6)
    assert found.p_two_sided == pytest.approx(fisher_exact(table)[1], rel=1e-9)


def test_zero_cells_give_open_limits_and_not_an_error():
    assert exact_table(0, 5, c=5, d=5).odds_ratio == 0.0
    assert exact_table(5, 0, c=5, d=5).interval.high == float("inf")
    assert risk_ratio_score(0, 10, x2=0, n2=10).interval.low == 0.0
    assert risk_ratio_wald(3, 10, x2=0, n2=10).interval.high == float("inf")
    assert rate_ratio(3, 10.0, x2=0, t2=10.0).exact.high == float("inf")
    assert odds_ratio_wald(3, 10, x2=0, n2=10).interval.high == float("inf")


@pytest.mark.parametrize(("cells", "low", "high"), [
    ((10, 10, 10, 10), 10 / (10 + 3.8415), (10 + 3.8415) / 10),  # by hand: chi-square n(theta - 1) on either side
    ((3, 3, 3, 4), 0.5413, 3.3262),  # the two by maximising the constrained likelihood on a fine grid
    ((5, 10, 10, 10), 0.2366, 0.7881),
])  # fmt: skip
def test_a_group_in_which_everything_is_an_event_has_limits_too(cells, low, high):
    x1, n1, x2, n2 = cells
    found = risk_ratio_score(x1, n1, x2=x2, n2=n2)
    assert (found.interval.low, found.interval.high) == pytest.approx((low, high), abs=1e-4)
    assert found.interval.low <= found.estimate <= found.interval.high


@pytest.mark.parametrize(("x", "n"), [(-1, 5), (6, 5), (0, 0)])
def test_impossible_counts_are_refused(x, n):
    for method in PROPORTION_INTERVALS.values():
        with pytest.raises(ValueError, match=r"impossible|at least one"):
            method(x, n)


@pytest.mark.parametrize("level", [0.0, 1.0, 95])
def test_a_level_must_lie_between_zero_and_one(level):
    with pytest.raises(ValueError, match="not between 0 and 1"):
        wilson_interval(1, 5, level=level)


def test_tables_and_rates_without_counts_are_refused():
    with pytest.raises(ValueError, match="no counts"):
        exact_table(0, 0, c=0, d=0)
    with pytest.raises(ValueError, match="cannot be compared"):
        rate_ratio(0, 10.0, x2=0, t2=10.0)
