"""Run lengths of charts on monthly counts, against the closed forms and the run lengths that are checked elsewhere.

Sources: binomial tails by scipy.stats (general-purpose library); the normal EWMA of ``run_lengths`` (itself checked
against R's spc); the exact Bernoulli CUSUM with months of one set.
"""

from __future__ import annotations

import math

import pytest
from scipy.stats import binom

from cubital.stats.count_run_lengths import count_cusum_limit, count_cusum_run_length, ewma_count_run_length
from cubital.stats.run_lengths import bernoulli_cusum_run_length, ewma_run_length


def test_an_ewma_that_forgets_everything_is_the_proportion_chart():
    n, p = 480, 0.026
    reach = 3 * math.sqrt(p * (1 - p) * n)
    outside = binom.sf(math.floor(n * p + reach), n, p) + binom.cdf(math.ceil(n * p - reach) - 1, n, p)
    assert ewma_count_run_length(n=n, center=p, weight=1.0) == pytest.approx(1 / outside, rel=1e-9)


def test_an_ewma_of_many_sets_nears_that_of_normal_values():
    # 0.3 of a million sets a month is normal to three digits; limits that widen speak a little sooner than lasting ones
    found = ewma_count_run_length(n=100_000, center=0.3, weight=0.2, sigmas=3.0)
    assert found == pytest.approx(ewma_run_length(weight=0.2, sigmas=3.0), rel=0.02)


def test_months_of_one_set_are_the_cusum_of_outcomes_one_by_one():
    usual, changed, limit = 0.1, 0.2, 2.0
    odds = changed / (1 - changed) / (usual / (1 - usual))
    exact = bernoulli_cusum_run_length(usual=usual, changed=changed, limit=limit)
    assert count_cusum_run_length(n=1, usual=usual, odds_ratio=odds, limit=limit) == pytest.approx(exact, rel=0.01)


def test_the_limit_keeps_the_asked_quiet_and_no_smaller_one_does():
    limit = count_cusum_limit(n=480, usual=0.026, odds_ratio=2.0, run_length=200)
    assert count_cusum_run_length(n=480, usual=0.026, odds_ratio=2.0, limit=limit) >= 200
    assert count_cusum_run_length(n=480, usual=0.026, odds_ratio=2.0, limit=limit - 0.05) < 200


def test_a_doubled_rate_is_found_far_sooner_than_a_false_alarm_comes():
    limit = count_cusum_limit(n=480, usual=0.026, odds_ratio=2.0, run_length=200)
    found = count_cusum_run_length(n=480, usual=0.026, odds_ratio=2.0, limit=limit, rate=0.052)
    assert 1 <= found < 4


@pytest.mark.parametrize("bad", [{"n": 0}, {"usual": 0.0}, {"usual": 1.0}, {"odds_ratio": 1.0}])
def test_what_names_no_chart_is_refused(bad):
    with pytest.raises(ValueError, match="needed"):
        count_cusum_run_length(**({"n": 10, "usual": 0.1, "odds_ratio": 2.0, "limit": 2.0} | bad))
