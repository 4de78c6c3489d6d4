"""Overdispersion, shrinkage, standardised ratios and ranks against R packages and printed examples; source per case.

Oracles: R 4.2.2 with a funnel-plot package, metafor 3.8.1, VGAM 1.1.7, epiR 2.0.57, PHEindicatormethods 2.1.1; Gelman's
rat tumours, Efron and Morris's baseball players, Breslow and Day's factors; named in each case of the files.
"""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from cubital.stats.overdispersion import (
    measure_overdispersion,
    random_effects,
    ratio_limits,
    ratio_scores,
    share_scores,
)
from cubital.stats.ranks import rank_places
from cubital.stats.shrinkage import (
    NO_SPREAD,
    BetaPrior,
    fit_prior,
    james_stein,
    log_likelihood,
    prior_by_moments,
    spread_test,
)
from cubital.stats.standardised import byar, exact_poisson, mid_p_poisson, standardise


@pytest.fixture(scope="module")
def funnels(check_values):
    return json.loads(check_values("m06-funnel-overdispersion.json").read_text())["cases"]


@pytest.fixture(scope="module")
def shrunk(check_values):
    cases = json.loads(check_values("m07-shrinkage-smr-ranks.json").read_text())["cases"]
    return {case["id"]: case for case in cases}


def test_overdispersion_matches_for_ratios_and_shares(funnels):
    chosen = [case for case in funnels if case["submethod"].startswith("overdispersion")]
    assert len(chosen) == 5
    for case in chosen:
        i, expected = case["inputs"], case["expected"]
        score = ratio_scores if i["data_type"] == "SR" else share_scores
        scores = score(i["numerator"], i["denominator"])
        found = measure_overdispersion(scores, tail=i["winsorise_each_tail"])
        np.testing.assert_allclose(scores.z, expected["z"], atol=1e-9, err_msg=case["id"])
        assert (found.phi, found.tau2) == pytest.approx((expected["phi"], expected["tau2"]), abs=1e-9), case["id"]


def test_widened_limits_match(funnels):
    (case,) = [case for case in funnels if case["id"] == "m06-limits-sr"]
    i = case["inputs"]
    for level, name in ((0.95, "95"), (0.998, "998")):
        low, high = ratio_limits(i["expected"], tau2=i["tau2"], level=level)
        np.testing.assert_allclose(low, case["expected"][f"od_low{name}"], atol=1e-7)
        np.testing.assert_allclose(high, case["expected"][f"od_high{name}"], atol=1e-7)


def test_random_effects_match_metafor(funnels):
    cases = {case["id"]: case for case in funnels}
    trials = cases["m06-dl-bcg"]
    hospitals = cases["m06-dl-logoe20"]
    o, e = (np.array(hospitals["inputs"][name]) for name in ("observed", "expected"))
    pairs = ((trials, (trials["inputs"]["yi"], trials["inputs"]["vi"])), (hospitals, (np.log(o / e), 1 / e)))
    for case, (y, v) in pairs:
        found, wanted = random_effects(y, v), case["expected"]
        assert (found.q, found.tau2, found.i2, found.mu, found.se) == pytest.approx(
            (wanted["Q"], wanted["tau2"], wanted["I2"], wanted["mu"], wanted["se"]), rel=1e-8
        )


def test_moments_prior_matches_gelmans_rats(shrunk):
    case = shrunk["m07-rat-mom"]
    expected = case["expected"]
    prior = prior_by_moments(case["inputs"]["y"], case["inputs"]["n"])
    assert (prior.alpha, prior.beta) == pytest.approx((expected["alpha"], expected["beta"]), rel=1e-8)
    after = prior.after(4, 14)
    assert (after.mean, after.sd) == pytest.approx((expected["post_mean"], expected["post_sd"]), rel=1e-8)


def test_likeliest_prior_matches_vgam(shrunk):
    case = shrunk["m07-bb-ml-rat71"]
    y, n, expected = case["inputs"]["y"], case["inputs"]["n"], case["expected"]
    prior = fit_prior(y, n)
    assert (prior.alpha, prior.beta) == pytest.approx((expected["alpha"], expected["beta"]), rel=1e-4)
    assert log_likelihood(prior, y, n) == pytest.approx(expected["loglik"], abs=1e-4)
    case = shrunk["m07-bb-ml-hosp20"]
    x, n = case["inputs"]["x"], case["inputs"]["n"]
    prior = fit_prior(x, n)
    assert prior.alpha == pytest.approx(case["expected"]["alpha"], rel=0.002)
    found = [prior.after(events, draws).mean for events, draws in zip(x, n, strict=True)]
    assert found == pytest.approx(case["expected"]["shrunken"], abs=2e-6)


