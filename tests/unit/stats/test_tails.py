"""Exact tails and posterior chances, against scipy.stats and the worked anchors of the trade."""

from __future__ import annotations

import pytest
from scipy.stats import beta, binom

from cubital.stats.tails import chance_at_least, chance_at_most, chance_of_any, chance_rate_below, most_below


@pytest.mark.parametrize(("x", "n", "rate"), [(19, 498, 0.0259), (0, 10, 0.3), (10, 10, 0.3), (1, 40, 0.026)])
def test_both_tails_are_scipys(x, n, rate):
    """Oracle: scipy.stats.binom."""
    assert chance_at_least(x, n, rate=rate) == pytest.approx(binom.sf(x - 1, n, rate), rel=1e-12)
    assert chance_at_most(x, n, rate=rate) == pytest.approx(binom.cdf(x, n, rate), rel=1e-12)


def test_tails_outside_the_possible_counts_are_zero_or_one():
    assert chance_at_least(0, 5, rate=0.2) == 1.0
    assert chance_at_least(6, 5, rate=0.2) == 0.0
    assert chance_at_most(-1, 5, rate=0.2) == 0.0
    assert chance_at_most(5, 5, rate=0.2) == 1.0


def test_a_month_at_2_6_percent_of_480_sets_is_green_73_percent_of_the_time():
    """Worked anchor of the trade: below 3 % means 14 or fewer of 480."""
    assert most_below(0.03, 480) == 14
    assert chance_at_most(14, 480, rate=0.026) == pytest.approx(0.73, abs=0.005)


def test_a_whole_number_target_is_not_itself_below_target():
    assert most_below(0.03, 500) == 14
    assert most_below(0.0, 500) == -1


def test_some_month_of_twelve_is_one_minus_all_quiet():
    assert chance_of_any(0.064, 12) == pytest.approx(1 - (1 - 0.064) ** 12, rel=1e-12)
    assert chance_of_any(1.0, 12) == 1.0
    assert chance_of_any(1.0, 0) == 0.0


@pytest.mark.parametrize(("x", "n", "target"), [(10, 498, 0.03), (0, 24, 0.02), (289, 11142, 0.03)])
def test_posterior_chance_below_target_is_the_beta_distribution(x, n, target):
    """Oracle: scipy.stats.beta with Jeffreys' prior."""
    assert chance_rate_below(x, n, target=target) == pytest.approx(beta.cdf(target, x + 0.5, n - x + 0.5), rel=1e-10)
