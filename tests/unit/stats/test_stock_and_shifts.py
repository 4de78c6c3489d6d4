"""Queues, shifts and stock: against simulation, brute force and exact sums. Sources stand beside each check."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from cubital.stats.coverage import WEEK, best_shifts
from cubital.stats.erlang import calls_and_collectors
from cubital.stats.stock_out import DailyDemand, fit_demand, stock_path

# Erlang's lost-call table, e.g. 10 lines offered 5 erlangs: 0.0184 (memory; recomputed from the definition below).
LOST = ((1, 0.5, 1 / 3), (2, 1.0, 0.2), (10, 5.0, 0.018385))


@pytest.mark.parametrize(("collectors", "load", "lost"), LOST)
def test_lost_calls_are_those_of_the_table(collectors, load, lost):
    found = calls_and_collectors(load, minutes_per_call=60, collectors=collectors)
    assert found.lost == pytest.approx(lost, abs=5e-6)
    terms = [load**k / np.prod(np.arange(1, k + 1)) for k in range(collectors + 1)]  # the definition
    assert found.lost == pytest.approx(terms[-1] / sum(terms), rel=1e-12)


def test_one_collector_waits_as_the_textbook_says():
    """M/M/1: the waiting share is the load, the mean wait load × service / (1 - load) (textbook, from memory)."""
    found = calls_and_collectors(2.0, minutes_per_call=15)
    assert found.waiting == pytest.approx(0.5)
    assert found.minutes == pytest.approx(0.5 * 15 / 0.5)


def test_waiting_calls_agree_with_a_simulation():
    """Lindley's recursion, 400,000 calls, seed 5: a second way to the same mean wait."""
    random = np.random.default_rng(5)
    gaps, work = random.exponential(30.0, 400_000), random.exponential(15.0, 400_000)
    steps = np.concatenate(([0.0], np.cumsum(work[:-1] - gaps[1:])))
    waits = steps - np.minimum.accumulate(steps)
    assert calls_and_collectors(2.0, minutes_per_call=15).minutes == pytest.approx(waits.mean(), rel=0.03)


def test_too_many_calls_wait_without_end():
    found = calls_and_collectors(5.0, minutes_per_call=15)
    assert (found.waiting, found.minutes) == (1.0, np.inf)
    assert 0 < found.lost < 1


