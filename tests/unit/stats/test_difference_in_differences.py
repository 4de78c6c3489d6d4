"""Two groups in two periods.

Sources: Newcombe's square-and-add recomputed from its parts; Wald's interval and the model of the worked story of four
departments against statsmodels; the exact comparison against full enumeration in fractions, and against Fisher's test
where one side is so large that its odds ratio is known. Sizes are exact sums or simulated, seeds fixed.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import comb

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from cubital.stats.difference_in_differences import BeforeAfter, difference_in_differences
from cubital.stats.exact_interaction import exact_interaction
from cubital.stats.exact_table import exact_table
from cubital.stats.mixed_logistic import fit_logistic
from cubital.stats.unit_differences import (
    TooFewUnits,
    UnitRow,
    cluster_differences,
    lines_before,
    placebo_changes,
    shuffle_units,
)

EMERGENCY = BeforeAfter(events_before=119, n_before=2700, events_after=75, n_after=2750)
MEDICAL = BeforeAfter(events_before=25, n_before=880, events_after=24, n_after=905)


def test_ratio_of_odds_ratios_matches_a_model_with_an_interaction():
    found = difference_in_differences(EMERGENCY, MEDICAL).ratio_of_odds_ratios
    design = [[1, 0, 0, 0], [1, 0, 1, 0], [1, 1, 0, 0], [1, 1, 1, 1]]  # constant, treated, after, both
    counts = [[10, 400], [12, 441], [60, 1291], [40, 1338]], [[15, 455], [12, 440], [59, 1290], [35, 1337]]
    oracle = sm.GLM(np.vstack(counts), np.array(design * 2, float), family=sm.families.Binomial()).fit()
    low, high = oracle.conf_int()[3]
    expected = np.exp([oracle.params[3], low, high])
    assert [found.estimate, found.interval.low, found.interval.high] == pytest.approx(expected, rel=1e-6)


def test_ratio_of_ratios_matches_a_log_model():
    found = difference_in_differences(EMERGENCY, MEDICAL).ratio_of_ratios
    p = [119 / 2700, 75 / 2750, 25 / 880, 24 / 905]
    variance = sum(1 / x - 1 / n for x, n in ((119, 2700), (75, 2750), (25, 880), (24, 905)))
    assert found.estimate == pytest.approx(p[1] / p[0] / (p[3] / p[2]))
    assert np.log(found.interval.high / found.estimate) == pytest.approx(1.959964 * variance**0.5, rel=1e-6)


def test_difference_is_the_treated_change_minus_the_others():
    found = difference_in_differences(EMERGENCY, MEDICAL)
    ours, others = found.treated_change, found.control_change
    middle = ours.estimate - others.estimate
    assert found.risk_difference.estimate == pytest.approx(middle)
    low = middle - ((ours.estimate - ours.interval.low) ** 2 + (others.interval.high - others.estimate) ** 2) ** 0.5
    assert found.risk_difference.interval.low == pytest.approx(low)


def test_four_departments_separate_kit_period_and_collector():
    """The worked story: kit 0.94 (0.62 to 1.42), phlebotomist 0.40 (0.28 to 0.59), period 0.97, one level per unit."""
    rows = [
        (0, 0, 0, 0, 2700, 119), (0, 1, 1, 0, 1240, 49), (0, 1, 1, 1, 1510, 26), (1, 0, 0, 0, 1180, 38),
        (1, 1, 1, 0, 1215, 36), (2, 0, 0, 0, 1420, 61), (2, 1, 0, 0, 660, 29), (2, 1, 0, 1, 790, 13),
        (3, 0, 0, 0, 880, 25), (3, 1, 0, 0, 905, 24),
    ]  # fmt: skip
    design = [[float(u == at) for at in range(4)] + [period, kit, role] for u, period, kit, role, _n, _x in rows]
    fit = fit_logistic([r[5] for r in rows], [r[4] for r in rows], design)
    assert np.exp(fit.coefficients[4:]) == pytest.approx([0.97, 0.94, 0.40], abs=0.006)
    kit, role = fit.odds_ratio(5), fit.odds_ratio(6)
    assert [kit.low, kit.high, role.low, role.high] == pytest.approx([0.62, 1.42, 0.28, 0.59], abs=0.005)


def enumerated(first, second):
    """P values of the same test from whole numbers of ways."""
    (a1, n1, b1, m1), (a2, n2, b2, m2) = first, second
    ways = {}
    for k in range(a1 + b1 + 1):
        rest, e1, e2 = a1 + a2 - k, a1 + b1, a2 + b2
        if 0 <= rest <= e2:
            ways[k] = comb(n1, k) * comb(m1, e1 - k) * comb(n2, rest) * comb(m2, e2 - rest)
    total = sum(ways.values())
    two_sided = sum(w for w in ways.values() if w <= ways[a1])
    halves = [
        2 * sum(w for k, w in ways.items() if side(k)) - ways[a1] for side in (lambda k: k <= a1, lambda k: k >= a1)
    ]
    return float(Fraction(two_sided, total)), min(1.0, float(Fraction(min(halves), total)))


TABLE = st.integers(1, 30).flatmap(
    lambda n: st.integers(1, 30).flatmap(
        lambda m: st.tuples(st.integers(0, n), st.just(n), st.integers(0, m), st.just(m))
    )
)


@given(TABLE, TABLE)
def test_exact_comparison_is_full_enumeration(first, second):
    found = exact_interaction(first, second)
    assert (found.p_two_sided, found.p_midp) == pytest.approx(enumerated(first, second), abs=1e-9)


@given(TABLE, TABLE)
def test_swapping_the_groups_inverts_the_ratio(first, second):
    one, other = exact_interaction(first, second), exact_interaction(second, first)
    assert one.p_two_sided == pytest.approx(other.p_two_sided, abs=1e-9)
    if np.isfinite(one.estimate) and one.estimate > 0:
        assert one.estimate * other.estimate == pytest.approx(1, rel=1e-6)
        assert one.interval.low * other.interval.high == pytest.approx(1, rel=1e-6) or one.interval.low == 0
    if np.isfinite(one.estimate):
        assert one.interval.low - 1e-9 <= one.interval_midp.low <= one.estimate * (1 + 1e-9)


def test_against_a_very_large_group_it_is_fishers_test():
    """A comparison group of millions at an odds ratio of 1 leaves Fisher's conditional test of the other table."""
    found = exact_interaction((3, 100, 12, 100), (100_000, 1_000_000, 100_000, 1_000_000))
    fisher = exact_table(3, 97, c=12, d=88)
    assert found.p_two_sided == pytest.approx(fisher.p_two_sided, abs=2e-3)
    assert found.estimate == pytest.approx(fisher.odds_ratio, rel=5e-3)


