"""Change against attendance.

Sources: Agresti A, Categorical Data Analysis, 2nd ed., section 5.3 (alcohol and malformations, trend statistic 6.57
with scores 0, 0.5, 1.5, 4, 7; from memory); statsmodels as a second way for the model.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from cubital.stats.dose import DosedUnit, dose_trend, share_trend
from cubital.stats.mixed_logistic import NotIdentifiable


def units_of(seed, *, slope=0.0, change=-0.2, many=12, sets=600, swing=0.0):
    """Units that differ in level, and change by ``change`` + ``slope`` × dose + a swing of their own (log odds)."""
    random = np.random.default_rng(seed)
    found = []
    for at in range(many):
        dose, level = at / (many - 1), -3.0 + 0.3 * random.normal()
        later = level + change + slope * dose + swing * random.normal()
        x0, x1 = random.binomial(sets, 1 / (1 + np.exp([-level, -later])))
        found.append(
            DosedUnit(name=str(at), dose=dose, events_before=int(x0), n_before=sets, events_after=int(x1), n_after=sets)
        )
    return found


def test_alcohol_and_malformations_give_the_printed_statistic():
    found = share_trend([0, 0.5, 1.5, 4, 7], [48, 38, 5, 1, 1], [17114, 14502, 793, 127, 38])
    assert found.z**2 == pytest.approx(6.57, abs=0.005)
    assert found.p == pytest.approx(0.010, abs=5e-4)


def test_the_trend_is_the_score_test_of_a_logistic_slope():
    scores, x, n = np.array([0.0, 1, 2, 3]), np.array([5, 9, 14, 12]), np.array([100, 120, 150, 90])
    null = sm.GLM(np.column_stack([x, n - x]), np.ones((4, 1)), family=sm.families.Binomial()).fit()
    mean = null.fittedvalues * n
    score = scores @ (x - mean)
    weight = n * null.fittedvalues * (1 - null.fittedvalues)
    information = weight @ scores**2 - (weight @ scores) ** 2 / weight.sum()
    assert share_trend(scores, x, n).z == pytest.approx(score / math.sqrt(information))


def test_the_slope_matches_statsmodels():
    units = units_of(3, slope=-0.8, swing=0.2)
    found = dose_trend(units)
    many = len(units)
    rows = [[after, after * u.dose, *np.eye(many)[at]] for at, u in enumerate(units) for after in (0.0, 1.0)]
    shares = np.array([x / 600 for u in units for x in (u.events_before, u.events_after)])
    model = sm.GLM(shares, np.array(rows), family=sm.families.Binomial(), var_weights=np.full(2 * many, 600.0))
    oracle = model.fit(scale="X2")
    assert found.per_step == pytest.approx(math.exp(0.1 * oracle.params[1]), rel=1e-6)
    assert found.dispersion == pytest.approx(oracle.scale, rel=1e-5)
    half = math.log(found.interval.high / found.per_step) / (0.1 * 2.228139)  # Student's t, 10 degrees of freedom
    assert half == pytest.approx(oracle.bse[1] * max(1.0, oracle.scale) ** 0.5 / oracle.scale**0.5, rel=1e-5)
    assert (found.df, found.units, found.doses) == (10, 12, (0.0, 1.0))


def test_a_known_slope_is_held_as_often_as_said():
    """200 networks whose units also swing by 0.2 of their own: coverage and size as stated."""
    held = called = 0
    for seed in range(200):
        span = dose_trend(units_of(seed, slope=-0.6, swing=0.2), step=1.0).interval
        held += span.low <= math.exp(-0.6) <= span.high
        called += dose_trend(units_of(1000 + seed, swing=0.2)).p <= 0.05
    assert held / 200 >= 0.90
    assert called / 200 <= 0.09


def test_units_without_events_are_left_out():
    clean = DosedUnit(name="clean", dose=0.4, events_before=0, n_before=50, events_after=0, n_after=60)
    assert dose_trend([*units_of(1), clean]).units == 12


def test_one_dose_or_two_units_cannot_show_a_slope():
    units = units_of(1)
    with pytest.raises(NotIdentifiable) as refused:
        dose_trend(units[:2])
    assert refused.value.why == "groups"
    same = [DosedUnit(**(vars(unit) | {"dose": 0.5})) for unit in units]
    with pytest.raises(NotIdentifiable) as refused:
        dose_trend(same)
    assert refused.value.why == "rank"


@pytest.mark.parametrize("wrong", [{"n_before": 0}, {"dose": math.nan}, {"events_after": 11}, {"events_before": -1}])
def test_impossible_units_are_refused(wrong):
    whole = {"name": "a", "dose": 0.5, "events_before": 1, "n_before": 10, "events_after": 1, "n_after": 10}
    with pytest.raises(ValueError, match="unit 'a'"):
        DosedUnit(**(whole | wrong))


def test_steps_and_groups_that_are_none_are_refused():
    with pytest.raises(ValueError, match="step"):
        dose_trend(units_of(1), step=0.0)
    with pytest.raises(ValueError, match="group"):
        share_trend([1, 2], [3, 4], [2, 5])


def test_nothing_to_compare_is_no_trend():
    assert share_trend([1, 2], [0, 0], [10, 10]).p == 1
    assert share_trend([1, 1], [2, 3], [10, 10]).z == 0


PAIRS = st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=2, max_size=7)


@given(PAIRS, st.floats(0.1, 9), st.floats(-5, 5))
def test_scores_in_other_units_change_nothing(drawn, scale, shift):
    x, n = [min(pair) for pair in drawn], [max(pair) for pair in drawn]
    if not sum(n):
        return
    scores = np.arange(len(x), dtype=float)
    plain, other, turned = (share_trend(one, x, n) for one in (scores, scale * scores + shift, -scores))
    assert other.z == pytest.approx(plain.z, abs=1e-6)
    assert turned.z == pytest.approx(-plain.z, abs=1e-9)
