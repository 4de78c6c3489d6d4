"""Repeated and combined tests against check values (R epiR, exact fractions) and the Tokars model.

Tokars JI, Clin Infect Dis 2004;39:333-341: 55, 20, 5 and 98 % for blood drawn by vein; to a tenth, recomputed outside
this project with the binomial that its printed values follow: 55.3, 20.2, 4.9, 98.0 %.
"""

from __future__ import annotations

import json
import math

import pytest

from cubital.stats.diagnostic import (
    counted_sets_ppv,
    in_parallel,
    in_series,
    independent_sets,
    naive_bayes,
    negative_likelihood,
    positive_likelihood,
    post_test,
)


@pytest.fixture(scope="module")
def cases(check_values):
    text = check_values("m14-diagnostic-combination.json").read_text(encoding="utf-8")
    return {case["id"]: case for case in json.loads(text)["cases"]}


def test_sets_of_629_episodes(cases):
    case = cases["m14-kset-lee629"]
    given = case["inputs"]
    assert [found / given["n"] for found in given["observed_cumulative"]] == pytest.approx(case["expected"]["observed"])
    first = given["detected_first"] / given["n"]
    assert independent_sets(first, sets=4) == pytest.approx(case["expected"]["independent"], abs=1e-9)


def test_sets_from_one_high_yield(cases):
    case = cases["m14-kset-weinstein"]
    assert independent_sets(0.915, sets=3) == pytest.approx(case["expected"]["independent"], abs=1e-12)


def test_from_pre_test_to_post_test(cases):
    given, expected = cases["m14-nomogram-t4"]["inputs"], cases["m14-nomogram-t4"]["expected"]
    positive, negative = given["sens"] / (1 - given["spec"]), (1 - given["sens"]) / given["spec"]
    assert post_test(given["pre"], likelihood=positive) == pytest.approx(expected["post_pos"], abs=1e-9)
    assert post_test(given["pre"], likelihood=negative) == pytest.approx(expected["post_neg"], abs=1e-9)


def test_likelihood_ratios_with_their_interval(cases):
    given, expected = cases["m14-scott2x2"]["inputs"], cases["m14-scott2x2"]["expected"]
    tp = given.pop("tp")
    positive, negative = positive_likelihood(tp, **given), negative_likelihood(tp, **given)
    assert positive.value == pytest.approx(expected["lr_pos"], abs=1e-6)
    assert (positive.interval.low, positive.interval.high) == pytest.approx(expected["lr_pos_ci"], abs=1e-6)
    assert negative.value == pytest.approx(expected["lr_neg"], abs=1e-6)


def test_two_tests_in_series_and_in_parallel(cases):
    given, expected = cases["m14-series-parallel"]["inputs"], cases["m14-series-parallel"]["expected"]
    series = in_series(tuple(given["series"]["se"]), tuple(given["series"]["sp"]))
    assert (series.sens, series.spec) == pytest.approx((expected["series_se"], expected["series_sp"]), abs=1e-9)
    se, sp = tuple(given["parallel"]["se"]), tuple(given["parallel"]["sp"])
    alone = in_parallel(se, sp)
    assert (alone.sens, alone.spec) == pytest.approx(
        (expected["parallel_se_indep"], expected["parallel_sp_indep"]), abs=1e-9
    )
    tied = in_parallel(se, sp, cov_sens=given["parallel"]["cov_se"], cov_spec=given["parallel"]["cov_sp"])
    assert (tied.sens, tied.spec) == pytest.approx((expected["parallel_se_dep"], expected["parallel_sp_dep"]), abs=1e-9)


def test_three_findings_together(cases):
    given, expected = cases["m14-naive-bayes-fractions"]["inputs"], cases["m14-naive-bayes-fractions"]["expected"]
    found = naive_bayes(
        given["prior"], findings=[bool(one) for one in given["findings"]], sens=given["sens"], spec=given["spec"]
    )
    assert found == pytest.approx(expected["posterior"], abs=1e-12)
    assert post_test(given["prior"], likelihood=expected["combined_lr"]) == pytest.approx(found, abs=1e-12)


@pytest.mark.parametrize(("positive", "sets", "percent"), [(1, 1, 55.3), (1, 2, 20.2), (1, 3, 4.9), (2, 2, 98.0)])
def test_counting_positive_sets(positive, sets, percent):
    share = counted_sets_ppv(positive, sets=sets, prior=0.03, sens=0.8, contaminated=0.02)
    assert 100 * share == pytest.approx(percent, abs=0.05)


def test_an_empty_cell_gives_no_interval():
    assert positive_likelihood(5, fp=0, fn=5, tn=10).value == math.inf
    assert positive_likelihood(5, fp=0, fn=5, tn=10).interval is None
    assert math.isnan(positive_likelihood(0, fp=0, fn=5, tn=10).value)
    assert post_test(0.1, likelihood=math.inf) == 1


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: positive_likelihood(1, fp=0, fn=0, tn=0),
        lambda: post_test(1.2, likelihood=1),
        lambda: post_test(0.2, likelihood=-1),
        lambda: naive_bayes(0.5, findings=[True], sens=[0], spec=[1]),
        lambda: independent_sets(0.5, sets=0),
        lambda: counted_sets_ppv(3, sets=2, prior=0.1, sens=0.8, contaminated=0.1),
        lambda: counted_sets_ppv(1, sets=1, prior=0, sens=0.8, contaminated=0),
    ],
)
def test_what_cannot_be_is_a_value_error(wrong):
    with pytest.raises(ValueError, match=r"\w"):
        wrong()
