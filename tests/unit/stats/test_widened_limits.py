"""Both ways of widening a funnel, against the formulas of Spiegelhalter 2005 written out by hand."""

from __future__ import annotations

import math

import pytest

from cubital.stats.overdispersion import measure_overdispersion, share_limits, share_scores, widened_error

SPREAD = measure_overdispersion(share_scores([5, 8, 11, 20, 33], [400, 500, 450, 600, 520]))


def test_adding_widens_large_places_more_than_small_ones():
    exact = [1 / (2 * math.sqrt(n)) for n in (50, 5000)]
    wide = widened_error([50, 5000], SPREAD)
    assert wide[1] / exact[1] > wide[0] / exact[0] > 1


def test_multiplying_widens_every_place_alike():
    wide = widened_error([50, 5000], SPREAD, multiply=True)
    assert wide[0] / (1 / (2 * math.sqrt(50))) == pytest.approx(math.sqrt(SPREAD.phi))
    assert wide[1] / (1 / (2 * math.sqrt(5000))) == pytest.approx(math.sqrt(SPREAD.phi))


def test_a_spread_below_chance_does_not_narrow_the_funnel():
    calm = measure_overdispersion(share_scores([10, 10, 10], [400, 400, 400]))
    assert calm.phi < 1
    assert widened_error([400], calm, multiply=True)[0] == pytest.approx(0.025)


def test_the_multiplied_limit_is_the_formula_by_hand():
    low, high = share_limits([400], target=0.03, level=0.95, spread=SPREAD, multiply=True)
    reach = 1.959964 * math.sqrt(SPREAD.phi / 1600)
    assert high[0] == pytest.approx(math.sin(math.asin(math.sqrt(0.03)) + reach) ** 2, abs=1e-6)
    assert low[0] == pytest.approx(math.sin(max(0.0, math.asin(math.sqrt(0.03)) - reach)) ** 2, abs=1e-6)
