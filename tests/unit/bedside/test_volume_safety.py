"""Where a plan could hurt: no table, the wrong table, a bottle that would stay below its minimum, odd typing."""

from __future__ import annotations

from dataclasses import replace

import pytest
from bedside_cast import APPROVED, TODAY

from cubital.bedside.answering import answer_plan
from cubital.bedside.policy_file import read_policy, write_policy
from cubital.bedside.units import read_number
from cubital.bedside.volume import Patient
from cubital.domain.answer import Verdict
from cubital.domain.errors import PolicyProblem, RequestProblem


def plan(weight, age, *, policy=APPROVED, haemoglobin=None, taken=0.0, bottles=()):
    patient = Patient(weight_kg=weight, age_months=age, haemoglobin_g_dl=haemoglobin, taken_ml=taken)
    return answer_plan(policy, patient, today=TODAY, bottle_keys=bottles)


@pytest.mark.parametrize(("weight", "age"), [(6.4, 7), (20, 72), (60, 215)])
def test_a_policy_without_a_table_for_children_gives_no_child_an_adult_set(weight, age):
    answer = plan(weight, age, policy=replace(APPROVED, child=None))
    assert answer.verdict is Verdict.REFUSED
    assert "no table for children" in answer.sentence


def test_a_policy_without_a_table_for_children_still_answers_for_adults():
    assert plan(60, 216, policy=replace(APPROVED, child=None)).figure("plan_total_ml").value == 20


def test_an_age_limit_typed_in_years_gives_no_toddler_an_adult_set():
    below = replace(APPROVED.child.below_months, value=18.0)
    policy = replace(APPROVED, child=replace(APPROVED.child, below_months=below))
    answer = plan(14, 36, policy=policy)
    assert answer.verdict is Verdict.REFUSED
    assert "outside the policy's table" in answer.sentence


@pytest.mark.parametrize(("weight", "total"), [(1.0, 2.0), (1.05, 2.0), (0.8, 1.6)])
def test_a_small_total_goes_into_the_bottle_whose_minimum_it_reaches(weight, total):
    answer = plan(weight, 0)
    assert answer.figure("paediatric_ml").value == total
    assert "paediatric bottle" in answer.sentence


def test_the_only_bottle_at_hand_says_that_it_stays_below_its_minimum():
    words = plan(1.0, 0, bottles=("child_aerobic",)).sentence
    assert "below this bottle's minimum of 3 mL" in words


def test_the_pair_gives_way_to_one_bottle_that_reaches_its_minimum():
    bands = tuple(
        replace(band, one_bottle_up_to_ml=replace(band.one_bottle_up_to_ml, value=0.0)) for band in APPROVED.child.bands
    )
    answer = plan(6.4, 7, policy=replace(APPROVED, child=replace(APPROVED.child, bands=bands)))
    assert answer.figure("child_aerobic_ml").value == 6


def test_an_aerobic_bottle_at_hand_comes_before_an_anaerobic_alone():
    answer = plan(20, 72, bottles=("child_aerobic", "adult_anaerobic"))
    assert answer.figure("child_aerobic_ml").value == 10


def test_nothing_left_for_today_is_a_refusal_even_where_a_minimum_is_zero():
    bottles = tuple(replace(b, minimum_ml=replace(b.minimum_ml, value=0.0)) for b in APPROVED.bottles)
    answer = plan(70, 480, policy=replace(APPROVED, bottles=bottles), taken=60.0)
    assert answer.verdict is Verdict.REFUSED


def test_a_slight_child_of_ten_years_is_not_called_implausible():
    # WHO 2007 reference, girls, 120 months: the median is 31.9 kg and 24 kg lies inside two standard deviations.
    assert plan(24, 121).figure("plan_total_ml").value == 20


@pytest.mark.parametrize("text", ["1_5", "1e1", "٦", "6 4", "0x5"])
def test_only_plain_digits_are_a_number(text):
    with pytest.raises(RequestProblem, match="is no number"):
        read_number(text, what="weight")


def spoilt(old: str, new: str) -> str:
    text = write_policy(APPROVED)
    assert old in text
    return text.replace(old, new, 1)


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [('value = 8.0, unit = "g/dL"', 'value = 5.0, unit = "mmol/L"', "anaemia_below_g_dl"),
     ('value = 216.0, unit = "months"', 'value = 18.0, unit = "years"', "below_months"),
     ('value = 80.0, unit = "mL/kg"', 'value = 36.0, unit = "mL/lb"', "ml_per_kg"),
     ('value = 0.5, unit = "mL"', 'value = 0.0005, unit = "L"', "minimum_ml")],
)  # fmt: skip
def test_a_value_in_another_unit_is_refused_where_it_stands(old, new, field):
    with pytest.raises(PolicyProblem) as caught:
        read_policy(spoilt(old, new))
    assert field in str(caught.value)


def test_two_bottles_of_one_key_are_refused():
    twice = replace(APPROVED, bottles=(*APPROVED.bottles, APPROVED.bottles[0]))
    with pytest.raises(PolicyProblem, match="adult_aerobic stands twice"):
        read_policy(write_policy(twice))


def test_a_bottle_limit_finer_than_a_tenth_is_refused_because_volumes_are_planned_in_tenths():
    with pytest.raises(PolicyProblem, match="tenth"):
        read_policy(spoilt('value = 4.0, unit = "mL"', 'value = 4.05, unit = "mL"'))


def test_an_adults_plan_is_for_one_set_and_says_how_many_policy_asks_for():
    adult = Patient(weight_kg=70, age_months=480, haemoglobin_g_dl=None, taken_ml=0)
    sentence = answer_plan(APPROVED, adult, today=TODAY).sentence
    assert "Plan up to 20 mL for this set" in sentence
    assert "Local policy asks for 2 sets" in sentence


def test_a_bottle_smaller_than_the_tables_total_is_said():
    child = Patient(weight_kg=20, age_months=60, haemoglobin_g_dl=None, taken_ml=0)
    sentence = answer_plan(APPROVED, child, today=TODAY, bottle_keys=("paediatric",)).sentence
    assert "Plan up to 4 mL in total" in sentence
    assert "The policy's table asks for 10 mL: tell the laboratory" in sentence
