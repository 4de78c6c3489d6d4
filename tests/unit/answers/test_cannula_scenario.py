"""The scenario "if we stop drawing from cannulas".

Anchor of our own: 20 % of 1,000 sets from cannulas, 30 contaminated. With v the venepuncture rate and ratio 1.83,
v(0.8 + 0.2 x 1.83) = 0.03, so v = 0.03 / 1.166 = 0.02573; at 1.08 v = 0.02953, at 3.11 v = 0.02110: 4.3 fewer
(0.5 to 8.9). Ratio and range: Self WH et al., 2012 (PMC5242221), 505 pairs.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.answers.scenario import LocalDraws, build_cannula_answer, rate_without
from cubital.domain.answer import Verdict


def test_the_worked_anchor():
    figure = build_cannula_answer(LocalDraws(sets=1000, contaminated=30, cannula_sets=200)).figure("scenario_rate")
    assert figure.value == pytest.approx(0.02573, abs=5e-6)
    assert (figure.low, figure.high) == (pytest.approx(0.02110, abs=5e-6), pytest.approx(0.02953, abs=5e-6))


def test_the_sentence_gives_a_range_and_promises_nothing():
    sentence = build_cannula_answer(LocalDraws(sets=1000, contaminated=30, cannula_sets=200)).sentence
    assert "four of the 30 contaminated sets would not be expected, zero to nine" in sentence
    assert "A scenario, not a forecast." in sentence


def test_without_a_cannula_draw_nothing_would_change():
    answer = build_cannula_answer(LocalDraws(sets=1000, contaminated=30, cannula_sets=0))
    assert answer.verdict is Verdict.NOT_IDENTIFIABLE


def test_too_few_sets_say_how_many_more():
    answer = build_cannula_answer(LocalDraws(sets=60, contaminated=2, cannula_sets=20))
    assert answer.verdict is Verdict.TOO_FEW
    assert "40 more are needed" in answer.sentence


def test_all_from_cannulas_divides_by_the_ratio():
    assert rate_without(0.04, share=1, ratio=2) == pytest.approx(0.02)


@given(st.floats(0, 1), st.floats(0, 1), st.floats(1, 10))
def test_a_larger_ratio_never_means_a_smaller_gain(rate, share, ratio):
    assert rate_without(rate, share=share, ratio=ratio + 1) <= rate_without(rate, share=share, ratio=ratio) <= rate


def test_parts_larger_than_the_whole_are_refused():
    with pytest.raises(ValueError, match="parts"):
        LocalDraws(sets=10, contaminated=1, cannula_sets=11)
