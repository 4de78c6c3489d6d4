"""Clusters in time: the worked anchor, simulation as the independent way, and the densest stretch by brute force."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import poisson

from cubital.stats.scan import chance_anywhere, chance_in_window, densest_stretch

START = date(2026, 3, 1)
RUNS = 20_000
YEARS = [(5, 0.06, 360, 9), (4, 0.03, 360, 14), (8, 0.2, 180, 14)]


def simulated(count, *, per_day, days, window):
    """Event days whole, seed 1."""
    events = np.random.default_rng(1).poisson(per_day, size=(RUNS, days))
    sums = np.lib.stride_tricks.sliding_window_view(events, window, axis=1).sum(axis=2)
    return float((sums.max(axis=1) >= count).mean())


def test_five_bacillus_in_nine_days():
    """Question 26 and the quarter's story: 0.4 a week expected, five in nine days: probability about 0.0002."""
    found = chance_in_window(5, mean=0.4 * 9 / 7)
    assert found == pytest.approx(poisson.sf(4, 0.4 * 9 / 7), rel=1e-12)
    assert found == pytest.approx(0.0002, abs=0.00003)


@pytest.mark.parametrize(
    ("count", "per_day", "days", "window"), [(5, 0.06, 360, 9), (4, 0.03, 360, 14), (8, 0.2, 180, 14)]
)
def test_anywhere_agrees_with_simulation(count, per_day, days, window):
    """Naus counts every moment, the simulation whole days: his chance is a little higher, never lower by much."""
    by_formula = chance_anywhere(count, mean=per_day * window, windows=days / window)
    by_dice = simulated(count, per_day=per_day, days=days, window=window)
    assert 0.85 * by_dice - 0.01 < by_formula < 1.45 * by_dice + 0.01


def test_a_moving_window_agrees_with_simulation_in_continuous_time():
    random = np.random.default_rng(3)
    hits = 0
    for _run in range(6_000):
        times = np.sort(random.uniform(0, 10, random.poisson(10)))
        hits += bool(((times[4:] - times[:-4]) <= 1).any()) if times.size >= 5 else False
    assert chance_anywhere(5, mean=1, windows=10) == pytest.approx(hits / 6_000, abs=0.02)


def test_a_window_anywhere_is_likelier_than_one_fixed():
    assert chance_anywhere(5, mean=0.5, windows=40) > chance_in_window(5, mean=0.5)


@given(st.lists(st.integers(0, 40), max_size=12), st.integers(1, 14))
def test_the_densest_stretch_is_the_densest(offsets, window):
    days = [START + timedelta(days=offset) for offset in offsets]
    found = densest_stretch(days, window=window)
    by_hand = max((sum(first <= day < first + timedelta(days=window) for day in days) for first in days), default=0)
    assert (found.count if found else 0) == by_hand
    assert found is None or found.days <= window


@pytest.mark.parametrize("wrong", [{"count": 0, "mean": 1, "windows": 2}, {"count": 2, "mean": -1, "windows": 2},
                                   {"count": 2, "mean": 1, "windows": 0.5}])  # fmt: skip
def test_windows_that_make_no_sense_are_refused(wrong):
    with pytest.raises(ValueError, match="needed"):
        chance_anywhere(wrong.pop("count"), **wrong)
