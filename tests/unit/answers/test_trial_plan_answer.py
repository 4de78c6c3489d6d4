"""How long must the trial run (question 18): anchors of the job map, refusals in words, and checks beforehand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.answers.places_reading import PlaceCount
from cubital.answers.trial_ask import IccSource, TrialAsk
from cubital.answers.trial_checks import before_after_tangles, diary_checks, is_tangled, worst_check
from cubital.answers.trial_order import TrialUnit, draw_order
from cubital.answers.trial_plan import answer_size, build_trial_answer
from cubital.answers.trial_reading import read_trial
from cubital.answers.trial_series import PlainSeries, read_series
from cubital.domain.answer import Check, Verdict
from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.domain.trial import TrialDesign
from cubital.stats.stepped_design import StepAssumptions, stepped_power

MARROWBY = "Marrowby General"
START = date(2026, 3, 2)


def ask(**changes):
    return TrialAsk(**{"baseline": 0.042, "expected": 0.026, "per_month": 310, **changes})


def answer(**changes):
    return build_trial_answer(read_trial(ask(**changes)))


def test_question_18_is_answered_with_its_own_numbers():
    """Job map, question 18: 4.2 to 2.6 % takes 2 013 sets per arm, 6.5 months each at 310 a month."""
    said = answer()
    assert said.verdict is Verdict.ESTIMATE
    assert said.sentence.startswith(
        "To show a fall from 4.2 % to 2.6 %, 2,013 sets are needed in each arm (found in 80 % of such trials); at 310 "
        "sets a month that is 6.5 months for each arm, 13 months for both."
    )


def test_numbers_alone_get_the_power_of_a_before_and_after_beside_them():
    assert answer_size(ask()).figure("series_power").value == read_series(0.042, 0.026, per_month=310).power
    assert answer_size(ask(expected=0.05)).figures == ()


@pytest.mark.parametrize(
    ("baseline", "expected", "sets"), [(0.04, 0.02, 1141), (0.042, 0.026, 2013), (0.03, 0.02, 3826)]
)
def test_anchors_stand_in_the_figures(baseline, expected, sets):
    """3 to 2 % is 3 825.03 sets: the job map rounds it to 3 825, a trial needs 3 826."""
    assert answer(baseline=baseline, expected=expected).figure("uncorrected").value == sets


def test_corrections_stand_side_by_side_in_their_usual_order():
    values = {key: answer().figure(key).value for key in ("arcsine", "uncorrected", "exact", "corrected")}
    assert list(values.values()) == sorted(values.values())
    assert values == {"arcsine": 1987, "uncorrected": 2013, "exact": 2112, "corrected": 2136}


def test_clustering_is_counted_with_its_range():
    said = answer()
    planned = said.figure("per_arm")
    assert planned.low < planned.value < planned.high
    assert "an assumption" in said.sentence
    known = answer(icc=0.001, icc_range=(0.0, 0.004), icc_source=IccSource.LEARNT)
    assert "learnt from your units" in known.sentence
    assert known.figure("per_arm").value < planned.value
    given = answer(icc=0.001, icc_range=(0.001, 0.001), icc_source=IccSource.GIVEN)
    assert "correlation 0.001, as you gave it" in given.sentence
    assert not any("is assumed; look at the range" in words for words in given.cautions)


def test_the_plain_series_is_read_at_the_level_of_the_trial():
    powers = [answer_size(ask(level=level)).figure("series_power").value for level in (0.99, 0.9)]
    assert powers[0] < powers[1]


def test_a_rate_under_one_per_cent_keeps_digits_that_tell_it_from_nothing():
    said = answer(baseline=0.0008, expected=0.0004)
    assert said.sentence.startswith("To show a fall from 0.080 % to 0.040 %,")


@pytest.mark.parametrize(
    ("changes", "verdict", "said"),
    [
        ({"expected": 0.05}, Verdict.REFUSED, "is no benefit (a relative risk of 1.19)"),
        ({"expected": 0.042}, Verdict.REFUSED, "is no benefit (a relative risk of 1.00)"),
        ({"baseline": 0.0}, Verdict.REFUSED, "neither of them 0 or 100"),
        ({"baseline": 1.0}, Verdict.REFUSED, "neither of them 0 or 100"),
        ({"expected": 0.0}, Verdict.REFUSED, "neither of them 0 or 100"),
        ({"expected": -0.1}, Verdict.REFUSED, "neither of them 0 or 100"),
        ({"baseline": float("nan")}, Verdict.REFUSED, "neither of them 0 or 100"),
        ({"per_month": 0}, Verdict.REFUSED, "cannot be right"),
        ({"per_month": 10**9}, Verdict.REFUSED, "cannot be right"),
        ({"power": 1.0}, Verdict.REFUSED, "cannot be right"),
        ({"units": 0}, Verdict.REFUSED, "cannot be right"),
        ({"icc": 1.0}, Verdict.REFUSED, "cannot be right"),
        ({"months": -3}, Verdict.REFUSED, "cannot be right"),
        ({"design": TrialDesign.PARALLEL}, Verdict.NOT_IDENTIFIABLE, "have both ways in turn"),
        ({"design": TrialDesign.PARALLEL, "units": 6}, Verdict.TOO_FEW, "however long it runs"),
        ({"design": TrialDesign.STEPPED, "units": 2}, Verdict.NOT_IDENTIFIABLE, "Steps need three units"),
        ({"design": TrialDesign.STEPPED, "units": 4}, Verdict.TOO_FEW, "at least 5 units"),
    ],
)
def test_what_cannot_be_planned_is_refused_with_what_is_missing(changes, verdict, said):
    found = answer(**changes)
    assert found.verdict is verdict
    assert said in found.sentence
    assert found.figures == ()


def test_a_fixed_number_of_units_says_how_many_it_takes():
    found = answer(design=TrialDesign.PARALLEL, units=6)
    assert "at least 21 units on each side" in found.sentence
    enough = answer(design=TrialDesign.PARALLEL, units=60)
    assert enough.verdict is Verdict.ESTIMATE
    assert enough.figure("per_arm").value > 2013


def test_a_trial_in_steps_has_the_power_it_was_planned_for():
    """Against Hussey and Hughes's variance through stats.stepped_design, and back."""
    said = answer(design=TrialDesign.STEPPED, units=12, icc=0.005, icc_range=(0.005, 0.005))
    per_arm = said.figure("per_arm").value
    assumed = StepAssumptions(
        before=0.042, after=0.026, sets=per_arm * 2 / (12 * 13), between_sd=math.sqrt(0.8 * 0.005 * 0.034 * 0.966),
        period_sd=math.sqrt(0.2 * 0.005 * 0.034 * 0.966),
    )  # fmt: skip
    exposure = np.arange(13)[None, :] >= np.arange(1, 13)[:, None]
    assert stepped_power(exposure.astype(float), assumed) == pytest.approx(0.80, abs=0.002)
    assert per_arm > 2013


