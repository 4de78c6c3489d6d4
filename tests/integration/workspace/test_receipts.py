"""A receipt is kept once, short enough to type, and keeps the state that its figures rest on."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from kept_answers import corrected_folder
from laboratory_files import FACILITY, a_row, write_file

from built_folders import BuiltOnce
from cubital.domain.answer import Answer
from cubital.domain.errors import RequestProblem, WorkspaceProblem
from cubital.workspace import records
from cubital.workspace.asking import ask_again
from cubital.workspace.batches import list_changes
from cubital.workspace.months import month_answer
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.pins import at_pin, pin_now
from cubital.workspace.receipts import find_receipt, keep_receipt, list_receipts, receipt_words
from cubital.workspace.taking import take_file
from cubital.workspace.vacuuming import set_keep_days, vacuum_workspace
from cubital.workspace.writing import hold_workspace

NOVEMBER = {"month": "2025-11"}


@pytest.fixture
def workspace(built_once: BuiltOnce, tmp_path: Path) -> Workspace:
    return open_workspace(built_once(corrected_folder, tmp_path) / "workspace")


def kept(workspace: Workspace, month: str = "2025-11") -> tuple[str, Answer]:
    answer = month_answer(workspace, month=month)
    return keep_receipt(workspace, question="month", asked={"month": month}, answer=answer), answer


def later_file(workspace: Workspace, tmp_path: Path) -> None:
    rows = [a_row(n, hours=20 * n, organism="Staph epidermidis" if n % 2 else "No growth") for n in range(45, 60)]
    file = write_file(tmp_path / "later.csv", rows)
    take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


def test_the_same_thing_again_is_one_receipt(workspace: Workspace) -> None:
    code, answer = kept(workspace)
    assert keep_receipt(workspace, question="month", asked=NOVEMBER, answer=answer) == code
    assert len(list_receipts(workspace)) == 1
    assert [line.action for line in list_changes(workspace)].count("keep_receipt") == 1
    assert kept(workspace, "2025-10")[0] != code


def test_a_receipt_says_what_it_rests_on(workspace: Workspace) -> None:
    code, answer = kept(workspace)
    found = find_receipt(workspace, code.lower().replace("-", ""))
    assert (found.question, found.asked, found.pin.batch, found.charter, found.policy) == ("month", NOVEMBER, 2, 1, 1)
    assert found.said["sentence"] == answer.sentence
    assert found.sound
    assert code in receipt_words(code)


def test_the_state_of_a_receipt_outlives_the_keep_time(workspace: Workspace, tmp_path: Path) -> None:
    code, answer = kept(workspace)
    later_file(workspace, tmp_path)
    set_keep_days(workspace, 1)
    report = vacuum_workspace(workspace, now=datetime.now(UTC) + timedelta(days=400))
    # Batch 1 is what the restated November is compared with, batch 2 what the answer was made from.
    assert report.batches == ()
    found = find_receipt(workspace, code)
    assert ask_again(at_pin(workspace, found.pin), question="month", asked=found.asked) == answer


def test_a_compaction_makes_no_other_receipt(workspace: Workspace) -> None:
    from cubital.workspace.compacting import compact_workspace

    code, answer = kept(workspace)
    compact_workspace(workspace)
    assert keep_receipt(workspace, question="month", asked=NOVEMBER, answer=answer) == code


def test_an_answer_from_before_the_last_file_gets_no_receipt(workspace: Workspace, tmp_path: Path) -> None:
    answer = month_answer(workspace, month="2025-11")
    later_file(workspace, tmp_path)
    with pytest.raises(RequestProblem, match="another file was taken in"):
        keep_receipt(workspace, question="month", asked=NOVEMBER, answer=answer)


def test_a_workspace_that_only_allows_reading_keeps_none_and_says_so(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = month_answer(workspace, month="2025-11")

    def closed(*_args: object, **_more: object) -> None:
        raise WorkspaceProblem("this folder cannot be written.")

    monkeypatch.setattr("cubital.workspace.receipts.promise_state", closed)
    code = keep_receipt(workspace, question="month", asked=NOVEMBER, answer=answer)
    assert code == ""
    assert "cannot be written" in receipt_words(code)


def test_killed_between_the_promise_and_the_receipt_nothing_is_lost(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = month_answer(workspace, month="2025-11")
    with monkeypatch.context() as patch:
        patch.setattr("cubital.workspace.receipts._keep", lambda *_args, **_more: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            keep_receipt(workspace, question="month", asked=NOVEMBER, answer=answer)
    assert list_receipts(workspace) == ()
    code = keep_receipt(workspace, question="month", asked=NOVEMBER, answer=answer)
    assert find_receipt(workspace, code).sound
    assert records.Promise.objects.using(workspace.alias).filter(reason="receipts").count() == 2


def test_a_slip_of_the_pen_is_told_from_a_receipt_that_is_not_kept(workspace: Workspace, tmp_path: Path) -> None:
    code, _answer = kept(workspace)
    wrong = code[:-1] + ("A" if code[-1] != "A" else "B")
    with pytest.raises(RequestProblem, match=f"a letter or digit of it is wrong.*Did you mean {code}"):
        find_receipt(workspace, wrong)
    with pytest.raises(RequestProblem, match="is no receipt"):
        find_receipt(workspace, "R-7")
    with open_workspace(tmp_path / "another") as empty, pytest.raises(RequestProblem, match="not kept in this"):
        find_receipt(empty, code)


def test_a_pinned_workspace_cannot_be_written(workspace: Workspace, tmp_path: Path) -> None:
    pinned = at_pin(workspace, pin_now(workspace))
    with pytest.raises(WorkspaceProblem, match="as it was earlier"), hold_workspace(pinned):
        pass
    with pytest.raises(WorkspaceProblem, match="as it was earlier"):
        later_file(pinned, tmp_path)