def test_a_side_without_events_says_nothing():
    found = exact_interaction((0, 50, 0, 60), (3, 50, 4, 60))
    assert np.isnan(found.estimate)
    assert (found.p_two_sided, found.interval.low, found.interval.high) == (1.0, 0.0, np.inf)


def test_an_empty_cell_leaves_the_exact_comparison():
    found = difference_in_differences(
        BeforeAfter(events_before=9, n_before=60, events_after=0, n_after=60),
        BeforeAfter(events_before=6, n_before=60, events_after=7, n_after=60),
    )
    assert np.isnan(found.ratio_of_odds_ratios.estimate)
    assert found.ratio_of_odds_ratios.interval.high == np.inf
    assert found.exact.estimate == 0
    assert found.exact.interval.high < 1


@pytest.mark.parametrize(
    "counts",
    [
        {"events_before": 1, "n_before": 0, "events_after": 1, "n_after": 1},
        {"events_before": 2, "n_before": 1, "events_after": 1, "n_after": 1},
    ],
)
def test_groups_that_are_none_are_refused(counts):
    with pytest.raises(ValueError, match=r"needs sets|impossible"):
        BeforeAfter(**counts)
    with pytest.raises(ValueError, match="impossible"):
        exact_interaction((5, 4, 0, 1), (0, 1, 0, 1))


def test_the_exact_test_keeps_its_size_and_mid_p_comes_close():
    """Over 1,500 simulated pairs of small groups without an effect: at most 5 % exactly, 2 to 6 % by mid-P."""
    random = np.random.default_rng(11)
    found = []
    for _run in range(1500):
        a, b, c, d = random.binomial([60, 60, 80, 80], [0.10, 0.07, 0.06, 0.0413])
        one = exact_interaction((int(b), 60, int(a), 60), (int(d), 80, int(c), 80))
        found.append((one.p_two_sided <= 0.05, one.p_midp <= 0.05))
    exact, middle = np.mean(found, axis=0)
    assert exact <= 0.06
    assert exact <= middle <= 0.07


def network(seed, *, treated=4, units=10, effect=0.0, drift=-0.2, spread=0.3, swing=0.0, months=6):
    """Units that differ in level and, with ``swing``, in how they change; 150 sets a month."""
    random = np.random.default_rng(seed)
    rows = []
    for at in range(units):
        level, move = -3.0 + spread * random.normal(), drift + swing * random.normal() + effect * (at < treated)
        for month in range(2 * months):
            after = month >= months
            share = 1 / (1 + np.exp(-level - move * after))
            rows.append(UnitRow(str(at), at < treated, after, int(random.binomial(150, share)), 150, month))
    return rows