def test_less_time_than_needed_is_said_with_what_that_time_shows():
    said = answer(months=6)
    assert "longer than the 6 months there are" in said.sentence
    row = next(row for row in said.table.rows if row[0] == "only 6 months")
    assert row[1:] == (930, 6.0, "1.8 %")


def test_a_before_and_after_is_said_beside_the_plan():
    series = PlainSeries(before=12, after=12, power=0.41, error=0.016, runs=1000)
    said = build_trial_answer(read_trial(ask()), series=series)
    assert said.figure("series_power").value == 0.41
    assert any("would find this fall in 41 % of cases at best" in one for one in said.cautions)


def test_the_power_of_a_before_and_after_is_simulated_and_lower_than_the_trial_plans_for():
    """12 and 12 months at 310 sets, trend allowed for: far below 80 %; a larger fall is found more often."""
    series = read_series(0.042, 0.026, per_month=310)
    assert (series.runs, series.before, series.after) == (1000, 12, 12)
    assert 0.3 < series.power < 0.7
    assert series.error < 0.017
    assert read_series(0.042, 0.01, per_month=310).power > series.power
    assert read_series(0.042, 0.026, per_month=310) == series
    assert read_series(0.042, 0.026, per_month=0.2) is None


@settings(max_examples=10)
@given(st.floats(0.1, 0.7), st.floats(0.01, 0.1), st.integers(20, 2000))
def test_a_smaller_difference_takes_longer(ratio, baseline, volume):
    near, far = (
        read_trial(ask(baseline=baseline, expected=baseline * part, per_month=volume)) for part in (ratio + 0.1, ratio)
    )
    assert near.needed.per_arm > far.needed.per_arm
    assert near.needed.months > far.needed.months


