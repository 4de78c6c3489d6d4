"""The chance of a cluster where the usual rate is itself only known from a stretch before.

Outside check: scipy.stats.binom (scipy 1.x), because for one fixed window the average over the gamma is the binomial
tail of the window's events among all events.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, chi2

from cubital.stats.scan import chance_anywhere_after, chance_in_window, densest_stretch, highest_mean


@pytest.mark.parametrize(("count", "before", "windows_before"), [(5, 21, 40.5), (3, 0, 20.0), (4, 2, 6.0), (8, 60, 26)])
def test_one_window_after_a_baseline_is_the_binomial_test(count, before, windows_before):
    expected = binom.sf(count - 1, count + before, 1 / (1 + windows_before))
    found = chance_anywhere_after(count, before=before, windows_before=windows_before, windows=1.0)
    assert found == pytest.approx(expected, rel=1e-6)


def test_a_longer_baseline_at_the_same_rate_makes_a_cluster_odder():
    chances = [chance_anywhere_after(5, before=n, windows_before=2.0 * n, windows=3) for n in (2, 10, 50, 200)]
    assert chances == sorted(chances, reverse=True)
    assert chances[-1] > chance_in_window(5, mean=0.5)


def test_no_event_before_still_leaves_a_chance():
    assert 0 < chance_anywhere_after(3, before=0, windows_before=26, windows=2) < 0.01


@pytest.mark.parametrize("events", [0, 1, 7])
def test_the_highest_mean_is_the_exact_limit(events):
    assert highest_mean(events) == pytest.approx(chi2.ppf(0.95, 2 * events + 2) / 2)


def test_no_baseline_is_refused():
    with pytest.raises(ValueError, match="baseline"):
        chance_anywhere_after(3, before=0, windows_before=0, windows=2)


def test_false_alarms_after_an_estimated_baseline_stay_below_the_stated_chance():
    """2,000 null networks, seed 5: 12 windows of baseline at 0.4 events each, then two windows looked at."""
    rng = np.random.default_rng(5)
    alarms = 0
    for _network in range(2_000):
        before = rng.poisson(12 * 0.4)
        days = rng.integers(0, 28, rng.poisson(0.8))
        count = max((int(np.sum((days >= day) & (days < day + 14))) for day in days), default=0)
        if count >= 2:
            alarms += chance_anywhere_after(count, before=before, windows_before=12, windows=2) <= 0.05
    assert alarms / 2_000 < 0.05 + 2 * (0.05 * 0.95 / 2_000) ** 0.5
    assert alarms > 0
    assert densest_stretch([], window=14) is None