def test_errors_by_unit_match_statsmodels():
    rows = network(1, swing=0.3)
    found = cluster_differences(rows)
    units = sorted({row.unit for row in rows})
    design = np.array(
        [[row.after and row.treated, row.after, *(row.unit == one for one in units)] for row in rows], dtype=float
    )
    counts = [[row.events, row.n - row.events] for row in rows]
    groups = [units.index(row.unit) for row in rows]
    oracle = sm.GLM(counts, design, family=sm.families.Binomial()).fit(
        cov_type="cluster", cov_kwds={"groups": groups, "use_correction": True}
    )
    assert np.log(found.estimate) == pytest.approx(oracle.params[0], abs=1e-6)
    half = np.log(found.interval.high / found.estimate) / 2.306004  # Student's t, 8 degrees of freedom
    # its correction counts the units' levels as lost, ours does not: (120 - 12) against (120 - 3) rows left
    assert half == pytest.approx(oracle.bse[0] * np.sqrt((120 - 12) / (120 - 3)), rel=1e-4)
    assert (found.df, found.units) == (8, (4, 6))


def test_a_shuffle_of_four_among_ten_looks_at_all_210_ways():
    found = shuffle_units(network(3, effect=-0.7))
    assert (found.ways, found.exact, found.least_p) == (210, True, 1 / 210)
    assert found.estimate < 0
    assert found.p <= 0.05


def test_two_against_two_can_never_convince():
    found = shuffle_units(network(3, treated=2, units=4, effect=-2.0))
    assert found.least_p == pytest.approx(1 / 3)
    assert found.p == pytest.approx(1 / 3)


def test_many_units_are_drawn_by_lot_the_same_way_each_time():
    rows = network(4, treated=12, units=24, months=2)
    one, other = shuffle_units(rows, seed=5), shuffle_units(rows, seed=5)
    assert one == other
    assert not one.exact
    assert one.p >= 1 / one.ways


def test_the_shuffle_keeps_its_size_where_units_swing():
    """200 networks without an effect, units moving by 0.3 in log odds of their own."""
    called = np.mean([shuffle_units(network(seed, swing=0.3, months=2)).p <= 0.05 for seed in range(200)])
    assert called <= 0.09


def test_lines_before_see_a_drift_and_leave_parallel_ones():
    apart = [
        UnitRow(row.unit, row.treated, row.after, row.events + row.treated * 2 * row.time, row.n, row.time)
        for row in network(6)
    ]
    assert lines_before(apart).interval.low > 1
    calm = lines_before(network(6))
    assert calm.interval.low < 1 < calm.interval.high


def test_pretended_changes_find_a_real_one_made_too_early_and_nothing_else():
    """Units that had already begun in month 3 of six show it; calm units do not."""
    calm = placebo_changes(network(8), least=2)
    assert [one.time for one in calm] == [2, 3, 4]
    assert not any(one.effect.interval.high < 1 for one in calm)
    early = [replace(row, events=row.events // (3 if row.treated and row.time >= 3 else 1)) for row in network(8)]
    found = {one.time: one.effect for one in placebo_changes(early, least=2)}
    assert found[3].interval.high < 1
    assert found[3].estimate < min(found[2].estimate, found[4].estimate)
    assert placebo_changes(network(8), least=4) == ()
    with pytest.raises(ValueError, match="either side"):
        placebo_changes(network(8), least=0)


def test_pretended_changes_that_counts_cannot_carry_are_left_out():
    rows = network(8, treated=2)
    clean = [replace(row, events=0) if row.unit == "0" else row for row in rows]
    assert placebo_changes(clean, least=2) == ()


def test_units_without_both_periods_or_events_are_left_out():
    rows = [
        *network(1),
        UnitRow("new", True, True, 1, 50, 7),
        UnitRow("clean", False, False, 0, 50),
        UnitRow("clean", False, True, 0, 60, 8),
    ]
    assert cluster_differences(rows).units == (4, 6)


def test_too_few_units_are_refused():
    with pytest.raises(TooFewUnits):
        cluster_differences(network(1, treated=1, units=6))
    with pytest.raises(TooFewUnits):
        shuffle_units(network(1, treated=5, units=6))
    with pytest.raises(ValueError, match="three months"):
        lines_before(network(1, months=2))
    with pytest.raises(ValueError, match="impossible"):
        UnitRow("a", True, True, 3, 2)
