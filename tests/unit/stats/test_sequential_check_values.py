"""Charts for rare events and charts that remember, against R, printed tables and exact calculation; source per case.

Oracles: R 4.2.2 with qicharts2 0.8.1, qcc 2.7, spc 0.6.7, vlad 0.2.2, cusum 0.4.1; Lucas and Crosier 1982, Lucas and
Saccucci 1990, Lucas 1985, Montgomery, NIST e-Handbook; named in each case of the files.
"""

from __future__ import annotations

import csv
import json
import math

import numpy as np
import pytest

from cubital.stats.rare_events import exponential_limits, g_chart, gap_chance, gap_limit, t_chart
from cubital.stats.run_lengths import (
    bernoulli_cusum_run_length,
    cusum_run_length,
    ewma_run_length,
    poisson_cusum_run_length,
)
from cubital.stats.sequential_charts import (
    count_scores,
    ewma_chart,
    outcome_scores,
    score_cusum,
    tabular_cusum,
)


@pytest.fixture(scope="module")
def rare(check_values):
    cases = json.loads(check_values("m03-rare-event-charts.json").read_text())["cases"]
    return {case["id"]: case for case in cases}


@pytest.fixture(scope="module")
def memory(check_values):
    cases = json.loads(check_values("m04-ewma-cusum.json").read_text())["cases"]
    return {case["id"]: case for case in cases}


def test_g_chart_matches_qicharts2(rare):
    case = rare["m03-g-gaps24"]
    chart = g_chart(case["inputs"]["cases_between"])
    expected = case["expected"]
    assert (chart.center, chart.lower) == (expected["mean"], expected["lcl"])
    assert chart.upper == pytest.approx(expected["ucl"], abs=1e-8)


def test_t_chart_matches_qicharts2(rare):
    case = rare["m03-t-valve"]
    chart = t_chart(case["inputs"]["time_between"])
    assert chart.center == pytest.approx(case["expected"]["center"], rel=1e-8)
    assert (chart.lower, chart.upper) == pytest.approx((0.0, case["expected"]["ucl"]), rel=1e-3)


def test_exponential_limits_match_r(rare):
    case = rare["m03-t-exponential-limits"]
    mean = float(np.mean(case["inputs"]["time_between"]))
    assert exponential_limits(mean) == pytest.approx(case["expected"]["limits"], rel=1e-9)


def test_a_gap_of_120_sets_at_two_per_cent_comes_in_nine_of_a_hundred():
    """Worked anchor: 60 sets a month at 2 %: mean gap 50 sets, a gap of 120 in 8.9 %, limit about 327 sets."""
    assert gap_chance(120, rate=0.02) == pytest.approx(0.0885, abs=0.0005)
    assert gap_limit(0.02) == pytest.approx(327, abs=1)


def test_gaps_that_are_no_gaps_are_refused():
    for wrong in ([], [3, -1], [math.nan]):
        with pytest.raises(ValueError, match="gap"):
            g_chart(wrong)


def test_ewma_matches_nist_and_montgomery(memory):
    nist = memory["m04-ewma-nist"]
    i = nist["inputs"]
    chart = ewma_chart(i["x"], target=i["target"], sigma=i["sigma"], weight=i["lam"], sigmas=i["L"])
    np.testing.assert_allclose(chart.values, nist["expected"]["ewma"], atol=1e-9)
    assert chart.upper[-1] == pytest.approx(nist["expected"]["ucl_asymptotic"], abs=3e-3)
    case = memory["m04-ewma-montgomery"]
    i, expected = case["inputs"], case["expected"]
    chart = ewma_chart(i["x"], target=i["target"], sigma=i["sigma"], weight=i["lam"], sigmas=i["L"])
    np.testing.assert_allclose(chart.values, expected["ewma"], atol=1e-9)
    np.testing.assert_allclose(chart.upper, expected["ucl"], atol=1e-9)
    # The file recalls 28 as the first signal; its own values (10.573 against 10.6186, then 10.647) say 29.
    assert chart.beyond[0] + 1 == 29


def test_tabular_cusum_matches_qcc_and_names_when_it_began(memory):
    case = memory["m04-cusum-montgomery"]
    i, expected = case["inputs"], case["expected"]
    chart = tabular_cusum(i["x"], target=i["target"], sigma=i["sigma"], k=i["k"], h=i["h"])
    np.testing.assert_allclose(chart.above, expected["c_plus"], atol=1e-9)
    np.testing.assert_allclose(chart.below, expected["c_minus"], atol=1e-9)
    assert chart.signals[0] + 1 == expected["first_signal_index1"]
    assert chart.signals[0] + 1 - chart.began == expected["shift_start_counter"]


