"""Clustered trials: design effects of the literature, units needed, and intervals that cover in simulated networks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.stats.cluster_difference import Cluster, TooFewClusters, clustered_difference
from cubital.stats.cluster_size import (
    alternation_effect,
    design_effect,
    learn_correlation,
    size_variation,
    size_with_units,
    units_needed,
)
from cubital.stats.trial_size import uncorrected_size


def test_unequal_units_cost_more_as_eldridge_computed():
    """Eldridge 2006: 1 + ((cv² + 1) m − 1) icc; at cv 0.65, m 30, icc 0.05 that is 3.08 against 2.45."""
    assert design_effect(0.05, size=30, variation=0.65) == pytest.approx(1 + ((0.65**2 + 1) * 30 - 1) * 0.05)
    assert design_effect(0.05, size=30, variation=0.65) > design_effect(0.05, size=30) == pytest.approx(2.45)
    assert design_effect(0.0, size=500) == 1
    assert design_effect(0.3, size=1) == 1


def test_size_with_units_agrees_with_the_design_effect_at_its_own_size():
    size = size_with_units(1141, icc=0.005, units=12)
    assert size == pytest.approx(1141 * design_effect(0.005, size=size / 12))


def test_too_few_units_can_never_end_a_trial():
    """Hemming 2011: with k units per arm, k must be above n × icc, however long it runs."""
    least = units_needed(1141, icc=0.01)
    assert least == 12
    assert size_with_units(1141, icc=0.01, units=least - 1) is None
    assert size_with_units(1141, icc=0.01, units=least) > 1141


def test_turns_within_a_unit_remove_what_stays_the_same():
    assert alternation_effect(0.02, size=40, kept=1.0) == pytest.approx(1 - 0.02)
    assert alternation_effect(0.02, size=40, kept=0.0) == pytest.approx(design_effect(0.02, size=40))


def test_variation_of_sizes():
    assert size_variation([100, 100, 100]) == 0
    assert size_variation([50, 150]) == pytest.approx(0.7071, abs=1e-4)


def test_the_correlation_of_simulated_units_is_recovered():
    """60 units of 400 sets, true icc 0.01: mean of 16 estimates within 0.002; bounds cover at least 12 of 16."""
    rng = np.random.default_rng(7)
    truth, mean = 0.01, 0.03
    weight = 1 / truth - 1
    found = []
    for _ in range(16):
        shares = rng.beta(mean * weight, (1 - mean) * weight, 60)
        found.append(learn_correlation(rng.binomial(400, shares), [400] * 60))
    assert np.mean([one.icc for one in found]) == pytest.approx(truth, abs=0.002)
    assert sum(one.low <= truth <= one.high for one in found) >= 12


def test_units_that_do_not_differ_have_a_correlation_near_none():
    found = learn_correlation([30, 31, 29, 30], [1000] * 4)
    assert found.icc < 1e-5
    assert found.low <= found.icc <= found.high


def simulated(rng, *, units, sets, icc, change):
    """One trial of whole units, 3 % under usual care."""
    clusters = []
    for arm, mean in ((0, 0.03), (1, 0.03 + change)):
        weight = 1 / icc - 1
        for share in rng.beta(mean * weight, (1 - mean) * weight, units):
            clusters.append(Cluster(events=int(rng.binomial(sets, share)), n=sets, arm=arm))
    return clusters


def test_intervals_of_clustered_trials_cover_and_the_test_keeps_its_size():
    """500 trials of 8 units per arm, 300 sets each, icc 0.01. Monte-Carlo error of 0.95: 0.01."""
    rng = np.random.default_rng(20)
    found = [clustered_difference(simulated(rng, units=8, sets=300, icc=0.01, change=-0.01)) for _ in range(500)]
    covered = np.mean([one.interval.low <= -0.01 <= one.interval.high for one in found])
    assert 0.92 <= covered <= 0.98
    null = [clustered_difference(simulated(rng, units=8, sets=300, icc=0.01, change=0.0)) for _ in range(500)]
    assert np.mean([one.chance < 0.05 for one in null]) == pytest.approx(0.05, abs=0.03)


def test_power_at_the_planned_size_is_what_was_planned():
    """4 % to 2 % with 12 units per arm at icc 0.005: 400 simulated trials, Monte-Carlo error 0.02."""
    rng = np.random.default_rng(4)
    per_arm = size_with_units(uncorrected_size(0.04, 0.02), icc=0.005, units=12)
    sets = round(per_arm / 12)
    hits = 0
    for _ in range(400):
        clusters = []
        for arm, mean in ((0, 0.04), (1, 0.02)):
            for share in rng.beta(mean * 199, (1 - mean) * 199, 12):
                clusters.append(Cluster(events=int(rng.binomial(sets, share)), n=sets, arm=arm))
        hits += clustered_difference(clusters).chance < 0.05
    assert hits / 400 == pytest.approx(0.80, abs=0.06)


def test_strata_are_compared_within():
    """Two units far apart: the difference within each is −1 point, and nothing of what lies between them counts."""
    clusters = [
        *(Cluster(events=x, n=100, arm=0, stratum="a") for x in (9, 11)),
        *(Cluster(events=x, n=100, arm=1, stratum="a") for x in (8, 10)),
        *(Cluster(events=x, n=400, arm=0, stratum="b") for x in (8, 12)),
        *(Cluster(events=x, n=400, arm=1, stratum="b") for x in (5, 7)),
    ]
    found = clustered_difference(clusters)
    assert found.estimate == pytest.approx(-0.01)
    assert found.df == 4
    assert found.z < 0
    assert found.chance_below(-0.01) == pytest.approx(0.5)
    assert found.chance_below(0) > 0.5


def test_one_unit_in_each_arm_says_nothing_about_chance():
    with pytest.raises(TooFewClusters):
        clustered_difference([Cluster(events=1, n=100, arm=0), Cluster(events=3, n=100, arm=1)])
    with pytest.raises(TooFewClusters):
        clustered_difference([Cluster(events=0, n=100, arm=arm) for arm in (0, 0, 1, 1)])


@given(st.floats(1, 5000), st.floats(0, 0.05), st.integers(1, 60))
def test_more_units_never_need_more_sets(plain, icc, units):
    fewer, more = (size_with_units(plain, icc=icc, units=count) for count in (units, units + 1))
    if fewer is not None:
        assert more is not None
        assert more <= fewer * (1 + 1e-12)
    if more is None:
        assert units_needed(plain, icc=icc) > units + 1


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: design_effect(1.0, size=10),
        lambda: design_effect(0.1, size=0.5),
        lambda: design_effect(0.1, size=5, variation=-1),
        lambda: alternation_effect(0.1, size=5, kept=1.5),
        lambda: size_with_units(0, icc=0.1, units=3),
        lambda: units_needed(0, icc=0.1),
        lambda: size_variation([5]),
        lambda: Cluster(events=3, n=2, arm=0),
        lambda: Cluster(events=0, n=2, arm=2),
    ],
)
def test_impossible_input_is_refused(wrong):
    with pytest.raises(ValueError, match=r"."):
        wrong()
