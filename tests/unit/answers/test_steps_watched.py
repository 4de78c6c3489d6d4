"""Is it dry time? Twenty-six watched draws, two observers (invented)."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from cubital.answers.observation_sheets import Seen, parse_sheets, read_mark
from cubital.answers.steps import build_steps_answer
from cubital.answers.steps_reading import StepsPolicy, read_steps
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem

STEPS = {
    "two identifiers": 26, "hand hygiene": 23, "friction time": 22, "full dry time": 14, "not touched after prep": 17,
    "bottle tops": 19, "fill level checked": 15, "labelled at bedside": 24,
}  # fmt: skip
BOTH_SAW = [("yes", "yes")] * 6 + [("yes", "no"), ("no", "yes")] + [("no", "no")] * 2
MORNING, NIGHT, EVENING = (datetime.fromisoformat(f"2026-03-02 {clock}") for clock in ("08:30", "22:15", "15:00"))


def when(number):
    day = timedelta(days=7 * (number // 5) + number % 5)  # weekdays only
    return (MORNING if number < 18 else NIGHT if number < 20 else EVENING) + day


def story_rows():
    """The draws both watched come first; whoever ticked both boxes did so in a step that was done."""
    firsts = [first for first, _second in BOTH_SAW]
    dry = firsts + ["yes"] * (14 - firsts.count("yes")) + ["no"] * (12 - firsts.count("no"))
    rows = [["draw", "observer", "when", "policy", *STEPS]]
    for number in range(26):
        marks = {step: "yes" if number < yes else "no" for step, yes in STEPS.items()} | {"full dry time": dry[number]}
        policy = "" if number in {3, 9, 20} else "7"
        rows.append([str(number), "A", f"{when(number):%Y-%m-%d %H:%M}", policy, *marks.values()])
    for number, (_first, second) in enumerate(BOTH_SAW):
        marks = {step: "" for step in STEPS} | {"full dry time": second}
        rows.append([str(number), "B", f"{when(number):%Y-%m-%d %H:%M}", "7", *marks.values()])
    return rows


@pytest.fixture(scope="module")
def reading():
    return read_steps(parse_sheets(story_rows(), where="sheets"), policy=StepsPolicy())


def test_dry_time_and_fill_check_have_their_intervals(reading):
    # The story prints 36 for 35.46 %.
    dry, fill = reading.step("full dry time"), reading.step("fill level checked")
    assert (dry.yes, dry.seen, round(dry.share, 3)) == (14, 26, 0.538)
    assert (round(dry.interval.low, 2), round(dry.interval.high, 2)) == (
        0.35,
        0.71,
    )
    assert (round(fill.share, 3), round(fill.interval.low, 2), round(fill.interval.high, 2)) == (0.577, 0.39, 0.74)


def test_only_dry_time_survives_asking_about_eight_steps(reading):
    assert reading.step("full dry time").chance == pytest.approx(0.0023, abs=0.00005)
    assert reading.step("fill level checked").chance == pytest.approx(0.0079, abs=0.00005)
    assert [step.step for step in reading.below] == ["full dry time"]


def test_the_lowest_step_is_likely_but_not_certainly_dry_time(reading):
    assert reading.step("full dry time").lowest == pytest.approx(0.53, abs=0.005)
    assert reading.step("fill level checked").lowest == pytest.approx(0.33, abs=0.005)


def test_two_observers_agree_on_eight_of_ten_and_the_item_is_to_be_reworded(reading):
    (joint,) = reading.joint
    assert joint.table == (6, 1, 1, 2)
    assert (joint.agreement.agreement, round(joint.agreement.kappa, 2)) == (0.8, 0.52)
    cautions = " ".join(build_steps_answer(reading).cautions)
    assert "8 of 10 draws, kappa 0.52: reword the item before comparing observers" in cautions


def test_the_sentence_says_what_can_and_cannot_be_said(reading):
    answer = build_steps_answer(reading)
    assert answer.verdict is Verdict.SIGNAL
    assert answer.sentence == (
        "full dry time: done in 14 of 26 watched draws, 53.8 % (35 % to 71 %). We can say that full dry time is below "
        "80 %. We cannot say that it causes contamination; showing a halving from 4 % to 2 % would need about 1,141 "
        "sets in each group."
    )


def test_nights_are_missing_and_said(reading):
    checks = {check.key: check for check in build_steps_answer(reading).checks}
    assert (checks["nights"].passed, checks["policy_named"].passed) == (False, False)
    assert "nights 2 of 26" in checks["nights"].words
    assert "weekday mornings 18" in checks["nights"].words
    assert checks["policy_named"].words.startswith("3 draws")


def test_a_box_ticked_twice_is_unreadable_and_not_a_no():
    rows = story_rows()
    rows[1][rows[0].index("hand hygiene")] = "yes no"
    found = read_steps(parse_sheets(rows, where="sheets"), policy=StepsPolicy()).step("hand hygiene")
    assert (found.yes, found.seen, found.unreadable) == (22, 25, 1)


@pytest.mark.parametrize(("text", "seen"), [
    ("Yes", Seen.YES), ("x", Seen.YES), ("✓", Seen.YES), ("SÍ", Seen.YES), ("n", Seen.NO), ("", Seen.NOT_SEEN),
    ("N/A", Seen.NOT_SEEN), ("yes/no", Seen.UNREADABLE), ("x x", Seen.UNREADABLE), ("coffee", Seen.UNREADABLE),
])  # fmt: skip
def test_marks_are_read_or_called_unreadable(text, seen):
    assert read_mark(text) is seen


def test_all_done_and_nothing_seen_make_no_trouble():
    rows = [["draw", "observer", "a", "b"], *([str(n), "A", "yes", ""] for n in range(30))]
    answer = build_steps_answer(read_steps(parse_sheets(rows, where="sheets"), policy=StepsPolicy()))
    assert answer.verdict is Verdict.ESTIMATE
    assert "Never seen: b." in answer.cautions


def test_sheets_without_anything_readable_are_too_few():
    rows = [["draw", "a"], ["1", ""], ["2", "yes no"]]
    answer = build_steps_answer(read_steps(parse_sheets(rows, where="sheets"), policy=StepsPolicy()))
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.picture == {}


@pytest.mark.parametrize("rows", [
    [], [["draw", "a"]], [["draw", "observer"], ["1", "A"]], [["draw", "when", "a"], ["1", "03/04/2026", "yes"]],
    [["draw", "observer", "a"], ["1", "A", "yes"], ["1", "A", "no"]], [["draw", "a", "a"], ["1", "yes", "no"]],
])  # fmt: skip
def test_sheets_that_cannot_be_right_are_refused_with_what_to_do(rows):
    with pytest.raises(FileProblem) as refused:
        parse_sheets(rows, where="sheets")
    assert refused.value.fix
