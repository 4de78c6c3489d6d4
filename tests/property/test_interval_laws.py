"""Laws that every interval obeys, whatever the counts."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cubital.stats.exact_table import exact_table
from cubital.stats.proportions import PROPORTION_INTERVALS
from cubital.stats.run_chart import run_chart
from cubital.stats.tails import chance_at_least, chance_at_most
from cubital.stats.two_proportions import difference_newcombe

COUNTS = st.integers(1, 3000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
SLACK = 1e-9


@pytest.mark.parametrize("method", sorted(PROPORTION_INTERVALS))
@given(counts=COUNTS, levels=st.tuples(st.floats(0.5, 0.999), st.floats(0.5, 0.999)))
def test_a_wider_level_gives_a_wider_interval(method, counts, levels):
    narrow, wide = (PROPORTION_INTERVALS[method](*counts, level=level) for level in sorted(levels))
    assert wide.low <= narrow.low + SLACK
    assert wide.high >= narrow.high - SLACK


@pytest.mark.parametrize("method", sorted(PROPORTION_INTERVALS))
@given(counts=COUNTS)
def test_counting_the_others_mirrors_the_interval(method, counts):
    x, n = counts
    ours, others = PROPORTION_INTERVALS[method](x, n), PROPORTION_INTERVALS[method](n - x, n)
    assert ours.low == pytest.approx(1 - others.high, abs=SLACK)
    assert ours.high == pytest.approx(1 - others.low, abs=SLACK)


@pytest.mark.parametrize("method", sorted(PROPORTION_INTERVALS))
@given(counts=COUNTS)
def test_limits_lie_between_nothing_and_everything(method, counts):
    found = PROPORTION_INTERVALS[method](*counts)
    assert 0 <= found.low <= found.high <= 1


@pytest.mark.parametrize("method", sorted(set(PROPORTION_INTERVALS) - {"jeffreys"}))
@given(counts=COUNTS)
def test_the_observed_share_lies_in_its_interval(method, counts):
    # Jeffreys' interval is left out on purpose: at 0 and at n it excludes the observed share by construction.
    x, n = counts
    found = PROPORTION_INTERVALS[method](x, n)
    assert found.low - SLACK <= x / n <= found.high + SLACK


@given(counts=COUNTS)
def test_the_exact_interval_contains_the_midp_interval(counts):
    exact, midp = PROPORTION_INTERVALS["clopper_pearson"](*counts), PROPORTION_INTERVALS["midp"](*counts)
    assert exact.low - SLACK <= midp.low <= midp.high <= exact.high + SLACK


@given(first=COUNTS, second=COUNTS)
def test_swapping_the_groups_turns_the_difference_round(first, second):
    (x1, n1), (x2, n2) = first, second
    ours, theirs = difference_newcombe(x1, n1, x2=x2, n2=n2), difference_newcombe(x2, n2, x2=x1, n2=n1)
    assert ours.estimate == pytest.approx(-theirs.estimate, abs=SLACK)
    assert ours.interval.low == pytest.approx(-theirs.interval.high, abs=SLACK)
    assert -1 <= ours.interval.low <= ours.estimate + SLACK
    assert ours.estimate - SLACK <= ours.interval.high <= 1


@given(cells=st.tuples(*[st.integers(0, 60)] * 4))
def test_one_sided_chances_of_a_table_overlap_in_the_observed_table(cells):
    a, b, c, d = cells
    assume(sum(cells))
    found = exact_table(a, b, c=c, d=d)
    assert found.p_less + found.p_greater >= 1 - SLACK
    assert 0 < found.p_two_sided <= 1
    assert found.p_midp_two_sided <= 2 * min(found.p_less, found.p_greater) + SLACK


@given(counts=COUNTS, rate=st.floats(0, 1))
def test_the_two_tails_of_a_count_share_only_the_count(counts, rate):
    x, n = counts
    assert chance_at_least(x, n, rate=rate) + chance_at_most(x - 1, n, rate=rate) == pytest.approx(1, abs=SLACK)


@given(values=st.lists(st.integers(0, 9), min_size=1, max_size=60))
def test_runs_and_crossings_account_for_every_useful_point(values):
    chart = run_chart(values, center=4.5)
    assert chart.useful == len(values)
    assert chart.crossings <= chart.useful - 1
    assert 1 <= abs(chart.current_run) <= chart.longest_run <= chart.useful