def test_equal_rates_leave_no_spread():
    assert fit_prior([3, 3, 3, 3], [100, 100, 100, 100]).weight == pytest.approx(NO_SPREAD, rel=0.01)


def test_james_stein_matches_efron_and_morris(shrunk):
    case = shrunk["m07-james-stein"]
    rates = np.array(case["inputs"]["hits"]) / case["inputs"]["at_bats"]
    mean = float(rates.mean())
    found = james_stein(rates, variance=mean * (1 - mean) / case["inputs"]["at_bats"])
    assert found == pytest.approx(case["expected"]["estimates"], abs=1e-9)


def test_poisson_limits_match_breslow_and_day(shrunk):
    case = shrunk["m07-poisson-limits-a"]
    for place, observed in enumerate(case["inputs"]["observed"]):
        exact, near, expected = exact_poisson(observed), byar(observed), case["expected"]
        assert exact.low == pytest.approx(expected["exact_lower"][place], abs=1e-6)
        assert exact.high == pytest.approx(expected["exact_upper"][place], abs=1e-6)
        assert near.low == pytest.approx(expected["byar_lower"][place], abs=1e-6)
        assert near.high == pytest.approx(expected["byar_upper"][place], abs=1e-6)


def test_byar_matches_at_two_levels(shrunk):
    case = shrunk["m07-byar-phe"]
    for place, observed in enumerate(case["inputs"]["observed"]):
        for level, name in ((0.95, "95"), (0.998, "998")):
            found = byar(observed, level=level)
            assert found.low == pytest.approx(case["expected"][f"lo{name}"][place], abs=1e-6)
            assert found.high == pytest.approx(case["expected"][f"hi{name}"][place], abs=1e-6)


def test_a_standardised_ratio_matches_rothman_and_boice(shrunk):
    case = shrunk["m07-smr-4-3.3"]
    observed, wanted, expected = 4, case["inputs"]["expected"], case["expected"]
    for method, name in ((byar, "byar"), (exact_poisson, "exact"), (mid_p_poisson, "midp")):
        found = method(observed)
        assert (found.low / wanted, found.high / wanted) == pytest.approx(expected[name], abs=1e-6), name


def test_no_events_have_a_lower_limit_of_nothing():
    assert all(method(0).low == 0 for method in (byar, exact_poisson, mid_p_poisson))
    assert exact_poisson(0).high == pytest.approx(-math.log(0.025))  # by hand: exp(-m) = 0.025


def test_standardising_by_hand():
    """By hand: 10 of 100 nights and 2 of 200 days at the standard's 5 % and 1 % make 5 + 2 expected."""
    found = standardise({"night": (10, 100), "day": (2, 200), "dusk": (1, 7)}, {"night": (50, 1000), "day": (30, 3000)})
    assert (found.observed, found.expected, found.uncovered) == (12, pytest.approx(7.0), 7)


def test_rank_chances_match_integration_in_r(shrunk):
    case = shrunk["m07-rank-6"]
    posteriors = [BetaPrior(a, b) for a, b in zip(case["inputs"]["alpha"], case["inputs"]["beta"], strict=True)]
    ranks = rank_places(posteriors, nodes=400)
    assert ranks.expected() == pytest.approx(case["expected"]["expected_rank"], abs=1e-6)
    np.testing.assert_allclose(ranks.chance, case["expected"]["prob_rank"], atol=1e-6)
    np.testing.assert_allclose(ranks.chance.sum(axis=0), 1.0, atol=1e-6)


COLLECTORS = {
    "C01": (9, 2), "C02": (41, 1), "C03": (63, 5), "C04": (88, 1), "C05": (112, 6), "C06": (4, 1), "C07": (57, 0),
    "C08": (240, 14), "C09": (35, 0), "C10": (76, 2), "C11": (29, 3), "C12": (133, 2), "C13": (18, 0), "C14": (95, 7),
}  # fmt: skip


def test_fourteen_collectors_shrink_as_worked_out():
    """Worked example of the job's description: prior 4.4 %, worth about 71 draws; simulated p about 0.016."""
    draws, events = zip(*COLLECTORS.values(), strict=True)
    prior = fit_prior(events, draws)
    assert prior.mean == pytest.approx(0.044, abs=0.001)
    assert prior.weight == pytest.approx(71, abs=3)
    expected = {"C14": 6.1, "C03": 6.1, "C11": 6.2, "C01": 6.4, "C06": 5.5, "C08": 5.5, "C05": 5.0}
    for name, rate in expected.items():
        n, x = COLLECTORS[name]
        assert 100 * prior.after(x, n).mean == pytest.approx(rate, abs=0.06), name
    assert spread_test(events, draws).chance == pytest.approx(0.016, abs=0.005)
