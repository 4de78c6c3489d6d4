"""The log of actions in a workspace: every change is a step, and a step cannot lie about its day."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from cubital.domain.actions import StepKind
from cubital.domain.errors import RequestProblem
from cubital.workspace.actions import (
    NewAction,
    action_log_answer,
    finish_action,
    get_action,
    list_actions,
    move_action,
    note_on_action,
    open_action,
    reopen_action,
)
from cubital.workspace.batches import list_changes
from cubital.workspace.opening import open_workspace

TODAY = date.today()  # noqa: DTZ011 - the log runs by the calendar of the desk
START = TODAY - timedelta(days=40)


def new(**more) -> NewAction:
    given = {"words": "Timers on every trolley", "owner": "ED lead", "due_on": TODAY, "opened_on": START} | more
    return NewAction(**given)


@pytest.fixture
def desk(tmp_path):
    with open_workspace(tmp_path / "w") as workspace:
        yield workspace


def day(after: int) -> date:
    return START + timedelta(days=after)


def test_the_whole_story_is_kept_in_order(desk):
    first = open_action(desk, action=new())
    note_on_action(desk, number=first.number, words="Twelve of twenty are fitted", on=day(5))
    move_action(desk, number=1, due_on=TODAY + timedelta(days=20), owner="supply", words="late delivery", on=day(9))
    finish_action(desk, number=1, on=day(20))
    again = reopen_action(desk, number=1, words="Four are broken", on=day(25))
    assert [one.kind for one in again.steps] == [
        StepKind.NOTED, StepKind.MOVED, StepKind.DONE, StepKind.REOPENED,
    ]  # fmt: skip
    assert (again.first_owner, again.owner) == ("ED lead", "supply")
    assert (again.first_due, again.due_on) == (TODAY, TODAY + timedelta(days=20))
    assert again.age_days(TODAY) == 40
    assert [entry.action for entry in list_changes(desk)].count("action_step") == 4


def test_numbers_go_on_and_the_answer_holds_all(desk):
    open_action(desk, action=new())
    second = open_action(desk, action=new(words="Night observations", due_on=TODAY + timedelta(days=9)))
    assert second.number == 2
    assert second.place == "everywhere"
    assert action_log_answer(desk).sentence == (
        "2 actions are open and none is overdue; they are 40 days old on average."
    )
    assert len(action_log_answer(desk, today=day(-1)).figures) == 0


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({"words": " "}, "what is to be done is missing"),
        ({"owner": "Dr Okoro"}, "looks like the name of one person"),
        ({"due_on": START - timedelta(days=1)}, "which is before"),
        ({"words": "x" * 401}, "401 letters"),
        ({"facility": "Nowhere"}, "Nowhere"),
    ],
)
def test_what_cannot_be_kept_is_said_and_nothing_is(desk, more, said):
    with pytest.raises(RequestProblem, match=said):
        open_action(desk, action=new(**more))
    assert list_actions(desk) == ()


def test_steps_that_cannot_be_are_refused(desk):
    open_action(desk, action=new())
    with pytest.raises(RequestProblem, match="is open already"):
        reopen_action(desk, number=1, words="again")
    with pytest.raises(RequestProblem, match="reason is missing"):
        finish_action(desk, number=1, dropped=True)
    with pytest.raises(RequestProblem, match="has not come yet"):
        finish_action(desk, number=1, on=TODAY + timedelta(days=1))
    with pytest.raises(RequestProblem, match="this owner and this day already"):
        move_action(desk, number=1, due_on=TODAY)
    finish_action(desk, number=1, on=day(10))
    with pytest.raises(RequestProblem, match="is closed"):
        note_on_action(desk, number=1, words="late thought")
    with pytest.raises(RequestProblem, match="goes to"):
        reopen_action(desk, number=1, words="wrong day", on=day(9))
    with pytest.raises(RequestProblem, match="there is no action 7"):
        get_action(desk, 7)
    assert [one.kind for one in get_action(desk, 1).steps] == [StepKind.DONE]
