"""Units with a change against units without. The pooled side against statsmodels' meta-analysis (combine_effects).

Tolerance 1e-6: the same closed formulas (DerSimonian and Laird's spread by moments).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from statsmodels.stats.meta_analysis import combine_effects

from cubital.stats.difference_in_differences import BeforeAfter
from cubital.stats.peer_differences import peer_difference


def counts(events_before, events_after, n=1000):
    return BeforeAfter(events_before=events_before, n_before=n, events_after=events_after, n_after=n)


OURS = counts(60, 30)
PEERS = [counts(30, 28), counts(25, 45), counts(50, 31), counts(40, 41)]


def log_odds_ratio(one):
    a, b = one.events_after + 0.5, one.n_after - one.events_after + 0.5
    c, d = one.events_before + 0.5, one.n_before - one.events_before + 0.5
    return math.log(a * d / (b * c)), 1 / a + 1 / b + 1 / c + 1 / d


def test_the_peers_are_pooled_as_a_meta_analysis_pools_them():
    logs, variances = (np.array(one) for one in zip(*map(log_odds_ratio, PEERS), strict=True))
    oracle = combine_effects(logs, variances, method_re="chi2")
    found = peer_difference([OURS], PEERS)
    assert found.spread**2 == pytest.approx(oracle.tau2, abs=1e-6)
    assert math.log(found.peers_ratio) == pytest.approx(oracle.mean_effect_re, abs=1e-6)


def test_one_unit_is_taken_for_one_more_of_their_kind():
    """By hand from the oracle: own variance, the spread and the variance of the pooled mean, Student's t with 3."""
    logs, variances = (np.array(one) for one in zip(*map(log_odds_ratio, PEERS), strict=True))
    oracle = combine_effects(logs, variances, method_re="chi2")
    own, own_variance = log_odds_ratio(OURS)
    error = math.sqrt(own_variance + oracle.tau2 + 1 / (1 / (variances + oracle.tau2)).sum())
    found = peer_difference([OURS], PEERS)
    assert math.log(found.estimate) == pytest.approx(own - oracle.mean_effect_re, abs=1e-6)
    assert math.log(found.interval.high / found.interval.low) == pytest.approx(2 * 3.182446 * error, abs=1e-5)


def test_peers_that_agree_leave_chance_alone():
    found = peer_difference([OURS], [counts(30, 30)] * 3)
    assert found.spread == 0
    assert found.peers_ratio == pytest.approx(1)
    assert math.log(found.interval.high / found.interval.low) < 2 * 3.182446 * 0.4


def test_a_unit_without_events_has_bounds():
    found = peer_difference([counts(10, 0, n=200)], [counts(8, 9, n=200), counts(12, 10, n=200)])
    assert 0 < found.interval.low < found.estimate < found.interval.high < math.inf
    with pytest.raises(ValueError, match="two without"):
        peer_difference([OURS], PEERS[:1])


@pytest.mark.parametrize("units", [1, 3])
def test_the_interval_covers_where_units_change_differently(units):
    """600 networks, six peers, a spread of 0.3 in log odds, truth 0.6: at least 92 % must cover (seen: 95 to 96 %)."""
    random = np.random.default_rng(11)

    def unit(times):
        rate = random.uniform(0.02, 0.05)
        odds = rate / (1 - rate) * times * np.exp(random.normal(0, 0.3))
        return BeforeAfter(
            events_before=int(random.binomial(1500, rate)), n_before=1500,
            events_after=int(random.binomial(1500, odds / (1 + odds))), n_after=1500,
        )  # fmt: skip

    covered = 0
    for _network in range(600):
        found = peer_difference([unit(0.6) for _at in range(units)], [unit(1.0) for _at in range(6)])
        covered += found.interval.low <= 0.6 <= found.interval.high
    assert covered / 600 >= 0.92
