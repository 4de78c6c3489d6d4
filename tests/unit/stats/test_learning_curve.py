"""Learning charts against exact calculation (check-value file; the schemes are Wald's and Biau and Porcher's)."""

from __future__ import annotations

import json

import numpy as np
import pytest

from cubital.stats.learning_curve import attempts_to_competence, competence_chart, cost_of, scores, two_limits


@pytest.fixture(scope="module")
def cases(check_values):
    found = json.loads(check_values("m12-learning-cusum.json").read_text())["cases"]
    return {case["id"]: case for case in found}


@pytest.mark.parametrize("name", ["m12-sprt-0.1-0.2", "m12-sprt-0.05-0.1"])
def test_two_limits_and_what_they_cost(cases, name):
    i, expected = cases[name]["inputs"], cases[name]["expected"]
    limits = two_limits(acceptable=i["p0"], unacceptable=i["p1"], false_bad=i["alpha"], false_good=i["beta"])
    wanted = tuple(expected[key] for key in ("s", "h0", "h1"))
    assert (limits.step, limits.good, limits.bad) == pytest.approx(wanted, abs=1e-6)
    fine, poor = cost_of(limits, share=i["p0"]), cost_of(limits, share=i["p1"])
    assert fine.accepted == pytest.approx(expected["p_accept_when_p0"], abs=1e-6)
    assert poor.refused == pytest.approx(expected["p_reject_when_p1"], abs=1e-6)
    assert (fine.attempts, poor.attempts) == pytest.approx((expected["asn_when_p0"], expected["asn_when_p1"]), abs=1e-5)
    assert fine.accepted + fine.refused == pytest.approx(1.0)


@pytest.mark.parametrize("name", ["m12-lccusum-0.2-0.1-1.25", "m12-lccusum-0.3-0.15-1.25"])
def test_how_long_competence_takes(cases, name):
    i, expected = cases[name]["inputs"], cases[name]["expected"]
    scheme = {"inadequate": i["p_inadequate"], "adequate": i["p_adequate"], "limit": i["h"]}
    poor = attempts_to_competence(**scheme, share=i["p_inadequate"])
    good = attempts_to_competence(**scheme, share=i["p_adequate"])
    assert (poor, good) == pytest.approx((expected["arl_inadequate"], expected["arl_adequate"]), rel=1e-5)


def test_thirty_attempts_reach_competence_at_the_twentieth(cases):
    case = cases["m12-lccusum-series30"]
    i = case["inputs"]
    chart = competence_chart(i["failure"], inadequate=i["p_inadequate"], adequate=i["p_adequate"], limit=i["h"])
    np.testing.assert_allclose(chart.values, case["expected"]["s"], atol=1e-9)
    assert chart.signals[0] + 1 == case["expected"]["first_signal_index1"]


def test_scores_by_hand():
    limits = two_limits(acceptable=0.1, unacceptable=0.2)
    step = limits.step
    assert scores([1, 0, 0], limits).tolist() == pytest.approx([1 - step, 1 - 2 * step, 1 - 3 * step])


@pytest.mark.parametrize("wrong", [{"acceptable": 0.2, "unacceptable": 0.1}, {"acceptable": 0, "unacceptable": 0.1}])
def test_limits_that_make_no_sense_are_refused(wrong):
    with pytest.raises(ValueError, match="needed"):
        two_limits(**wrong)
