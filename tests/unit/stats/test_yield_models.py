"""Published shapes of yield: the story's anchors, laws every shape keeps, and what cannot be.

The counts 460, 564, 618, 628 of 629: Lee A et al., J Clin Microbiol 2007;45:3546-3548. The anchors 33, 22, 28, 59, 149
and 606 are the job's own, computed outside this project.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.stats.diagnostic import independent_sets
from cubital.stats.yield_models import campaign_ratio, curve_ratio, found_share, line_ratio, odds_ratio_gain

LEE = [460 / 629, 564 / 629, 618 / 629, 628 / 629]
FOUND, HAVE, WANT = 216, 22.4, 36.0
volumes = st.floats(0, 100)


def missed(ratio: float) -> int:
    return round(FOUND * (ratio - 1))


@pytest.mark.parametrize(
    ("ratio", "expected"),
    [
        (curve_ratio([HAVE], weights=[1], wanted_ml=WANT, found=LEE, set_ml=20), 33),
        (campaign_ratio((WANT - HAVE) / 4, before=0.0739, after=0.0885, raised_ml=8.6 - 2.3), 22),
        (odds_ratio_gain(WANT - HAVE, odds_per_ml=1.01, positive_share=0.09), 28),
        (odds_ratio_gain(WANT - HAVE, odds_per_ml=1.02, positive_share=0.09), 59),
        (odds_ratio_gain(WANT - HAVE, odds_per_ml=1.13, positive_share=0.09), 606),
        (line_ratio(WANT - HAVE, share_per_ml=0.03), 149),
    ],
)
def test_every_shape_gives_its_anchor(ratio, expected):
    assert missed(ratio) == expected


@pytest.mark.parametrize("sets", [1, 2, 3, 4])
def test_the_curve_passes_through_the_published_counts(sets):
    assert found_share(20 * sets, found=LEE, set_ml=20) == pytest.approx(LEE[sets - 1])


def test_beyond_the_last_set_the_curve_is_level():
    assert found_share(500, found=LEE, set_ml=20) == LEE[-1]


@given(volumes, volumes)
def test_more_blood_never_finds_less(one, other):
    low, high = sorted((one, other))
    assert found_share(low, found=LEE, set_ml=20) <= found_share(high, found=LEE, set_ml=20) + 1e-12


@given(st.floats(0.05, 0.9), st.floats(0.5, 59))
def test_with_independent_sets_every_ml_is_a_fresh_chance(first, volume):
    curve = independent_sets(first, sets=3)
    expected = 1 - (1 - first) ** (volume / 20)
    assert found_share(volume, found=curve, set_ml=20) == pytest.approx(expected, rel=1e-9)


@given(st.floats(0, 60), st.floats(1, 1.3), st.floats(0.01, 0.5))
def test_an_odds_ratio_never_makes_more_than_every_episode_positive(more, odds, share):
    assert 1 <= odds_ratio_gain(more, odds_per_ml=odds, positive_share=share) <= 1 / share + 1e-9


def test_no_more_blood_changes_nothing():
    assert campaign_ratio(0, before=0.07, after=0.09, raised_ml=6) == 1
    assert line_ratio(0, share_per_ml=0.03) == 1
    assert odds_ratio_gain(0, odds_per_ml=1.02, positive_share=0.09) == 1
    assert curve_ratio([30], weights=[1], wanted_ml=30, found=LEE, set_ml=20) == 1


def test_uneven_volumes_lose_more_than_their_mean_says():
    apart = curve_ratio([10, 34.8], weights=[0.5, 0.5], wanted_ml=36, found=LEE, set_ml=20)
    assert apart > curve_ratio([22.4], weights=[1], wanted_ml=36, found=LEE, set_ml=20)


def test_who_has_enough_is_not_taken_down():
    assert curve_ratio([50], weights=[1], wanted_ml=36, found=LEE, set_ml=20) == 1


def test_a_line_that_has_lost_everything_is_infinite():
    assert line_ratio(40, share_per_ml=0.03) == math.inf
    assert curve_ratio([0], weights=[1], wanted_ml=36, found=LEE, set_ml=20) == math.inf


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: found_share(-1, found=LEE, set_ml=20),
        lambda: found_share(1, found=[0.9, 0.8], set_ml=20),
        lambda: found_share(1, found=LEE, set_ml=0),
        lambda: campaign_ratio(1, before=0, after=0.1, raised_ml=1),
        lambda: odds_ratio_gain(1, odds_per_ml=1.1, positive_share=1),
        lambda: line_ratio(-1, share_per_ml=0.03),
    ],
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(ValueError, match=r"rises|campaign|odds|line|share"):
        wrong()
