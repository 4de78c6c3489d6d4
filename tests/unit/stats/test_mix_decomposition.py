"""The change of an overall share in two parts.

The anchor is the worked story of a department whose nurses were joined by phlebotomists: a fall of 1.68 points, 0.46 of
it within nurse-drawn sets and 1.22 (73 %) from who draws. Intervals are held against drawing counts again.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.stats.mix_decomposition import GroupCounts, MixConvention, decompose_mix

NURSES = GroupCounts(name="nurse", events_before=119, n_before=2700, events_after=49, n_after=1240)
PHLEBOTOMISTS = GroupCounts(name="phlebotomist", events_before=0, n_before=0, events_after=26, n_after=1510)


def test_most_of_the_fall_is_who_draws():
    found = decompose_mix([NURSES, PHLEBOTOMISTS])
    assert round(100 * found.total, 2) == -1.68
    assert round(100 * found.within, 2) == -0.46
    assert round(100 * found.mix, 2) == -1.22
    assert found.mix_share == pytest.approx(0.73, abs=0.005)
    assert found.total_interval.high < 0
    assert found.within_interval.low < 0 < found.within_interval.high
    assert found.mix_interval.high < 0


def test_a_new_group_changes_nothing_within():
    for convention in MixConvention:
        nurses, others = decompose_mix([NURSES, PHLEBOTOMISTS], convention=convention).groups
        assert (others.name, others.within, others.weight_before) == ("phlebotomist", 0, 0)
        assert others.mix < 0
        assert nurses.weight_after == pytest.approx(1240 / 2750)


def test_the_symmetric_way_lies_between_the_others():
    groups = [NURSES, GroupCounts(name="other", events_before=9, n_before=400, events_after=26, n_after=1510)]
    before, middle, after = (decompose_mix(groups, convention=one).within for one in MixConvention)
    assert middle == pytest.approx((before + after) / 2)


def test_kitagawas_parts_are_rate_and_composition():
    """Kitagawa 1955, formula (2) worked by hand: weights 0.8/0.2 to 0.5/0.5, shares 0.10/0.02 to 0.08/0.03."""
    groups = [
        GroupCounts(name="a", events_before=80, n_before=800, events_after=40, n_after=500),
        GroupCounts(name="b", events_before=4, n_before=200, events_after=15, n_after=500),
    ]
    found = decompose_mix(groups, convention=MixConvention.SYMMETRIC)
    assert found.within == pytest.approx(0.65 * -0.02 + 0.35 * 0.01)
    assert found.mix == pytest.approx(-0.3 * 0.09 + 0.3 * 0.025)


def test_a_group_that_is_gone_is_mix_alone():
    gone = GroupCounts(name="agency", events_before=30, n_before=300, events_after=0, n_after=0)
    found = decompose_mix([NURSES, gone])
    assert found.groups[1].within == 0
    assert found.total == pytest.approx(49 / 1240 - 149 / 3000)
    assert found.within + found.mix == pytest.approx(found.total)


def redrawn(groups, *, mix_known, convention, runs=4000):
    """A second way: draws counts again from what was seen, and decomposes each."""
    random = np.random.default_rng(4)
    before, after = (np.array([getattr(g, name) for g in groups]) for name in ("n_before", "n_after"))
    rates = [(g.events_before / max(1, g.n_before), g.events_after / max(1, g.n_after)) for g in groups]
    out = []
    for _run in range(runs):
        n0 = before if mix_known else random.multinomial(before.sum(), before / before.sum())
        n1 = after if mix_known else random.multinomial(after.sum(), after / after.sum())
        drawn = [
            GroupCounts(
                name=g.name, events_before=random.binomial(a, p), n_before=int(a),
                events_after=random.binomial(b, q), n_after=int(b),
            )
            for g, a, b, (p, q) in zip(groups, n0, n1, rates, strict=True)
        ]  # fmt: skip
        found = decompose_mix(drawn, convention=convention)
        out.append((found.within, found.mix, found.total))
    return np.std(out, axis=0)


@pytest.mark.parametrize(
    ("mix_known", "convention"),
    [(True, MixConvention.BEFORE), (False, MixConvention.SYMMETRIC), (True, MixConvention.AFTER)],
)
def test_intervals_are_as_wide_as_drawing_again_says(mix_known, convention):
    groups = [NURSES, GroupCounts(name="other", events_before=18, n_before=600, events_after=26, n_after=1510)]
    found = decompose_mix(groups, convention=convention, mix_known=mix_known)
    widths = [(i.high - i.low) / 3.92 for i in (found.within_interval, found.mix_interval, found.total_interval)]
    np.testing.assert_allclose(
        widths, redrawn(groups, mix_known=mix_known, convention=convention, runs=1500), rtol=0.08
    )


def test_the_share_of_nothing_has_no_interval():
    same = [GroupCounts(name="a", events_before=5, n_before=100, events_after=6, n_after=110)]
    found = decompose_mix(same)
    assert found.mix == 0
    assert found.mix_share_interval is None
    equal = GroupCounts(name="a", events_before=5, n_before=100, events_after=5, n_after=100)
    assert decompose_mix([equal]).mix_share is None


def test_the_share_of_a_clear_fall_has_one():
    found = decompose_mix([NURSES, PHLEBOTOMISTS]).mix_share_interval
    assert found is not None
    assert found.low < 0.73 < found.high


def test_a_period_without_sets_is_refused():
    with pytest.raises(ValueError, match="before and after"):
        decompose_mix([PHLEBOTOMISTS])
    with pytest.raises(ValueError, match="impossible"):
        GroupCounts(name="a", events_before=3, n_before=2, events_after=0, n_after=1)


COUNTS = st.tuples(st.integers(0, 900), st.integers(0, 900), st.floats(0, 1), st.floats(0, 1))


@given(st.lists(COUNTS, min_size=1, max_size=6), st.sampled_from(list(MixConvention)), st.booleans())
def test_the_parts_add_up_to_the_whole(drawn, convention, known):
    groups = [
        GroupCounts(name=str(at), events_before=int(n0 * p), n_before=n0, events_after=int(n1 * q), n_after=n1)
        for at, (n0, n1, p, q) in enumerate(drawn)
    ]
    n0, n1 = sum(g.n_before for g in groups), sum(g.n_after for g in groups)
    if not n0 or not n1:
        return
    found = decompose_mix(groups, convention=convention, mix_known=known)
    plain = sum(g.events_after for g in groups) / n1 - sum(g.events_before for g in groups) / n0
    assert found.total == pytest.approx(plain, abs=1e-12)
    assert found.within + found.mix == pytest.approx(found.total, abs=1e-12)
    assert sum(g.within for g in found.groups) == pytest.approx(found.within, abs=1e-12)
    assert sum(g.mix for g in found.groups) == pytest.approx(found.mix, abs=1e-12)
    for value, span in ((found.total, found.total_interval), (found.mix, found.mix_interval)):
        assert span.low <= value + 1e-12
        assert value <= span.high + 1e-12


@given(st.lists(COUNTS, min_size=1, max_size=5))
def test_turning_time_round_turns_the_sign(drawn):
    groups = [(n0 + 1, n1 + 1, int(n0 * p), int(n1 * q)) for n0, n1, p, q in drawn]
    forth = [
        GroupCounts(name=str(i), events_before=a, n_before=n, events_after=b, n_after=m)
        for i, (n, m, a, b) in enumerate(groups)
    ]
    back = [
        GroupCounts(name=str(i), events_before=b, n_before=m, events_after=a, n_after=n)
        for i, (n, m, a, b) in enumerate(groups)
    ]
    one, other = decompose_mix(forth), decompose_mix(back, convention=MixConvention.AFTER)
    assert (one.within, one.mix) == pytest.approx((-other.within, -other.mix), abs=1e-12)