def test_without_calls_nobody_waits():
    found = calls_and_collectors(0.0, minutes_per_call=15)
    assert (found.lost, found.waiting, found.minutes, found.busy) == (0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("wrong", [(-1.0, 15.0, 1), (1.0, 0.0, 1), (1.0, 15.0, 0), (np.inf, 15.0, 1)])
def test_impossible_queues_are_refused(wrong):
    with pytest.raises(ValueError, match="needed"):
        calls_and_collectors(wrong[0], minutes_per_call=wrong[1], collectors=wrong[2])


def by_trying(values, length, shifts):
    """Every choice of starts that do not overlap on the circle; for two shifts or fewer."""
    best = 0.0
    for starts in itertools.chain(*(itertools.combinations(range(WEEK), k) for k in range(1, shifts + 1))):
        hours = [(start + step) % WEEK for start in starts for step in range(length)]
        if len(set(hours)) == len(hours):
            best = max(best, float(values[hours].sum()))
    return best


@settings(max_examples=12)
@given(seed=st.integers(0, 10_000), length=st.integers(1, 24), shifts=st.integers(1, 2))
def test_the_best_shifts_are_the_best_of_all(seed, length, shifts):
    values = np.random.default_rng(seed).poisson(0.4, WEEK).astype(float)
    found = best_shifts(values, length=length, shifts=shifts)
    assert found.worth == pytest.approx(by_trying(values, length, shifts))
    hours = [(start + step) % WEEK for start in found.starts for step in range(length)]
    assert len(set(hours)) == len(hours)
    assert float(values[hours].sum()) == pytest.approx(found.worth)


@given(seed=st.integers(0, 10_000), length=st.integers(1, 12), shifts=st.integers(1, 6))
@settings(max_examples=25)
def test_one_more_shift_never_covers_less(seed, length, shifts):
    values = np.random.default_rng(seed).poisson(0.4, WEEK).astype(float)
    assert (
        best_shifts(values, length=length, shifts=shifts + 1).worth
        >= best_shifts(values, length=length, shifts=shifts).worth - 1e-9
    )


def test_a_shift_may_run_past_sunday_midnight():
    values = np.zeros(WEEK)
    values[[166, 167, 0, 1]] = 1.0
    assert best_shifts(values, length=4, shifts=1).starts == (166,)


def test_a_shift_that_adds_nothing_is_not_chosen():
    values = np.zeros(WEEK)
    values[10] = 1.0
    assert len(best_shifts(values, length=2, shifts=3).starts) == 1


@pytest.mark.parametrize(
    "wrong", [{"length": 0, "shifts": 1}, {"length": 12, "shifts": 15}, {"length": 25, "shifts": 1}]
)
def test_impossible_shifts_are_refused(wrong):
    with pytest.raises(ValueError, match="shifts"):
        best_shifts(np.zeros(WEEK), **wrong)


def test_poisson_demand_runs_out_as_the_sum_of_poissons_says():
    """Without a delivery, out by day d is a total demand above the stock: one Poisson with d times the mean."""
    path = stock_path(100, DailyDemand(9.0, 9.0), days=20)
    exact = stats.poisson.sf(100, 9.0 * np.arange(1, 21))
    assert path.out == pytest.approx(exact, abs=1e-9)


def test_heavier_days_agree_with_the_sum_of_negative_binomials():
    """Sums of negative binomials with one success chance are negative binomial again (textbook, from memory)."""
    path = stock_path(100, DailyDemand(9.0, 18.0), days=15)
    exact = stats.nbinom.sf(100, 9.0 * np.arange(1, 16), 0.5)
    assert path.out == pytest.approx(exact, abs=1e-9)


def test_deliveries_agree_with_a_simulation():
    """40,000 runs, seed 9: a delivery on day 8 saves those who still have some, never those who ran out before."""
    random = np.random.default_rng(9)
    used = random.negative_binomial(9.0, 0.5, (40_000, 20))
    held = 60 - used.cumsum(axis=1) + np.where(np.arange(20) >= 8, 80, 0)
    out = (held < 0).cumsum(axis=1) > 0
    path = stock_path(60, DailyDemand(9.0, 18.0), days=20, deliveries={8: 80})
    assert path.out == pytest.approx(out.mean(axis=0), abs=0.008)


@given(stock=st.integers(0, 200), mean=st.floats(0, 30), extra=st.floats(0, 3), more=st.integers(0, 100))
@settings(max_examples=40)
def test_more_stock_never_runs_out_sooner(stock, mean, extra, more):
    demand = DailyDemand(mean, mean * (1 + extra))
    less, rich = (stock_path(amount, demand, days=12).out for amount in (stock, stock + more))
    assert (rich <= less + 1e-9).all()
    assert (np.diff(less) >= -1e-12).all()


def test_what_is_not_used_never_runs_out():
    assert stock_path(0, DailyDemand(0.0, 0.0), days=5).out == pytest.approx(np.zeros(5))


def test_demand_is_fitted_and_too_little_is_refused():
    fitted = fit_demand(np.array([3, 5, 7]))
    assert (fitted.mean, fitted.variance) == (5.0, 4.0)
    for wrong in ([], [4], [3, -1]):
        with pytest.raises(ValueError, match="two days"):
            fit_demand(np.array(wrong, dtype=int))


def test_large_amounts_are_followed_in_portions_and_run_out_on_the_same_day():
    """600,000 at 3,000 a day: the total of d days is a Poisson with 3,000 d, compared on its own."""
    path = stock_path(600_000, DailyDemand(3_000.0, 3_000.0), days=210)
    exact = next(day for day in range(210) if stats.poisson.sf(600_000, 3_000.0 * (day + 1)) >= 0.5)
    found = path.day_by(0.5)
    assert found is not None
    assert abs(found - exact) <= 1
    assert path.mean_left[99] == pytest.approx(300_000, rel=0.001)
