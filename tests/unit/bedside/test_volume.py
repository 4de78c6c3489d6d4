"""The plan at 03:10. Expected numbers: the story's (invented policy), and published unit conversions."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from bedside_cast import APPROVED, TODAY
from hypothesis import given
from hypothesis import strategies as st

from cubital.bedside.answering import answer_plan
from cubital.bedside.policy_file import example_policy
from cubital.bedside.units import HaemoglobinUnit, WeightUnit, haemoglobin_g_dl, read_number, read_unit, weight_kg
from cubital.bedside.volume import Patient
from cubital.domain.answer import Verdict
from cubital.domain.errors import QuestionsOpen, RequestProblem
from cubital.reference.growth import plausible_weight

INFANT = Patient(weight_kg=6.4, age_months=7, haemoglobin_g_dl=7.1, taken_ml=9)


def plan(patient: Patient, *, policy=APPROVED, today=TODAY, bottles=()):
    return answer_plan(policy, patient, today=today, bottle_keys=bottles)


def test_the_infant_of_the_story_gets_six_millilitres_and_a_word_with_the_clinician():
    answer = plan(INFANT)
    assert answer.figure("plan_total_ml").value == 6
    assert answer.figure("child_aerobic_ml").value == 6
    assert "discuss" in answer.sentence.casefold()


@pytest.mark.parametrize(
    ("key", "expected"),
    [("blood_volume_ml", 512), ("single_cap_ml", 12.8), ("single_cap_used_ml", 6.4), ("day_cap_ml", 25.6),
     ("day_left_ml", 16.6)],
)  # fmt: skip
def test_every_step_of_the_arithmetic_can_be_unfolded(key, expected):
    assert plan(INFANT).figure(key).value == pytest.approx(expected)


def test_seven_point_one_millimoles_is_no_anaemia():
    haemoglobin = haemoglobin_g_dl(7.1, HaemoglobinUnit.MMOL_PER_L)
    answer = plan(replace(INFANT, haemoglobin_g_dl=haemoglobin))
    assert answer.figure("single_cap_used_ml").value == pytest.approx(12.8)
    assert "haemoglobin" not in answer.sentence


def test_only_a_paediatric_bottle_means_its_own_limit():
    answer = plan(INFANT, bottles=("paediatric",))
    assert answer.figure("plan_total_ml").value == 4
    assert "4 mL is that bottle's limit" in answer.sentence


@pytest.mark.parametrize("weight", [64.0, weight_kg(6.4, WeightUnit.LB)])
def test_an_implausible_weight_stops_the_plan(weight):
    answer = plan(replace(INFANT, weight_kg=weight))
    assert answer.verdict is Verdict.REFUSED
    assert "plausible" in answer.sentence
    assert answer.figures == ()


@pytest.mark.parametrize(
    ("policy", "today"),
    [(example_policy(), TODAY), (APPROVED, date(2027, 1, 6)), (APPROVED, date(2026, 1, 4))],
    ids=["draft", "expired", "clock set back"],
)
def test_no_number_without_an_approved_policy_in_date(policy, today):
    answer = plan(INFANT, policy=policy, today=today)
    assert answer.verdict is Verdict.REFUSED
    assert answer.figures == ()
    assert answer.sentence.startswith("EXAMPLE. No number")


def test_a_reached_day_cap_is_for_the_clinician():
    answer = plan(replace(INFANT, taken_ml=22))
    assert answer.verdict is Verdict.REFUSED
    assert "Discuss with the responsible clinician" in answer.sentence


def test_an_adult_gets_the_pair_to_its_maximum():
    answer = plan(Patient(weight_kg=70, age_months=500, haemoglobin_g_dl=None, taken_ml=0))
    assert (answer.figure("adult_aerobic_ml").value, answer.figure("adult_anaerobic_ml").value) == (10, 10)


@given(
    weight=st.floats(0.5, 60),
    age=st.floats(0, 215),
    haemoglobin=st.none() | st.floats(2, 20),
    taken=st.floats(0, 200),
    bottles=st.sampled_from([(), ("paediatric",), ("child_aerobic",), ("child_aerobic", "paediatric")]),
)
def test_no_plan_passes_a_cap_or_a_bottle(weight, age, haemoglobin, taken, bottles):
    patient = Patient(weight_kg=weight, age_months=age, haemoglobin_g_dl=haemoglobin, taken_ml=taken)
    answer = plan(patient, bottles=bottles)
    if answer.verdict is Verdict.REFUSED:
        return
    total = answer.figure("plan_total_ml").value
    assert 0 < total <= answer.figure("single_cap_used_ml").value + 1e-9
    assert total <= answer.figure("day_left_ml").value + 1e-9


@given(
    by=st.sampled_from(["", "I. Quay"]),
    on=st.none() | st.dates(date(2025, 1, 1), date(2028, 1, 1)),
    span=st.none() | st.integers(1, 900),
    today=st.dates(date(2024, 1, 1), date(2030, 1, 1)),
)
def test_no_state_of_a_policy_leaks_a_number(by, on, span, today):
    review = None if on is None or span is None else date.fromordinal(on.toordinal() + span)
    policy = replace(example_policy(), approved_by=by, approved_on=on, review_by=review)
    speaks = bool(by) and on is not None and review is not None and on <= today <= review
    assert bool(plan(INFANT, policy=policy, today=today).figures) is speaks


# Published factors: 1 lb = 0.45359237 kg exactly (international pound, 1959). Haemoglobin 1 mmol/L = 1.6114 g/dL
# (laboratory convention, monomer 16,114 g/mol; from memory).
def test_units_convert_by_published_factors():
    assert weight_kg(1, WeightUnit.LB) == pytest.approx(0.45359237, rel=1e-9)
    assert haemoglobin_g_dl(71, HaemoglobinUnit.G_PER_L) == pytest.approx(7.1)
    assert haemoglobin_g_dl(7.1, HaemoglobinUnit.MMOL_PER_L) == pytest.approx(11.4, abs=0.05)


def test_a_missing_unit_is_asked_for():
    with pytest.raises(QuestionsOpen, match="g/dL"):
        read_unit(None, HaemoglobinUnit, key="hb-unit", question="Which unit is the haemoglobin in?")


@pytest.mark.parametrize("text", ["6,4", "nan", "inf", "six", ""])
def test_a_number_that_could_be_misread_is_refused(text):
    with pytest.raises(RequestProblem):
        read_number(text, what="weight")


def test_plausible_weights_agree_with_an_independent_growth_library():
    # rcpchgrowth (general-purpose growth library) carries the World Health Organization's tables by day.
    from rcpchgrowth import WHO, measurement_from_sds

    for sex in ("male", "female"):
        for month in (1, 7, 24, 60, 100):
            years = month * 30.4375 / 365.25
            low = measurement_from_sds(reference=WHO, requested_sds=-2, measurement_method="weight", sex=sex, age=years)
            span = plausible_weight(month)
            assert span.low_kg < low < span.high_kg


def test_growth_beyond_ten_years_is_not_published():
    assert plausible_weight(121) is None
