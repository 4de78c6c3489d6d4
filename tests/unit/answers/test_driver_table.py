"""Changes of policy over local shares. Expected movements by hand from the published effects named in the data."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.answers.driver_table import LocalShares, build_driver_answer, read_movement
from cubital.answers.driver_words import against_words, change_words, effect_words, source_words
from cubital.domain.answer import Verdict
from cubital.reference.collection_guidance import Confidence
from cubital.reference.policy_drivers import Effect, Grade, Moves, PolicyDriver, Share, policy_drivers

SHARES = {Share.LINE: 0.2, Share.NEW_CANNULA: 0.1, Share.SINGLE: 0.25, Share.NIGHT: 0.4, Share.UNATTRIBUTED: 0.3}
LOCAL = LocalShares(sets=2000, contaminated=80, shares=SHARES, found=216)


def driver(key):
    return {one.key: one for one in policy_drivers()}[key]


def cells(answer):
    return {row[0].split(" (")[0]: row for row in answer.table.rows}


def test_lines_by_hand():
    # 4 % in all, a fifth from lines at 2.69 times the venepuncture rate v: v (0.8 + 0.2 * 2.69) = 4 %.
    moved = read_movement(driver("line_draws"), LOCAL)
    assert moved.value == pytest.approx(0.04 / (0.8 + 0.2 * 2.69))
    assert (moved.low, moved.high) == pytest.approx((0.04 / (0.8 + 0.2 * 2.69), 0.04 / (0.8 + 0.2 * 1.83)))


def test_gloves_by_hand():
    # Kim 2011: adjusted odds ratio 0.57 (0.37 to 0.87), taken as a ratio of rates, which it is near at such rates.
    moved = read_movement(driver("sterile_gloves"), LOCAL)
    assert (moved.low, moved.value, moved.high) == pytest.approx((0.04 * 0.37, 0.04 * 0.57, 0.04 * 0.87))


def test_what_is_not_known_here_is_not_worked_out():
    said = build_driver_answer(LocalShares(sets=2000, contaminated=80))
    row = cells(said)["no draws from new cannulas"]
    assert row[3] == "not known here"
    assert row[4] == "not worked out"
    assert "driver_new_cannula" not in {figure.key for figure in said.figures}


def test_what_nobody_does_has_nothing_to_change():
    said = build_driver_answer(LocalShares(sets=2000, contaminated=80, shares={Share.NEW_CANNULA: 0.0}))
    assert cells(said)["no draws from new cannulas"][4] == "nothing of it here"


def test_a_second_set_is_a_range_by_models():
    assert "model-dependent" in cells(build_driver_answer(LOCAL))["always a second set"][4]


def test_too_few_sets_keep_the_evidence_and_move_nothing():
    said = build_driver_answer(LocalShares(sets=60, contaminated=3, shares=SHARES))
    assert said.verdict is Verdict.TOO_FEW
    assert "40 more" in said.sentence
    assert len(said.table.rows) == len(policy_drivers())
    assert not said.picture


def test_it_says_that_it_is_no_causal_proof():
    said = build_driver_answer(LOCAL)
    assert "not causal proof" in said.sentence
    assert "not to be added up" in said.sentence
    assert said.verdict is Verdict.ESTIMATE


def test_every_row_has_source_words_and_what_speaks_against_it():
    for one in policy_drivers():
        assert len(source_words(one)) > 10
        assert effect_words(one)
        assert change_words(one.key)
        assert len(against_words(one.key)) > 10


shares = st.dictionaries(st.sampled_from([share for share in Share if share is not Share.ALL]), st.floats(0, 1))


@given(st.integers(0, 5000), st.floats(0, 1), shares)
def test_every_scenario_is_a_range_and_says_so(sets, rate, held):
    local = LocalShares(sets=sets, contaminated=int(rate * sets), shares=held, found=200)
    said = build_driver_answer(local)
    for figure in said.figures:
        if figure.key.startswith("driver_"):
            assert figure.low <= figure.value <= figure.high
            assert "Scenario" in figure.label
            assert 0 <= figure.low <= figure.high <= 1


@pytest.mark.parametrize("wrong", [{"contaminated": 2}, {"contaminated": 0, "shares": {Share.LINE: 2}}])
def test_parts_are_not_larger_than_the_whole(wrong):
    with pytest.raises(ValueError, match="whole"):
        LocalShares(sets=1, **wrong)


@pytest.mark.parametrize("numbers", [{"value": 1.0}, {"value": 0.5, "low": 0.6, "high": 0.9}])
def test_a_size_without_its_ends_is_refused(numbers):
    with pytest.raises(ValueError, match="driver x"):
        PolicyDriver(
            key="x", moves=Moves.FILL, share=Share.ALL, effect=Effect.LEFT, grade=Grade.TRIAL,
            confidence=Confidence.MEMORY, source="nobody", **numbers,
        )  # fmt: skip
