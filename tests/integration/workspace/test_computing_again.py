"""What left is computed again to the last digit, whatever happened since; or it is said why it cannot be."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from kept_answers import corrected_folder
from laboratory_files import FACILITY, a_row, write_file

from built_folders import BuiltOnce
from cubital.domain.errors import ReceiptProblem
from cubital.domain.words import choose_language
from cubital.workspace import records
from cubital.workspace.charters import current_charter, save_charter, sign_charter
from cubital.workspace.compacting import compact_workspace
from cubital.workspace.guarded_months import month_for_others
from cubital.workspace.left_tables import last_left_number
from cubital.workspace.months import month_answer
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.policies import approve_policy, current_policy, save_policy
from cubital.workspace.receipts import keep_receipt
from cubital.workspace.reproducing import Sameness, again, refuse_another, sameness_words
from cubital.workspace.taking import take_file
from cubital.workspace.units import name_unit, rename_unit

NOVEMBER = {"month": "2025-11"}


@pytest.fixture
def workspace(built_once: BuiltOnce, tmp_path: Path) -> Workspace:
    return open_workspace(built_once(corrected_folder, tmp_path) / "workspace")


def november(workspace: Workspace) -> str:
    answer = month_answer(workspace, month="2025-11")
    return keep_receipt(workspace, question="month", asked=NOVEMBER, answer=answer)


def restate_november(workspace: Workspace, tmp_path: Path) -> None:
    """Five of November's sets turn out to have grown a skin organism."""
    rows = [a_row(n, hours=20 * n, organism="Staph epidermidis" if n % 4 == 0 else "No growth") for n in range(40, 60)]
    file = write_file(tmp_path / "later.csv", rows)
    take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


def another_charter(workspace: Workspace) -> None:
    charter = replace(current_charter(workspace).charter, name="By episode", window_hours=48)
    saved = save_charter(workspace, charter=charter)
    sign_charter(workspace, version=saved.version, name="A. Reed", role="laboratory", on=date(2026, 1, 9))


def another_policy(workspace: Workspace) -> None:
    held = current_policy(workspace)
    values = tuple(replace(v, value=0.02) if v.key == "contamination_target" else v for v in held.values)
    saved = save_policy(workspace, policy=replace(held, values=values))
    approve_policy(
        workspace, version=saved.version, approved_by="B. Lund", on=date(2026, 1, 1), review_by=date(2099, 1, 1)
    )


def test_a_restated_figure_keeps_the_old_one_with_day_and_reason(workspace: Workspace, tmp_path: Path) -> None:
    """Must-never 11 of the job: history is never overwritten."""
    code = november(workspace)
    old = again(workspace, code).answer
    restate_november(workspace, tmp_path)
    found = again(workspace, code)
    assert found.sameness is Sameness.SAME
    assert found.answer == old
    assert "same to the last digit" in sameness_words(found)
    moved = next(one for one in found.moved if one.key == "contamination")
    assert (moved.left, found.today and found.today.figure("contamination").numerator) == (0.0, 5)
    today = datetime.now(UTC).date()
    assert [reason for reason in found.reasons if "Restated by batch 3" in reason and str(today.year) in reason]
    assert "November 2025" in found.reasons[0]


def test_nothing_happened_and_nothing_moved(workspace: Workspace) -> None:
    found = again(workspace, november(workspace))
    assert (found.sameness, found.moved, found.reasons, found.why) == (Sameness.SAME, (), (), ())
    refuse_another(found)


def test_charter_policy_names_and_language_of_today_change_nothing(workspace: Workspace) -> None:
    code = november(workspace)
    before = again(workspace, code).answer
    another_charter(workspace)
    another_policy(workspace)
    rename_unit(workspace, facility=FACILITY, old="ED", new="Emergency Centre", on=date(2025, 11, 15))
    name_unit(workspace, facility=FACILITY, unit="ICU", name="Intensive Care")
    choose_language("es")
    try:
        found = again(workspace, code)
    finally:
        choose_language("en")
    assert (found.sameness, found.answer) == (Sameness.SAME, before)


def test_why_todays_answer_is_another_one_is_said(workspace: Workspace, tmp_path: Path) -> None:
    code = november(workspace)
    restate_november(workspace, tmp_path)
    another_charter(workspace)
    another_policy(workspace)
    rename_unit(workspace, facility=FACILITY, old="ED", new="Emergency Centre", on=date(2025, 11, 15))
    said = " ".join(again(workspace, code).reasons)
    assert "Restated by batch 3" in said
    assert "now under charter 2 'By episode', signed on 9 January 2026" in said
    assert "Judged then by policy 1, now by policy 2" in said
    assert "ED at Marrowby General is called Emergency Centre since" in said


