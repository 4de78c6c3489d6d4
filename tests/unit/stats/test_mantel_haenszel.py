"""Mantel–Haenszel against statsmodels' StratifiedTable; the risk difference against the formula worked by hand.

The unattributed sets: a derived network of 10,000 sets with 2,000 unattributed reproduces the printed anchor.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.contingency_tables import StratifiedTable

from cubital.stats.mantel_haenszel import Stratum, bounds_with_unknown, compare_within
from cubital.stats.two_proportions import difference_wald

STRATA = [Stratum(8, 210, 3, 160), Stratum(12, 260, 7, 240), Stratum(5, 90, 4, 130), Stratum(21, 400, 9, 310)]


@pytest.fixture(scope="module")
def oracle():
    return StratifiedTable([np.array([[s.x1, s.n1 - s.x1], [s.x2, s.n2 - s.x2]], float) for s in STRATA])


def test_the_odds_ratio_and_its_limits_match_statsmodels(oracle):
    found = compare_within(STRATA).odds_ratio
    assert found.estimate == pytest.approx(oracle.oddsratio_pooled)
    assert (found.interval.low, found.interval.high) == pytest.approx(oracle.oddsratio_pooled_confint())


def test_the_risk_ratio_matches_statsmodels(oracle):
    assert compare_within(STRATA).risk_ratio.estimate == pytest.approx(oracle.riskratio_pooled)


def test_the_tests_match_statsmodels(oracle):
    found = compare_within(STRATA)
    assert found.chance == pytest.approx(oracle.test_null_odds(correction=False).pvalue)
    assert found.unlike == pytest.approx(oracle.test_equal_odds(adjust=True).pvalue)


def test_one_stratum_is_the_plain_difference():
    one, plain = compare_within(STRATA[:1]).difference, difference_wald(8, 210, x2=3, n2=160)
    assert one.estimate == pytest.approx(plain.estimate)
    assert one.interval.low == pytest.approx(plain.interval.low, abs=3e-4)


def test_strata_with_one_group_say_nothing():
    assert compare_within([*STRATA, Stratum(5, 50, 0, 0)]) == compare_within(STRATA)


def test_without_a_common_stratum_nothing_is_compared():
    with pytest.raises(ValueError, match="both groups"):
        compare_within([Stratum(1, 10, 0, 0), Stratum(0, 0, 1, 10)])


@pytest.mark.parametrize("strata", [[Stratum(0, 10, 0, 10)], [Stratum(10, 10, 10, 10)], [Stratum(0, 1, 0, 1)] * 2])
def test_no_event_and_nothing_else_leave_no_ratio_and_no_trace(strata):
    found = compare_within(strata)
    assert (found.odds_ratio, found.chance, found.unlike) == (None, 1.0, None)
    assert found.difference.estimate == 0


@given(st.lists(st.tuples(*[st.integers(0, 40)] * 4), min_size=1, max_size=6))
def test_changing_the_groups_over_turns_the_difference_round(cells):
    strata = [Stratum(min(a, b), max(a, b, 1), min(c, d), max(c, d, 1)) for a, b, c, d in cells]
    there, back = compare_within(strata), compare_within([Stratum(s.x2, s.n2, s.x1, s.n1) for s in strata])
    assert there.difference.estimate == pytest.approx(-back.difference.estimate)
    assert there.chance == pytest.approx(back.chance)


def test_twenty_percent_unattributed_leaves_wide_bounds():
    """Nurses 3.6 %, phlebotomists 1.4 %, a fifth of the sets nobody's: 2.7 to 4.9 and 0.8 to 4.4 are possible.

    The printed figures fix the shares only, so counts were solved for: with u clean and v contaminated unattributed
    sets, 3.6a/(a+u) = 2.7 and (3.6a+100v)/(a+v) = 4.9 for a nurses' sets, and the same for b phlebotomists'. With
    a + b = 8,000 and u + v = 2,000 this gives a near 5,570, b near 2,430 and v near 76.
    """
    nurses = bounds_with_unknown(201, 5_570, unknown_events=76, unknown_sets=2_000)
    phlebotomists = bounds_with_unknown(34, 2_430, unknown_events=76, unknown_sets=2_000)
    assert (round(201 / 5_570, 3), round(34 / 2_430, 3)) == (0.036, 0.014)
    assert (round(nurses.low, 3), round(nurses.high, 3)) == (0.027, 0.049)
    assert (round(phlebotomists.low, 3), round(phlebotomists.high, 3)) == (0.008, 0.044)
