"""How many more observations: worked anchors, and exact binomial sums from SciPy as the independent way."""

from __future__ import annotations

import pytest
from scipy.stats import binom

from cubital.stats.assurance import (
    chance_of_clear,
    observations_for_assurance,
    observations_for_width,
)
from cubital.stats.proportions import wilson_interval


@pytest.mark.parametrize(("truth", "assurance", "needed"), [(0.6, 0.9, 53), (0.6, 0.8, 38), (0.7, 0.8, 141)])
def test_worked_anchors(truth, assurance, needed):
    """Job's description, question 22: 53 for 90 %, 38 for 80 %; 141 if the truth is 70 %."""
    assert observations_for_assurance(truth=truth, target=0.8, assurance=assurance) == needed


def test_ten_points_either_side_need_ninety_two():
    """Question 22 prints 92 for 92.2; a whole number that keeps the promise is 93."""
    assert observations_for_width(share=0.6, half_width=0.10) == 93


@pytest.mark.parametrize(("n", "truth", "target"), [(26, 0.5, 0.8), (53, 0.6, 0.8), (40, 0.9, 0.6), (3, 0.5, 0.9)])
def test_the_chance_is_the_sum_over_every_count(n, truth, target):
    def clear(x):
        interval = wilson_interval(x, n)
        return interval.high < target if truth < target else interval.low > target

    by_hand = sum(binom.pmf(x, n, truth) for x in range(n + 1) if clear(x))
    assert chance_of_clear(n, truth=truth, target=target) == pytest.approx(by_hand, abs=1e-12)


def test_every_larger_number_does_as_well():
    needed = observations_for_assurance(truth=0.6, target=0.8, assurance=0.8)
    assert all(chance_of_clear(n, truth=0.6, target=0.8) >= 0.8 for n in range(needed, needed + 60))
    assert chance_of_clear(needed - 1, truth=0.6, target=0.8) < 0.8


def test_what_is_out_of_reach_is_said():
    assert observations_for_assurance(truth=0.79, target=0.8, assurance=0.9) is None


@pytest.mark.parametrize("wrong", [{"truth": 0.8}, {"truth": 0}, {"truth": 1.2}])
def test_questions_without_an_answer_are_refused(wrong):
    with pytest.raises(ValueError, match="truth"):
        observations_for_assurance(target=0.8, assurance=0.9, **wrong)