def test_a_compaction_leaves_every_digit(workspace: Workspace) -> None:
    code = november(workspace)
    compact_workspace(workspace)
    assert again(workspace, code).sameness is Sameness.SAME


def test_what_others_saw_is_made_again_and_notes_nothing(workspace: Workspace, tmp_path: Path) -> None:
    made = month_for_others(workspace, month="2025-11", facility=None, unit=None)
    asked = {"month": "2025-11", "left_before": made.left_before}
    code = keep_receipt(workspace, question="month for others", asked=asked, answer=made.answer)
    twice = month_for_others(workspace, month="2025-11", facility=None, unit=None)
    assert (twice.left_before, twice.answer) == (made.left_before, made.answer)
    restate_november(workspace, tmp_path)
    month_for_others(workspace, month="2025-11", facility=None, unit=None)
    left = last_left_number(workspace)
    found = again(workspace, code)
    assert found.sameness is Sameness.SAME
    assert last_left_number(workspace) == left


def test_a_state_that_was_let_go_is_named_with_its_day(workspace: Workspace, tmp_path: Path) -> None:
    code = november(workspace)
    restate_november(workspace, tmp_path)
    gone = datetime(2026, 2, 3, 12, tzinfo=UTC)
    records.Batch.objects.using(workspace.alias).filter(number=2).update(released_at=gone)
    found = again(workspace, code)
    assert found.sameness is Sameness.NOT_POSSIBLE
    assert "what batch 2 left was let go on 3 February 2026" in found.why[0]
    assert found.answer.figure("contamination").numerator == 0  # what left can still be read
    with pytest.raises(ReceiptProblem, match="let go on 3 February 2026"):
        refuse_another(found)


@pytest.mark.parametrize("field", ["said", "asked", "state", "digest"])
def test_a_forged_record_is_noticed(workspace: Workspace, field: str) -> None:
    code = november(workspace)
    entry = records.KeptReceipt.objects.using(workspace.alias).get()
    honest = getattr(entry, field)
    # Any digit will do: a digest has no "0" in one run of sixty.
    forged = re.sub(r"\d", lambda digit: str((int(digit[0]) + 1) % 10), honest, count=1)
    assert forged != honest
    setattr(entry, field, forged)
    entry.save(using=workspace.alias)
    with pytest.raises(ReceiptProblem, match="was changed since it was made"):
        again(workspace, code)


def test_a_question_that_is_not_known_any_more(workspace: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    from cubital.workspace import asking

    code = november(workspace)
    monkeypatch.delitem(asking.QUESTIONS, "month")
    found = again(workspace, code)
    assert found.sameness is Sameness.NOT_POSSIBLE
    assert "does not know the question 'month' any more" in found.why[0]


def test_another_version_of_cubital_says_so(workspace: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another version that computes the same is named, and it is the same."""
    import cubital

    code = november(workspace)
    made_with = cubital.__version__
    monkeypatch.setattr("cubital.__version__", "99.0")
    found = again(workspace, code)
    assert found.sameness is Sameness.SAME
    assert found.why == (f"It was made with Cubital {made_with}; this is 99.0.",)
    refuse_another(found)


def test_other_words_around_the_same_figures_are_said(workspace: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    from cubital.workspace import asking

    code = november(workspace)
    reworded = replace(month_answer(workspace, month="2025-11"), sentence="November was as ever.")
    monkeypatch.setitem(asking.QUESTIONS, "month", asking.Askable(answer=lambda _workspace, _asked: reworded))
    monkeypatch.setattr("cubital.__version__", "99.0")
    found = again(workspace, code)
    assert found.sameness is Sameness.WORDS_DIFFER
    assert "this is 99.0" in found.why[0]
    refuse_another(found)


def test_figures_that_come_out_otherwise_are_shown_beside_each_other(
    workspace: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    from cubital.workspace import asking

    code = november(workspace)
    other = month_answer(workspace, month="2025-12")
    changed = asking.Askable(answer=lambda _workspace, _asked: other)
    monkeypatch.setitem(asking.QUESTIONS, "month", changed)
    found = again(workspace, code)
    assert found.sameness is Sameness.FIGURES_DIFFER
    assert found.differences
    with pytest.raises(ReceiptProblem, match="Nothing that Cubital keeps says why"):
        refuse_another(found)
