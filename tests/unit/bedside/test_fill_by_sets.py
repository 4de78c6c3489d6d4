"""Short or split badly, overfilled, and the doubt of a tare. Expected: the story's balance, worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bedside_cast import APPROVED, TODAY
from hypothesis import given
from hypothesis import strategies as st

from cubital.bedside.fill import TareKind, Weighing
from cubital.bedside.fill_sets import SetState, read_sets
from cubital.bedside.fill_sets_answer import answer_split_or_short
from cubital.bedside.overfill_answer import answer_overfill
from cubital.bedside.policy_file import example_policy
from cubital.bedside.tare_answer import answer_tare_doubt
from cubital.bedside.weigh_in import WeighIn
from cubital.domain.answer import Verdict
from cubital.domain.cultures import BottleKind
from cubital.domain.errors import RequestProblem

KINDS = {"AER": BottleKind.AEROBIC, "ANA": BottleKind.ANAEROBIC, "PED": BottleKind.PAEDIATRIC}
TARE = {"AER": 62.4, "ANA": 61.9, "PED": 40.0}
BALANCE = [
    ("5101", "AER", 71.6), ("5101", "ANA", 67.1), ("5102", "AER", 66.3), ("5102", "ANA", 64.0), ("5103", "AER", 72.9),
    ("5104", "AER", 70.1), ("5104", "ANA", 70.3), ("5105", "AER", 65.2), ("5105", "ANA", 62.0), ("5106", "AER", 74.5),
    ("5106", "ANA", 69.2),
]  # fmt: skip


def weigh_in(rows=BALANCE, **changes):
    bottles = [Weighing(accession=a, bottle=b, gross_g=g, tare_g=TARE[b], kind=KINDS[b]) for a, b, g in rows]
    return WeighIn(weighings=bottles, **changes)


def filled(*volumes):
    """One set with these mL, aerobic first."""
    rows = [("1", kind, TARE[kind] + 1.055 * ml) for kind, ml in zip(("AER", "ANA"), volumes, strict=False)]
    low, high = 8.0, 10.0
    return read_sets(weigh_in(rows).fills(APPROVED), low_ml=low, high_ml=high)[0]


def test_the_story_sheet_is_short_draws_with_one_bad_split():
    said = answer_split_or_short(APPROVED, weigh_in(), today=TODAY)
    assert "7 of 8 under-filled bottles are in sets that hold too little in all" in said.sentence
    assert "1 is in a set that held enough" in said.sentence
    assert said.figure("badly_split_sets").numerator == 1
    states = {row[0]: (row[4], row[5]) for row in said.table.rows}
    assert states["5106"] == ("enough, split badly", "uneven")
    assert states["5104"] == ("too little in all", "even")
    assert states["5103"] == ("enough, well split", "")


@pytest.mark.parametrize(
    ("volumes", "state", "even"),
    [
        ((9, 9), SetState.ENOUGH, True),
        ((8, 8), SetState.ENOUGH, True),
        ((12, 6), SetState.BADLY_SPLIT, False),
        ((11, 12), SetState.OVER, True),
        ((7.3, 8.0), SetState.SHORT, True),
        ((8.7, 4.9), SetState.SHORT, False),
        ((9.0,), SetState.ENOUGH, None),
    ],
)
def test_what_is_said_of_one_set(volumes, state, even):
    found = filled(*volumes)
    assert (found.state, found.even) == (state, even)


def test_children_and_wrong_weights_are_not_judged_as_adult_sets():
    rows = [("1", "PED", 42.0), ("2", "AER", 716.0), ("2", "ANA", 71.0)]
    said = answer_split_or_short(APPROVED, weigh_in(rows), today=TODAY)
    assert said.verdict is Verdict.REFUSED
    assert "no set of adult bottles" in said.sentence


def test_nothing_under_filled_is_nothing_to_explain():
    said = answer_split_or_short(APPROVED, weigh_in([("1", "AER", 71.9), ("1", "ANA", 71.4)]), today=TODAY)
    assert "nothing to explain" in said.sentence


def test_a_sheet_of_bad_splits_says_to_share_better():
    rows = [("1", "AER", 74.5), ("1", "ANA", 69.2), ("2", "AER", 74.5), ("2", "ANA", 69.2)]
    assert "Sharing the same blood better" in answer_split_or_short(APPROVED, weigh_in(rows), today=TODAY).sentence


def test_own_tares_leave_out_the_doubt_of_a_lot():
    lot = answer_split_or_short(APPROVED, weigh_in(), today=TODAY)
    own = answer_split_or_short(APPROVED, weigh_in(tare=TareKind.BOTTLE), today=TODAY)
    assert any("known to about ±2.4 mL" in words for words in lot.cautions)  # 1.8 / 1.055 times the root of two
    assert not any("known to about" in words for words in own.cautions)


@pytest.mark.parametrize("answer", [answer_split_or_short, answer_overfill])
def test_an_unapproved_policy_keeps_silent(answer):
    said = answer(replace(example_policy(), approved_by=""), weigh_in(), today=TODAY)
    assert said.verdict is Verdict.REFUSED
    assert not said.figures


def test_overfill_is_blood_lost():
    said = answer_overfill(APPROVED, weigh_in(), today=TODAY)
    assert (said.figure("over_share").numerator, said.figure("over_share").denominator) == (1, 11)
    # 12.1 g above the tare is 11.47 mL: 1.47 mL above the maximum in six sets.
    assert said.figure("lost_ml_per_100_sets").value == pytest.approx(100 * 1.469 / 6, abs=0.01)
    assert "24 mL" in said.sentence


def test_no_overfill_is_said_in_so_many_words():
    assert "None of 2 bottles" in answer_overfill(
        APPROVED, weigh_in([("1", "AER", 71.9), ("1", "ANA", 71.4)]), today=TODAY
    ).sentence  # fmt: skip


def test_a_sheet_of_childrens_bottles_is_not_overfilled():
    assert answer_overfill(APPROVED, weigh_in([("1", "PED", 60.0)]), today=TODAY).verdict is Verdict.REFUSED


def test_tare_doubt_is_the_anchor():
    # The job's anchor: a spread of 1.8 g is 1.7 mL for one bottle and 0.27 mL for the mean of 40.
    said = answer_tare_doubt(tare_sd_g=1.8, bottles=40)
    assert said.figure("one_bottle_sd_ml").value == pytest.approx(1.8 / 1.055)
    assert said.figure("mean_sd_ml").value == pytest.approx(0.2698, abs=0.0001)
    assert "±1.7 mL" in said.sentence
    assert "±0.27 mL" in said.sentence


def test_one_shared_tare_does_not_average_out():
    said = answer_tare_doubt(tare_sd_g=1.8, bottles=40, shared=True)
    assert said.figure("mean_sd_ml").value == said.figure("one_bottle_sd_ml").value


@pytest.mark.parametrize("wrong", [{"tare_sd_g": -1, "bottles": 1}, {"tare_sd_g": 1, "bottles": 0}])
def test_what_is_no_weighing_is_refused(wrong):
    with pytest.raises(RequestProblem):
        answer_tare_doubt(**wrong)
    with pytest.raises(RequestProblem):
        answer_tare_doubt(tare_sd_g=1, bottles=1, density_g_ml=2)


@given(st.lists(st.tuples(st.floats(0, 14), st.floats(0, 14)), min_size=1, max_size=8))
def test_every_under_filled_bottle_is_in_exactly_one_kind_of_set(pairs):
    rows = []
    for number, (aerobic, anaerobic) in enumerate(pairs):
        rows += [(str(number), "AER", TARE["AER"] + 1.055 * aerobic), (str(number), "ANA", 61.9 + 1.055 * anaerobic)]
    sets = read_sets(weigh_in(rows).fills(APPROVED), low_ml=8, high_ml=10)
    assert sum(one.under for one in sets) == sum(one.under for one in sets if one.state is not SetState.ENOUGH)
    assert all(one.under <= 2 for one in sets)