UNITS = tuple(
    TrialUnit(facility=MARROWBY, unit=name, place=name, sets=sets)
    for name, sets in (("ed", 300), ("icu", 120), ("north", 110), ("south", 40), ("west", 290))
)


def drawn(design, weeks=26, seed=7, units=UNITS):
    return draw_order(units, design=design, start=START, weeks=weeks, seed=seed)


@pytest.mark.parametrize("design", list(TrialDesign))
def test_the_same_seed_gives_the_same_order_whatever_the_order_of_units(design):
    assert drawn(design) == drawn(design, units=UNITS[::-1])
    assert drawn(design) != drawn(design, seed=8)


@pytest.mark.parametrize("design", [TrialDesign.WEEKS, TrialDesign.DAYS])
def test_turns_are_balanced_within_each_unit(design):
    for unit in UNITS:
        mine = [one for one in drawn(design) if one.unit == unit.unit]
        assert sum((one.last - one.first).days + 1 for one in mine) == 26 * 7
        assert sum(one.arm for one in mine) * 2 == len(mine)
    weekdays = [one.first.weekday() for one in drawn(TrialDesign.DAYS) if one.arm and one.unit == "ed"]
    assert {weekdays.count(day) for day in range(7)} == {13}


def test_parallel_units_are_paired_by_size():
    arms = {one.unit: one.arm for one in drawn(TrialDesign.PARALLEL)}
    assert arms["ed"] != arms["west"]
    assert arms["icu"] != arms["north"]


def test_steps_start_usual_end_new_and_come_one_after_the_other():
    steps = sorted(one.first for one in drawn(TrialDesign.STEPPED) if one.arm)
    assert len(set(steps)) == len(UNITS)
    assert steps[0] > START
    assert {one.first for one in drawn(TrialDesign.STEPPED) if not one.arm} == {START}


def test_every_order_comes_up_about_equally_often():
    """First of five steps over 2,000 seeds: each unit 400 times, standard deviation 18."""
    first = [
        min((one for one in drawn(TrialDesign.STEPPED, seed=seed) if one.arm), key=lambda one: one.first).unit
        for seed in range(2000)
    ]
    assert all(330 < first.count(unit.unit) < 470 for unit in UNITS)


@pytest.mark.parametrize(
    ("design", "units", "weeks"),
    [(TrialDesign.PARALLEL, UNITS[:1], 26), (TrialDesign.STEPPED, UNITS, 5), (TrialDesign.WEEKS, UNITS, 1),
     (TrialDesign.WEEKS, (), 10), (TrialDesign.WEEKS, (UNITS[0], UNITS[0]), 10), (TrialDesign.WEEKS, UNITS, 1000)],
)  # fmt: skip
def test_orders_that_cannot_be_are_refused(design, units, weeks):
    with pytest.raises(ValueError, match=r"units|weeks"):
        drawn(design, units=units, weeks=weeks)


def entry(**changes):
    values = {"kind": ChangeKind.STAFFING, "on": START, "words": "Collection shift starts", "facility": MARROWBY,
              "unit": "ed", "place": "Emergency"}  # fmt: skip
    return DiaryEntry(**{**values, **changes})


