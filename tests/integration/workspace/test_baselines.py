"""Baselines that somebody locked: kept per place, used by the month's answer, never moved silently."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.answers.month_text import next_month
from cubital.domain.answer import Verdict
from cubital.domain.errors import RequestProblem
from cubital.workspace.baselines import list_baselines, lock_baseline, propose_new_baseline
from cubital.workspace.batches import list_changes
from cubital.workspace.months import month_answer
from cubital.workspace.opening import open_workspace
from cubital.workspace.signals import Question, ask_place
from cubital.workspace.taking import take_file
from cubital.workspace.units import rename_unit

HEADER = "ACC_NO,MRN,DOB,LOC,COLL_DT,RECV_DT,BOTTLE,COLLECTOR,STATUS,RESULT"
CLEAN, DIRTY = "No growth at 5 days", "STAPH EPIDERMIDIS"
SIGNED = {"by": "A. Educator", "role": "practice educator", "on": date(2026, 1, 10), "why": "two calm years"}


def pair(number, month, result):
    """Two sets of one patient on one day, the second one clean: a commensal in one of two is a contamination."""
    day = f"{month}-{1 + number % 27:02d}"
    for copy, text in enumerate((result, CLEAN)):
        yield f"{number}{copy},{number},1957-04-09,ED,{day} 10:{20 * copy:02d},{day} 11:00,AER,R.OKO,F,{text}"
        yield f"{number}{copy},{number},1957-04-09,ED,{day} 10:{20 * copy:02d},{day} 11:00,ANA,R.OKO,F,{CLEAN}"


def write_months(folder, name, months):
    """``months``: (month, pairs of sets, contaminated among them)."""
    rows, number = [], 10_000 * (1 + len(list(folder.glob("*.csv"))))
    for month, pairs, dirty in months:
        for place in range(pairs):
            number += 1
            rows.extend(pair(number, month, DIRTY if place < dirty else CLEAN))
    path = folder / name
    path.write_text("\n".join([HEADER, *rows]) + "\n")
    return path


def months_from(start, dirty, pairs=14):
    month, found = start, []
    for count in dirty:
        found.append((month, pairs, count))
        month = next_month(month)
    return found


def take(workspace, path):
    return take_file(workspace, file=path, facility="Marrowby General", timezone="America/Chicago", accept=True)


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    """24 months at 1 of 28, then 14 at 5 of 28."""
    folder = tmp_path_factory.mktemp("baselines")
    with open_workspace(folder / "workspace") as opened:
        take(opened, write_months(folder, "past.csv", months_from("2024-01", [1] * 24 + [5] * 14)))
        yield opened


def lock(workspace, **changes):
    values = {"first": "2024-01", "last": "2025-12", "facility": "Marrowby General", **SIGNED, **changes}
    return lock_baseline(workspace, **values)


def test_without_a_lock_there_is_no_baseline(filled):
    assert list_baselines(filled, facility="Marrowby General") == ()
    answer = ask_place(filled, question=Question.PHASES, month="2026-06")
    assert "no baseline locked" in answer.sentence


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"first": "2025-12", "last": "2024-01"}, "ends before it begins"),
        ({"why": "  "}, "why"),
        ({"by": ""}, "who"),
        ({"last": "2027-09"}, "no sets"),
        ({"first": "2025-10", "last": "2025-12"}, "at least"),
    ],
)
def test_what_cannot_be_a_baseline_is_refused_with_the_reason(filled, changes, said):
    with pytest.raises(RequestProblem, match=said):
        lock(filled, **changes)
    assert list_baselines(filled, facility="Marrowby General") == ()


def test_a_locked_baseline_is_kept_used_proposed_anew_and_never_moved(filled):
    lock(filled)
    (kept,) = list_baselines(filled, facility="Marrowby General")
    assert kept.span == ("2024-01", "2025-12")
    assert "A. Educator" in kept.by
    assert any(line.action == "lock_baseline" for line in list_changes(filled))
    later = month_answer(filled, month="2027-02", facility="Marrowby General")
    assert later.figure("baseline_rate").numerator == 24
    assert any("two calm years" in caution for caution in later.cautions)
    proposal = propose_new_baseline(filled, facility="Marrowby General")
    assert proposal is not None
    assert proposal.first == "2026-01"
    assert list_baselines(filled, facility="Marrowby General") == (kept,)
    with pytest.raises(RequestProblem, match="already"):
        lock(filled)


def test_a_baseline_follows_its_unit_through_a_new_name(tmp_path):
    with open_workspace(tmp_path / "workspace") as opened:
        take(opened, write_months(tmp_path, "past.csv", months_from("2024-01", [1] * 25)))
        lock(opened, unit="ED")
        rename_unit(opened, facility="Marrowby General", old="ED", new="EMERGENCY", on=date(2026, 2, 1))
        assert len(list_baselines(opened, facility="Marrowby General", unit="EMERGENCY")) == 1
        assert list_baselines(opened, facility="Marrowby General") == ()


def test_what_was_known_then_comes_from_the_files_as_they_came(tmp_path):
    with open_workspace(tmp_path / "workspace") as opened:
        take(opened, write_months(tmp_path, "past.csv", months_from("2024-01", [1] * 24)))
        take(opened, write_months(tmp_path, "jan.csv", months_from("2026-01", [1])))
        take(opened, write_months(tmp_path, "feb.csv", months_from("2026-02", [8])))
        answer = ask_place(opened, question=Question.NOTICED)
        assert answer.verdict is Verdict.SIGNAL
        assert "February 2026 (8 of 28" in answer.sentence
        assert "batch 3" in answer.sentence
        rows = {row[0]: row[1] for row in answer.table.rows}
        assert (rows["2024-05"], rows["2026-01"], rows["2026-02"]) == ("batch 1", "batch 2", "batch 3")


def test_a_file_that_restated_a_month_is_told_apart_from_what_was_known(tmp_path):
    with open_workspace(tmp_path / "workspace") as opened:
        take(opened, write_months(tmp_path, "a.csv", months_from("2024-01", [1] * 24)))
        february = write_months(tmp_path, "b.csv", months_from("2026-01", [8]))
        amended = february.read_text()
        february.write_text(amended.replace(DIRTY, CLEAN))
        take(opened, february)
        february.write_text(amended)
        take(opened, february)
        answer = ask_place(opened, question=Question.NOTICED)
        assert "no month" in answer.sentence
        assert "January 2026 (8 of 28" in answer.sentence
        assert "not known then" in answer.sentence


@pytest.mark.parametrize("question", list(Question))
def test_every_question_has_an_answer_for_a_place(filled, question):
    answer = ask_place(filled, question=question, month="2026-06")
    assert answer.sentence
    assert "nan" not in str(answer.figures).casefold()
    assert answer.receipt is not None


@pytest.mark.parametrize("question", list(Question))
def test_a_place_of_one_month_is_too_few_for_every_question(tmp_path, question):
    with open_workspace(tmp_path / "workspace") as opened:
        take(opened, write_months(tmp_path, "one.csv", months_from("2026-01", [1])))
        assert ask_place(opened, question=question).verdict is Verdict.TOO_FEW
