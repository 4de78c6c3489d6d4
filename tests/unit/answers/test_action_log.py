"""The log of actions: ages and days worked out by hand; nothing overwritten; roles, never people."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.answers.action_log import action_sentence, build_action_log
from cubital.answers.owner_words import owner_trouble
from cubital.domain.actions import Action, ActionStep, StepKind
from cubital.domain.answer import Verdict

TODAY = date(2026, 4, 10)


def action(number: int = 1, *, opened: date = date(2026, 3, 1), due: date = date(2026, 5, 1), **more) -> Action:
    steps = tuple(more.pop("steps", ()))
    return Action(
        number=number, words="Timers on trolleys", first_owner="ED lead", opened_on=opened, first_due=due, steps=steps,
        **more,
    )  # fmt: skip


def step(kind: StepKind, on: date, **more) -> ActionStep:
    return ActionStep(kind=kind, on=on, **more)


def test_age_counts_whole_days_and_stops_when_closed():
    """1 March to 10 April are 40 days, to 20 March 19."""
    assert action().age_days(TODAY) == 40
    done = action(steps=[step(StepKind.DONE, date(2026, 3, 20))])
    assert done.age_days(TODAY) == 19
    assert not done.is_open


def test_overdue_days_count_from_the_moved_day_and_only_while_open():
    late = action(due=date(2026, 4, 1))
    assert late.overdue_days(TODAY) == 9
    moved = action(due=date(2026, 4, 1), steps=[step(StepKind.MOVED, date(2026, 4, 2), due_on=date(2026, 4, 8))])
    assert moved.overdue_days(TODAY) == 2
    assert moved.first_due == date(2026, 4, 1)
    assert action(due=date(2026, 4, 10)).overdue_days(TODAY) == 0
    closed = action(due=date(2026, 4, 1), steps=[step(StepKind.DROPPED, date(2026, 4, 9), words="kit withdrawn")])
    assert closed.overdue_days(TODAY) == 0


def test_a_new_owner_stands_and_the_old_one_is_kept():
    moved = action(steps=[step(StepKind.MOVED, date(2026, 3, 5), owner="supply")])
    assert (moved.owner, moved.first_owner) == ("supply", "ED lead")
    assert moved.due_on == date(2026, 5, 1)


def test_opened_again_is_open_again():
    again = action(
        steps=[step(StepKind.DONE, date(2026, 3, 20)), step(StepKind.REOPENED, date(2026, 4, 2), words="half are gone")]
    )
    assert again.is_open
    assert again.age_days(TODAY) == 40


def test_the_log_of_an_earlier_day_knows_nothing_later():
    story = action(
        steps=[step(StepKind.MOVED, date(2026, 3, 5), owner="supply"), step(StepKind.DONE, date(2026, 4, 1))]
    )
    then = story.as_of(date(2026, 3, 10))
    assert then is not None
    assert (then.owner, then.is_open) == ("supply", True)
    assert story.as_of(date(2026, 2, 28)) is None


def test_the_sentence_says_open_overdue_and_average_age():
    """Ages 40, 10 and 70 days: 40 on average; overdue by 9 and 20 days."""
    actions = [
        action(1, due=date(2026, 4, 1)), action(2, opened=date(2026, 3, 31)),
        action(3, opened=date(2026, 1, 30), due=date(2026, 3, 21)),
        action(4, steps=[step(StepKind.DONE, date(2026, 3, 20))]),
    ]  # fmt: skip
    said = action_sentence(actions, today=TODAY)
    assert said == (
        "3 actions are open, 2 of them overdue, the longest by 20 days; they are 40 days old on average. 1 is done."
    )
    answer = build_action_log(actions, today=TODAY)
    assert answer.figure("average_age").value == pytest.approx(40)
    assert answer.figure("done_in_time").value == 1
    assert answer.table is not None
    assert [row[0] for row in answer.table.rows] == [3, 1, 2, 4]


def test_one_open_action_is_said_in_the_singular():
    assert action_sentence([action()], today=TODAY) == "One action is open, due on 1 May 2026; it is 40 days old."
    assert "overdue by 1 day;" in action_sentence([action(due=date(2026, 4, 9))], today=TODAY)


def test_an_empty_log_says_so():
    answer = build_action_log([], today=TODAY)
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.sentence == "No action has been opened yet."


def test_an_action_opened_later_is_not_in_the_log_of_the_day():
    assert build_action_log([action(opened=date(2026, 4, 11))], today=TODAY).table is None


def test_a_day_moved_three_times_is_worth_a_word():
    days = [date(2026, 5, 2), date(2026, 6, 2), date(2026, 7, 2)]
    often = action(steps=[step(StepKind.MOVED, date(2026, 3, 5), due_on=day) for day in days])
    assert any("moved 3 times" in words for words in build_action_log([often], today=TODAY).cautions)


@pytest.mark.parametrize(
    "owner",
    [
        "ED lead",
        "lead of ward 12",
        "laboratory manager",
        "Supply",
        "Infection prevention",
        "Unit lead, 5W",
        "IPC",
        "jefa de urgencias",
    ],
)
def test_roles_are_taken(owner):
    assert owner_trouble(owner) == ""


@pytest.mark.parametrize(
    "owner",
    ["", "  ", "P4821", "7731", "Dr Okoro", "Ada Okoro, RN", "R. Okoro", "Okoro, R.", "Sra. Venn", "moss@example.org"],
)
def test_what_looks_like_a_person_is_not(owner):
    assert owner_trouble(owner)
