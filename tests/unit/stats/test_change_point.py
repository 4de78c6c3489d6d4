"""Where a rate changed: the posterior over months against a direct sum, and by its laws."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import betaln

from cubital.stats.change_point import find_change


def test_the_chances_are_the_integrated_likelihoods_of_each_split():
    # own derivation: Beta(½, ½) on either side, integrated; scipy.special.betaln is the general-purpose reference
    x, n = [2, 1, 9], [50, 50, 50]
    found = find_change(x, n)
    whole = betaln(12.5, 138.5) - betaln(0.5, 0.5)
    splits = [
        betaln(sum(x[:k]) + 0.5, sum(n[:k]) - sum(x[:k]) + 0.5)
        + betaln(sum(x[k:]) + 0.5, sum(n[k:]) - sum(x[k:]) + 0.5)
        - 2 * betaln(0.5, 0.5)
        for k in (1, 2)
    ]
    odds = np.exp(np.array(splits) - whole).mean()
    assert found.chance == pytest.approx(odds / (1 + odds))
    assert found.starts[2] == pytest.approx(1 / (1 + math.exp(splits[0] - splits[1])))


def test_a_clear_doubling_is_placed_in_its_month():
    found = find_change([10] * 12 + [24] * 8, [480] * 20)
    assert found.first == 12
    assert found.chance > 0.99
    assert (found.before, found.after) == (pytest.approx(10 / 480), pytest.approx(24 / 480))
    assert 12 in found.likely
    assert len(found.likely) <= 4


def test_equal_months_show_no_change():
    assert find_change([12] * 24, [480] * 24).chance < 0.1


def test_one_month_cannot_have_changed():
    with pytest.raises(ValueError, match="two"):
        find_change([3], [100])


def test_months_without_sets_take_no_part():
    assert find_change([10, 10, 0, 24, 24], [480, 480, 0, 480, 480]).first == 3
