"""Control charts, funnels and run rules against R (qcc, qicharts2, spc) and exact calculation; sources per case.

Tolerances: each case brings its own, 1e-8 or tighter except for Laney's spread, whose constant R rounds.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from scipy.stats import binom

from cubital.stats.attribute_charts import laney_p_chart, laney_u_chart, np_chart, p_chart, u_chart
from cubital.stats.funnel_limits import funnel_limits
from cubital.stats.run_chart import run_chart, run_false_alarm, run_limits
from cubital.stats.run_rule_arl import average_run_length
from cubital.stats.run_rules import nelson_rules


@pytest.fixture(scope="module")
def charts(check_values):
    """Oracles: R 4.2.2, qcc 2.7, qicharts2 0.8.1; data from printed textbooks, named in the file."""
    return json.loads(check_values("m02-attribute-charts.json").read_text())["cases"]


@pytest.fixture(scope="module")
def runs(check_values):
    """Oracles: R spc 0.6.7, qicharts2 0.8.1 and exact enumeration; named per case in the file."""
    return json.loads(check_values("m05-run-rules.json").read_text())["cases"]


def _assert_limits(chart, case, *, tolerance):
    expected = case["expected"]
    assert chart.center == pytest.approx(expected["center"], abs=tolerance), case["id"]
    for found, name in ((chart.lower, "lcl"), (chart.upper, "ucl")):
        wanted = np.broadcast_to(expected[name], found.shape)
        np.testing.assert_allclose(found, wanted, rtol=0, atol=tolerance, err_msg=case["id"])
    if "beyond_limits_index1" in expected:
        assert [point + 1 for point in chart.beyond] == expected["beyond_limits_index1"]


def test_p_charts_match_qcc_with_constant_and_varying_n(charts):
    chosen = [case for case in charts if case["submethod"].startswith("p chart")]
    assert len(chosen) >= 3
    for case in chosen:
        events, n = case["inputs"]["defectives"], case["inputs"]["n"]
        _assert_limits(p_chart(events, np.broadcast_to(n, len(events))), case, tolerance=1e-9)


def test_np_and_u_charts_match_qcc(charts):
    by_method = {case["submethod"]: case for case in charts}
    counts, units = by_method["np chart"], by_method["u chart, variable n"]
    _assert_limits(np_chart(counts["inputs"]["defectives"], counts["inputs"]["n"]), counts, tolerance=1e-9)
    _assert_limits(u_chart(units["inputs"]["defects"], units["inputs"]["units"]), units, tolerance=1e-9)


def test_laney_charts_match_qicharts2_screened_and_not(charts):
    chosen = [case for case in charts if case["submethod"].startswith("Laney p'")]
    assert {bool(case["inputs"].get("screen")) for case in chosen} == {True, False}
    for case in chosen:
        i = case["inputs"]
        chart = laney_p_chart(i["events"], i["n"], screened=i.get("screen", False))
        assert chart.spread == pytest.approx(case["expected"]["sigma_z"], rel=5e-4)
        _assert_limits(chart, case, tolerance=1e-8)


def test_laney_u_chart_nears_the_p_chart_when_events_are_rare():
    """A rate per unit and a share differ by the factor 1 − p only; no printed u′ example is at hand."""
    events, n = [9, 7, 12, 6, 11, 8], [41200, 38800, 45500, 30100, 47600, 39900]
    share, rate = laney_p_chart(events, n), laney_u_chart(events, n)
    np.testing.assert_allclose(rate.upper, share.upper, rtol=1e-3)
    assert rate.spread == pytest.approx(share.spread, rel=1e-3)


def test_funnel_limits_match_r_and_spiegelhalter(charts):
    (case,) = [case for case in charts if case["submethod"] == "exact binomial funnel limits"]
    target, n, expected = case["inputs"]["target"], case["inputs"]["n"], case["expected"]
    for level, prefix in ((0.95, "l95"), (0.998, "l998")):
        found = funnel_limits(n, target=target, level=level)
        for side in ("lo", "hi"):
            for kind in ("quantile", "interpolated"):
                ours = getattr(found, f"{'low' if side == 'lo' else 'high'}_{kind}")
                np.testing.assert_allclose(ours, expected[f"{prefix}_{side}_{kind}"], rtol=0, atol=1e-9)


@pytest.mark.parametrize(("n", "target", "level"), [(7, 0.5, 0.95), (480, 0.026, 0.998), (1, 0.01, 0.9)])
def test_funnel_quantiles_are_scipys(n, target, level):
    """Oracle: scipy.stats.binom.ppf."""
    found = funnel_limits([n], target=target, level=level)
    assert found.low_quantile[0] == binom.ppf((1 - level) / 2, n, target) / n
    assert found.high_quantile[0] == binom.ppf((1 + level) / 2, n, target) / n


def test_average_run_lengths_match_spc(runs):
    cases = [case for case in runs if "shifts" in case["inputs"]]
    assert len(cases) == 2
    for case in cases:
        found = [average_run_length(case["inputs"]["rules"], shift=shift) for shift in case["inputs"]["shifts"]]
        assert found == pytest.approx(case["expected"]["arl"], rel=1e-9)


def test_false_alarms_of_rule_combinations_match(runs):
    (case,) = [case for case in runs if "shift" in case["inputs"]]
    found = [average_run_length([int(rule) for rule in rules]) for rules in case["inputs"]["rules"]]
    assert found == pytest.approx(case["expected"]["arl0"], rel=1e-9)
    assert [1 / value for value in found] == pytest.approx(case["expected"]["false_alarm_per_point"], rel=1e-9)


def test_run_limits_match_anhoej(runs):
    (case,) = [case for case in runs if "n_useful" in case["inputs"]]
    limits = [run_limits(n) for n in case["inputs"]["n_useful"]]
    assert [limit.longest_run_max for limit in limits] == case["expected"]["longest_run_max"]
    assert [limit.crossings_min for limit in limits] == case["expected"]["crossings_min"]


def test_run_false_alarms_match_exact_enumeration(runs):
    (case,) = [case for case in runs if set(case["inputs"]) == {"n"}]
    found = [run_false_alarm(n) for n in case["inputs"]["n"]]
    assert [alarm.either for alarm in found] == pytest.approx(case["expected"]["p_signal"], abs=1e-9)
    assert [alarm.long_run for alarm in found] == pytest.approx(case["expected"]["p_long_run"], abs=1e-9)
    assert [alarm.few_crossings for alarm in found] == pytest.approx(case["expected"]["p_few_crossings"], abs=1e-9)


def test_run_charts_match_qicharts2(runs):
    cases = [case for case in runs if "y" in case["inputs"]]
    assert len(cases) == 2
    for case in cases:
        chart, expected = run_chart(case["inputs"]["y"]), case["expected"]
        assert (chart.center, chart.useful) == (expected["median"], expected["useful"])
        assert (chart.longest_run, chart.crossings) == (expected["longest_run"], expected["crossings"])
        assert chart.limits is not None
        limits = chart.limits.longest_run_max, chart.limits.crossings_min
        assert limits == (expected["longest_run_max"], expected["crossings_min"])
        assert chart.signal is expected["signal"]


def test_nelson_rules_match_point_by_point(runs):
    (case,) = [case for case in runs if "sigma" in case["inputs"]]
    found = nelson_rules(case["inputs"]["x"], center=case["inputs"]["center"], sigma=case["inputs"]["sigma"])
    for rule in range(1, 9):
        assert [point + 1 for point in found[rule]] == case["expected"][f"rule{rule}"], rule


def test_alternating_and_hugging_patterns_are_found():
    """The rules that the series above never completes, on series built to complete them at one known point."""
    zigzag = nelson_rules([0.5, -0.5] * 7, center=0, sigma=1)
    assert zigzag[4] == (13,)
    assert nelson_rules([0.1, -0.2, 0.3] * 5, center=0, sigma=1)[7] == (14,)
    assert nelson_rules([1.5, -1.5] * 4, center=0, sigma=1)[8] == (7,)
    assert nelson_rules([-3.2], center=0, sigma=1)[1] == (0,)


def test_months_without_exposure_have_no_value_and_no_signal():
    chart = p_chart([3, 0, 2], [100, 0, 100])
    assert math.isnan(chart.values[1])
    assert math.isnan(chart.upper[1])
    assert chart.beyond == ()


@pytest.mark.parametrize(("events", "n"), [([5], [4]), ([-1], [4]), ([1], [0]), ([0], [0]), ([], []), ([1, 2], [5])])
def test_impossible_charts_are_refused(events, n):
    with pytest.raises(ValueError, match=r"chart needs|cannot be negative|more events"):
        p_chart(events, n)


def test_rules_and_limits_refuse_what_they_do_not_know():
    with pytest.raises(ValueError, match="choose among"):
        average_run_length([5])
    with pytest.raises(ValueError, match="two points"):
        run_limits(1)
    with pytest.raises(ValueError, match="must be above 0"):
        nelson_rules([1.0], center=0, sigma=0)
    with pytest.raises(ValueError, match="target"):
        funnel_limits([10], target=0, level=0.95)
    with pytest.raises(ValueError, match="two points that vary"):
        laney_p_chart([1], [10])
    with pytest.raises(ValueError, match="a point"):
        run_chart([])
    assert run_chart([3.0, 3.0]).signal is False


def test_run_limits_follow_the_published_formula_without_any_file():
    """Anhøj and Olesen 2014: round(log2(n) + 3) and the 5 % quantile of a binomial, here by scipy.stats.binom."""
    for n in (10, 16, 24, 36, 100):
        assert run_limits(n).longest_run_max == round(math.log2(n) + 3)
        assert run_limits(n).crossings_min == binom.ppf(0.05, n - 1, 0.5)


def test_nine_on_one_side_and_six_rising_complete_nelsons_patterns():
    """Nelson 1984, rules 2 and 3, at their edges."""
    assert nelson_rules([0.5] * 8, center=0, sigma=1)[2] == ()
    assert nelson_rules([0.5] * 9, center=0, sigma=1)[2] == (8,)
    assert nelson_rules([1, 2, 3, 4, 5], center=3, sigma=9)[3] == ()
    assert nelson_rules([1, 2, 3, 4, 5, 6], center=3, sigma=9)[3] == (5,)


def test_screening_drops_one_large_jump_and_only_that():
    """Nelson 1982: a moving range above 3.267 times the mean range is dropped once, here worked out by hand."""
    events, n = [5, 6, 5, 6, 5, 6, 5, 6, 40, 5, 6, 5, 6], [500] * 13
    share = sum(events) / sum(n)
    ranges = np.abs(np.diff(events)) / 500 / math.sqrt(share * (1 - share) / 500)
    assert laney_p_chart(events, n).spread == pytest.approx(ranges.mean() / 1.128)
    kept = ranges[ranges <= 3.267 * ranges.mean()]
    assert len(kept) == len(ranges) - 2
    assert laney_p_chart(events, n, screened=True).spread == pytest.approx(kept.mean() / 1.128)