@pytest.mark.parametrize(
    ("changes", "design", "tangled"),
    [
        ({}, TrialDesign.WEEKS, False),
        ({}, TrialDesign.DAYS, False),
        ({"unit": None}, TrialDesign.PARALLEL, False),
        ({"facility": None, "unit": None}, TrialDesign.STEPPED, False),
        ({"unit": "elsewhere"}, TrialDesign.PARALLEL, False),
        ({"on": date(2024, 1, 1)}, TrialDesign.PARALLEL, False),
    ],
)
def test_a_change_that_reaches_both_arms_can_be_told_apart(changes, design, tangled):
    assert is_tangled(entry(**changes), drawn(design), design=design) is tangled


def test_a_staffing_change_on_one_side_cannot_be_separated():
    stretches = drawn(TrialDesign.PARALLEL)
    new = next(one for one in stretches if one.arm)
    (check,) = diary_checks([entry(unit=new.unit)], stretches, design=TrialDesign.PARALLEL)
    assert check.passed is False
    assert "falls together with the trial and reaches only one side: the two cannot be separated" in check.words
    said = build_trial_answer(read_trial(ask(design=TrialDesign.PARALLEL, units=60)), checks=[check])
    assert said.verdict is Verdict.NOT_IDENTIFIABLE
    assert said.sentence.startswith("Collection shift starts (Emergency, 2 March 2026) falls together")


def test_a_step_is_tangled_only_near_its_own_day():
    stretches = drawn(TrialDesign.STEPPED)
    step = next(one for one in stretches if one.arm and one.unit == "ed")
    for days, tangled in ((0, True), (10, True), (-14, True), (-15, False), (30, False)):
        on = date.fromordinal(step.first.toordinal() + days)
        assert is_tangled(entry(on=on), stretches, design=TrialDesign.STEPPED) is tangled


def test_a_change_of_counting_is_named_even_where_it_reaches_both_arms():
    (check,) = diary_checks(
        [entry(kind=ChangeKind.ANALYSER, unit=None, words="New analyser")], drawn(TrialDesign.WEEKS),
        design=TrialDesign.WEEKS,
    )  # fmt: skip
    assert check.passed is None
    assert "changes how sets are counted" in check.words


def test_an_empty_diary_is_no_passed_check():
    assert diary_checks([], drawn(TrialDesign.WEEKS), design=TrialDesign.WEEKS, noted=False)[0].passed is None
    assert diary_checks([], drawn(TrialDesign.WEEKS), design=TrialDesign.WEEKS)[0].passed is True


def test_a_plain_before_and_after_is_tangled_with_whatever_comes_then():
    places = [(MARROWBY, "ed")]
    assert before_after_tangles([entry()], places=places, start=START) == ("Collection shift starts (2 March 2026)",)
    assert before_after_tangles([entry(on=date(2026, 5, 1))], places=places, start=START) == ()


def place(key, contaminated):
    return PlaceCount(key=key, name=key.upper(), sets=500, contaminated=contaminated)


def test_a_unit_chosen_for_being_worst_is_said():
    counts = [place("ed", 25), place("icu", 10), place("north", 12)]
    check = worst_check(counts, chosen=["ed"], least=100)
    assert check.passed is False
    assert check.words.startswith("ED is the highest of all units.")
    assert worst_check(counts, chosen=["icu"], least=100).passed is True
    assert worst_check(counts, chosen=["ed", "icu", "north"], least=100) is None
    assert worst_check(counts, chosen=["ed"], least=1000) is None


def test_a_failed_check_that_is_not_of_the_diary_leaves_the_answer():
    worst = Check(key="worst", passed=False, words="ED is the highest.")
    assert build_trial_answer(read_trial(ask()), checks=[worst]).verdict is Verdict.ESTIMATE


def test_no_level_of_correlation_is_a_level_of_none():
    free = read_trial(replace(ask(), icc=0.0, icc_range=(0.0, 0.0)))
    assert free.needed.per_arm == 2013
    assert "hardly matter here" in build_trial_answer(free).sentence