def test_cusum_run_lengths_match_lucas_and_crosier(memory):
    for name in ("m04-arl-cusum-h4", "m04-arl-cusum-h5", "m04-arl-cusum-fir"):
        i, expected = memory[name]["inputs"], memory[name]["expected"]["arl"]
        found = [
            cusum_run_length(k=i["k"], h=i["h"], shift=shift, head_start=i.get("headstart", 0.0))
            for shift in i["shifts"]
        ]
        np.testing.assert_allclose(found, expected, rtol=1e-4, err_msg=name)


def test_ewma_run_lengths_match_lucas_and_saccucci(memory):
    chosen = [case for name, case in memory.items() if name.startswith("m04-arl-ewma")]
    assert len(chosen) >= 5
    for case in chosen:
        i = case["inputs"]
        found = [ewma_run_length(weight=i["lam"], sigmas=i["L"], shift=shift) for shift in i["shifts"]]
        np.testing.assert_allclose(found, case["expected"]["arl"], rtol=1e-4, err_msg=case["id"])


def test_poisson_cusum_run_lengths_match_lucas(memory):
    case = memory["m04-arl-poisson-cusum"]
    i = case["inputs"]
    found = [poisson_cusum_run_length(mean=i["mean"], k=i["k"], h=i["h"], head_start=s) for s in i["headstart"]]
    assert found == pytest.approx(case["expected"]["arl"], rel=1e-4)


def test_bernoulli_cusum_run_lengths_match_the_exact_state_law(memory):
    chosen = [case for name, case in memory.items() if name.startswith("m04-arl-bernoulli")]
    assert len(chosen) == 3
    for case in chosen:
        i, expected = case["inputs"], case["expected"]
        about = {"usual": i["p0"], "changed": expected["p1"], "limit": i["h"]}
        assert bernoulli_cusum_run_length(**about) == pytest.approx(expected["arl0"], rel=1e-5), case["id"]
        soon = bernoulli_cusum_run_length(**about, rate=expected["p1"])
        assert soon == pytest.approx(expected["arl1"], rel=1e-5), case["id"]


def test_risk_adjusted_scores_match_steiner(memory):
    case = memory["m04-racusum-weights-steiner"]
    i = case["inputs"]
    risks = [1 / (1 + math.exp(-(i["intercept"] + i["slope"] * score))) for score in i["parsonnet"]]
    for ratio, key in zip(i["odds_ratio"], ("w_or2", "w_or_half"), strict=True):
        found = outcome_scores(i["outcome"], risks, odds_ratio=ratio)
        np.testing.assert_allclose(found, case["expected"][key], atol=1e-9)


def test_risk_adjusted_cusum_matches_the_cusum_package(memory):
    case = memory["m04-racusum-series25"]
    i, expected = case["inputs"], case["expected"]
    chart = score_cusum(outcome_scores(i["y"], i["risk"], odds_ratio=i["odds_ratio"]), limit=i["limit"])
    np.testing.assert_allclose(chart.values, expected["s"], atol=1e-9)
    assert chart.signals[0] + 1 == expected["first_signal_index1"]


def test_a_month_scores_what_its_sets_score_one_by_one():
    one_by_one = outcome_scores([1, 0, 0, 1, 0], [0.03] * 5, odds_ratio=2).sum()
    assert count_scores([2], [5], rate=0.03, odds_ratio=2)[0] == pytest.approx(one_by_one)


def test_one_surgeons_operations_signal_where_they_were_published(open_data):
    """De Leval 1994: 104 operations, a cluster of deaths; a CUSUM for a doubling of odds from the first 52 speaks."""
    with (open_data("cusum-deleval") / "deleval.csv").open(encoding="utf-8") as lines:
        deaths = [int(row["death"]) if "death" in row else int(row["D"]) for row in csv.DictReader(lines)]
    usual = sum(deaths[:52]) / 52
    assert len(deaths) == 104
    chart = score_cusum(outcome_scores(deaths, [usual] * 104, odds_ratio=4), limit=3.0)
    assert chart.signals
    assert 52 <= chart.signals[0] < 80
