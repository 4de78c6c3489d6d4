"""The size of a change whose month is not known.

The second way is brute force: the two rates on a grid for every split, multiplied out; and drawing worlds from
the prior itself, in which credible intervals must hold the truth as often as they say.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import xlog1py, xlogy
from scipy.stats import beta

from cubital.stats.bayes_change_point import size_of_change
from cubital.stats.change_point import find_change

MONTHS = ([6, 4, 7, 5, 2, 1, 3], [90, 80, 100, 95, 85, 90, 110])


def on_a_grid(x, n, chance_before=0.5, cells=1500):
    """Posterior of (split, difference) from a grid of rates with a uniform prior, no closed form."""
    p = (np.arange(cells) + 0.5) / cells / 4  # rates up to a quarter: beyond it the likelihood is nothing
    x, n = np.asarray(x), np.asarray(n)

    def likelihood(events, sets):
        return np.exp(xlogy(events, p) + xlog1py(sets - events, -p) + 60)  # 60 keeps it from vanishing

    splits = [
        np.outer(likelihood(x[:k].sum(), n[:k].sum()), likelihood(x[k:].sum(), n[k:].sum())) for k in range(1, len(x))
    ]
    none = np.exp(xlogy(x.sum(), p) + xlog1py((n - x).sum(), -p) + 120).sum() * 0.25 / cells
    mass = np.array([s.sum() for s in splits]) * (0.25 / cells) ** 2
    odds = mass.mean() / none * chance_before / (1 - chance_before)
    joint = sum(splits)
    apart = p[None, :] - p[:, None]
    order = np.argsort(apart, axis=None)
    summed = np.cumsum(joint.ravel()[order]) / joint.sum()
    limits = apart.ravel()[order][np.searchsorted(summed, [0.025, 0.5, 0.975])]
    return odds, mass / mass.sum(), limits, joint[apart < 0].sum() / joint.sum()


@pytest.mark.parametrize("chance_before", [0.5, 0.1])
def test_everything_matches_a_grid_of_rates(chance_before):
    found = size_of_change(*MONTHS, prior=(1, 1), chance_before=chance_before)
    odds, months, limits, lower = on_a_grid(*MONTHS, chance_before)
    assert found.odds == pytest.approx(odds, rel=2e-3)
    np.testing.assert_allclose(found.where.starts[1:], months, atol=1e-4)
    span = found.difference_interval
    assert [span.low, found.difference, span.high] == pytest.approx(limits, abs=3e-4)
    assert found.fell == pytest.approx(found.where.chance * lower, abs=1e-3)
    assert found.fell + found.rose == pytest.approx(found.where.chance)


def test_credible_statements_hold_in_worlds_drawn_from_the_prior():
    """100 worlds: rates and month drawn as the prior says; intervals and chances must be what they say."""
    random = np.random.default_rng(12)
    held, months, said, true = [], [], [], []
    n = np.full(12, 60)
    for _world in range(100):
        changed = random.random() < 0.5
        first = int(random.integers(1, 12))
        before, after = random.beta(1, 9, size=2)
        rate = np.where(np.arange(12) >= first, after, before) if changed else np.full(12, before)
        found = size_of_change(random.binomial(n, rate), n, prior=(1, 9))
        said.append(found.where.chance)
        true.append(changed)
        if changed:
            held.append(found.difference_interval.low <= after - before <= found.difference_interval.high)
            months.append(first in found.where.likely)
    assert np.mean(held) == pytest.approx(0.95, abs=0.07)
    assert np.mean(months) >= 0.9
    assert np.mean(said) == pytest.approx(np.mean(true), abs=0.08)


def test_a_halving_is_sized_and_placed():
    found = size_of_change([20] * 12 + [10] * 12, [480] * 24)
    assert found.where.first == 12
    assert found.ratio == pytest.approx(0.5, abs=0.02)
    assert found.ratio_interval.high < 0.75
    assert found.fell > 0.99


def test_equal_months_leave_a_change_unlikely_and_its_size_open():
    found = size_of_change([12] * 24, [480] * 24)
    assert found.odds < 0.1
    assert found.difference_interval.low < 0 < found.difference_interval.high


def test_months_without_sets_do_no_harm():
    assert size_of_change([5, 0, 1], [50, 0, 50]).difference == size_of_change([5, 1], [50, 50]).difference


def test_counts_that_leave_no_doubt_have_boundless_odds():
    found = size_of_change([0] * 6 + [900] * 6, [1000] * 12)
    assert found.odds > 1e12
    assert found.rose == pytest.approx(1)


@pytest.mark.parametrize("sets", [(20, 1_000_000), (1_000_000, 20)])
def test_very_unequal_sides_are_integrated_well(sets):
    """One rate is as good as known (a tenth), so that the other's Beta quantiles shifted by it are the answer."""
    few, many = (0, 1) if sets[0] < sets[1] else (1, 0)
    events = [sets[0] // 10, sets[1] // 10]
    span = size_of_change(events, sets).difference_interval
    small = beta.ppf([0.025, 0.975], events[few] + 0.5, sets[few] - events[few] + 0.5) - 0.1
    expected = sorted(small) if many == 0 else sorted(-small)
    assert [span.low, span.high] == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(("events", "n"), [([1, 2], [10]), ([3, 1], [2, 5]), ([-1, 1], [5, 5])])
def test_counts_that_are_none_are_refused(events, n):
    with pytest.raises(ValueError, match="as many sizes"):
        find_change(events, n)


@pytest.mark.parametrize("wrong", [{"prior": (0, 1)}, {"chance_before": 1.0}, {"sure": 0.0}])
def test_priors_that_are_none_are_refused(wrong):
    with pytest.raises(ValueError, match="prior"):
        find_change([1, 2], [10, 10], **wrong)


@settings(max_examples=25)
@given(st.lists(st.integers(0, 12), min_size=2, max_size=10))
def test_time_turned_round_turns_the_sign(counts):
    n = [40] * len(counts)
    forth, back = size_of_change(counts, n), size_of_change(counts[::-1], n)
    assert forth.odds == pytest.approx(back.odds, rel=1e-9)
    assert forth.difference == pytest.approx(-back.difference, abs=3e-4)
    assert forth.difference_interval.low == pytest.approx(-back.difference_interval.high, abs=3e-4)
    assert forth.fell == pytest.approx(back.rose, abs=1e-4)
