"""Many observers, sheets that name people, and the plan of the next round."""

from __future__ import annotations

import pytest

from cubital.answers.observation_plan import PlanCell, PlanRules, Shift, parse_plan, read_plan
from cubital.answers.observation_sheets import parse_sheets, parse_sheets_text
from cubital.answers.plan_words import build_plan_answer
from cubital.answers.steps import build_steps_answer
from cubital.answers.steps_reading import StepsPolicy, read_steps
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem

HEAD = ["draw", "observer", "when", "unit", "role", "dry time"]


def steps_of(rows):
    sheets = parse_sheets(rows, where="sheets")
    return sheets, read_steps(sheets, policy=StepsPolicy())


def three_watch(marks_by_draw):
    rows = [["draw", "observer", "dry time"]]
    rows += [[draw, who, m] for draw, marks in marks_by_draw.items() for who, m in zip("ABC", marks, strict=True)]
    return steps_of(rows)[1]


def test_three_observers_get_alpha_fleiss_and_ac1():
    """By hand: 3 draws, 3 observers; two draws alike, one split 2 to 1; shares 5/9 yes, 4/9 no."""
    reading = three_watch({"1": ["yes"] * 3, "2": ["no"] * 3, "3": ["yes", "yes", "no"]})
    (many,) = reading.many
    agreed, chance = (1 + 1 + 1 / 3) / 3, (5 / 9) ** 2 + (4 / 9) ** 2
    assert reading.joint == ()
    assert (many.draws, many.same) == (3, 2)
    assert many.agreement.fleiss_kappa == pytest.approx((agreed - chance) / (1 - chance))
    assert "Fleiss' kappa 0.55" in build_steps_answer(reading).figure("agreement_0").note


def test_three_observers_who_do_not_agree_are_told_to_reword():
    reading = three_watch({"1": ["yes", "no", "no"], "2": ["no", "yes", "yes"], "3": ["yes", "yes", "no"]})
    assert any("Those who watch agree on 'dry time' in 0 of 3" in said for said in build_steps_answer(reading).cautions)


def test_who_wrote_first_does_not_turn_the_table_round():
    rows = [["draw", "observer", "a"], ["1", "A", "yes"], ["1", "B", "no"], ["2", "B", "no"], ["2", "A", "yes"]]
    (joint,) = steps_of(rows)[1].joint
    assert joint.table == (0, 2, 0, 0)


def test_kappa_of_nothing_is_poor_and_said():
    rows = [["draw", "observer", "a"]]
    rows += [
        [str(n), who, mark]
        for n, pair in enumerate(["yy", "yn", "ny", "nn"])
        for who, mark in zip("AB", pair, strict=True)
    ]
    assert any("kappa 0.00" in said for said in build_steps_answer(steps_of(rows)[1]).cautions)


@pytest.mark.parametrize(("header", "cells"), [
    ("MRN", ["1", "0"]), ("Patient", ["yes", "no"]), ("collected by", ["", ""]), ("nombre", ["", ""]),
    ("dry time", ["yes", "4401233"]), ("remarks", ["Ana Quill", "Bram Toll"]),
])  # fmt: skip
def test_a_column_that_names_a_person_is_refused_with_a_sentence(header, cells):
    rows = [["draw", header, "dry time x"], *([str(n), cell, "yes"] for n, cell in enumerate(cells))]
    with pytest.raises(FileProblem, match=r"name|words and not ticks") as refused:
        parse_sheets(rows, where="sheets")
    assert "Leave the column out" in refused.value.fix


def test_a_draw_numbered_like_a_specimen_is_refused():
    with pytest.raises(FileProblem, match="number of a patient"):
        parse_sheets_text("draw,dry time\n26031400871,yes\n", where="pasted")


def test_a_step_may_speak_of_the_patient_and_one_stain_is_no_name():
    rows = [["draw", "patient named by two identifiers"], ["1", "yes"], ["2", "coffee"], ["3", "no"]]
    (step,) = steps_of(rows)[1].steps
    assert (step.yes, step.seen, step.unreadable) == (1, 2, 1)


def plan_of(rows, *, wanted=(), rules=None):
    sheets, steps = steps_of([HEAD, *rows])
    return read_plan(sheets, steps=steps, rules=rules or PlanRules(), wanted=wanted)


def draw(number, when, *, unit="Fenwater Emergency", role="nurse"):
    return [str(number), "A", when, unit, role, "yes"]


def test_an_even_split_gives_what_is_left_over_to_the_least_watched():
    rows = [draw(1, "2026-03-02 08:00"), draw(2, "2026-03-02 09:00", role="phlebotomist"), draw(3, "2026-03-03 09:00")]
    day = plan_of(rows, rules=PlanRules(each_shift=5)).of_shift(Shift.DAY)
    assert [(gap.role, gap.wanted, gap.watched, gap.more) for gap in day] == [
        ("nurse", 2, 2, 0), ("phlebotomist", 3, 1, 2),
    ]  # fmt: skip


def test_a_plan_of_ones_own_is_kept_to():
    wanted = parse_plan("shift;unit;role;draws\nnight;;;4\nday;Marrow 5 West;;1\n", where="plan")
    assert wanted[0] == PlanCell(shift=Shift.NIGHT, unit="", role="", draws=4)
    answer = build_plan_answer(plan_of([draw(1, "2026-03-02 23:00")], wanted=wanted))
    assert answer.sentence.startswith("Plan for 4 night observations: 1 watched, 3 more to go.")
    assert (
        "Plan for 1 day observations: 0 watched, 1 more to go. First: Marrow 5 West, day (1 more)." in answer.sentence
    )


def test_nothing_missing_is_enough():
    rows = [draw(1, "2026-03-02 23:00"), draw(2, "2026-03-02 08:00")]
    answer = build_plan_answer(plan_of(rows, rules=PlanRules(each_shift=1)))
    assert answer.sentence == "At night 1 draw was watched: enough. By day 1 draw was watched: enough."


def test_sheets_without_a_clock_cannot_be_planned_for():
    answer = build_plan_answer(plan_of([draw(1, "")]))
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.checks[0].words == "1 draw has no time and stands in no cell."


@pytest.mark.parametrize("text", ["", "shift,draws\n", "a,b\n1,2\n", "shift,draws\ndusk,3\n", "shift,draws\nday,-1\n",
                                  "shift,draws\nday,0\n", "shift,draws\nday,9999\n"])  # fmt: skip
def test_a_plan_that_cannot_be_right_is_refused(text):
    with pytest.raises(FileProblem, match=r".") as refused:
        parse_plan(text, where="plan")
    assert "shift (day or night)" in refused.value.fix
