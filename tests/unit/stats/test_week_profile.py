"""Shares by hour of the week and the stretch with most events; by hand, and against a plain Wilson interval."""

from __future__ import annotations

import numpy as np
import pytest

from cubital.stats.proportions import wilson_interval
from cubital.stats.week_profile import best_stretch, smooth_week


def week(value=0):
    return np.full((7, 24), value, dtype=np.int64)


def test_without_smoothing_a_cell_is_its_own_wilson_interval():
    events, n = week(1), week(40)
    events[2, 9] = 6
    found, plain = smooth_week(events, n, hours=0.1, other_day=0.0), wilson_interval(6, 40)
    assert found.share[2, 9] == pytest.approx(6 / 40)
    assert (found.low[2, 9], found.high[2, 9]) == pytest.approx((plain.low, plain.high))


def test_equal_shares_stay_equal_and_are_surer_together():
    found = smooth_week(week(2), week(50))
    assert found.share == pytest.approx(np.full((7, 24), 0.04))
    assert found.draws.min() > 50
    assert found.high.max() < wilson_interval(2, 50).high


def test_midnight_and_the_end_of_the_week_are_no_edges():
    events, n = week(), week(10)
    events[6, 23] = 10
    found = smooth_week(events, n, other_day=0.0)
    assert found.share[0, 0] == pytest.approx(found.share[6, 22])


def test_saturday_lends_to_sunday_and_not_to_wednesday():
    events, n = week(), week(10)
    events[5, 12] = 5
    found = smooth_week(events, n)
    assert found.share[6, 12] > 0
    assert found.share[2, 12] == 0


def test_hours_without_any_neighbour_have_no_share():
    n = week()
    n[0, 12] = 20
    found = smooth_week(week(), n)
    assert np.isnan(found.share[5, 2])
    assert found.draws[5, 2] == 0


def test_the_smoothed_interval_covers_the_truth_as_often_as_it_says():
    """A flat truth of 3 %, 150 simulated weeks, seed 3: 95 % of cells covered, within Monte-Carlo error of cells that
    share neighbours (taken as 2 points).
    """
    random = np.random.default_rng(3)
    n = random.integers(5, 60, (7, 24))
    covered = []
    for _turn in range(150):
        found = smooth_week(random.binomial(n, 0.03), n)
        covered.append(((found.low <= 0.03) & (found.high >= 0.03)).mean())
    assert np.mean(covered) == pytest.approx(0.95, abs=0.02)


def test_the_best_stretch_runs_over_midnight_into_the_next_day():
    events, n = week(), week(20)
    events[0, 22:] = 3
    events[1, :4] = 3
    found = best_stretch(events, n, length=6, days=(0,))
    assert (found.chosen, found.events[22], found.sets[22]) == (22, 18, 120)
    assert found.best[22] > 0.9


def test_a_flat_week_has_no_best_stretch():
    found = best_stretch(week(2), week(50), length=12, days=tuple(range(7)))
    assert found.best.max() < 0.35
    assert found.best.sum() == pytest.approx(1)
    assert found.expected < found.events[found.chosen]


def test_choosing_the_best_is_paid_for():
    """A flat truth, 200 made weeks, seed 9: what is expected of the chosen stretch lies closer to what every stretch
    truly holds (half of the events) than the count seen in it.
    """
    random = np.random.default_rng(9)
    seen, expected, truth = [], [], []
    for turn in range(200):
        events = random.poisson(0.5, (7, 24))
        found = best_stretch(events, events + 20, length=12, days=tuple(range(7)), draws=300, seed=turn)
        seen.append(found.events[found.chosen])
        expected.append(found.expected)
        truth.append(42)
    assert np.mean(seen) > 44
    assert abs(np.mean(expected) - np.mean(truth)) < abs(np.mean(seen) - np.mean(truth))


def test_a_flat_week_is_seldom_said_to_differ():
    """200 made weeks of one share, seed 12: a false finding at 5 % in 5 % of them, within three errors (4.6 points)."""
    random = np.random.default_rng(12)
    n = random.integers(5, 60, (7, 24))
    found = [
        best_stretch(random.binomial(n, 0.03), n, length=12, days=tuple(range(7)), draws=300, seed=turn).chance <= 0.05
        for turn in range(200)
    ]
    assert np.mean(found) == pytest.approx(0.05, abs=0.046)


def test_no_event_leaves_all_stretches_alike():
    found = best_stretch(week(), week(3), length=12, days=(0,))
    assert (found.expected, found.best[0]) == (0.0, pytest.approx(1 / 24))


@pytest.mark.parametrize(("length", "days"), [(0, (0,)), (24, (0,)), (12, ()), (12, (7,))])
def test_stretches_that_cannot_be_are_refused(length, days):
    with pytest.raises(ValueError, match="1 to 23 hours"):
        best_stretch(week(), week(1), length=length, days=days)
