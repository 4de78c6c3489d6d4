"""Clusters and lots where the answer is a refusal, or the register changes."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.workspace.clusters import ClusterQuestion, cluster_answer, list_cluster_answer
from cubital.workspace.lots import list_lots, take_lots
from cubital.workspace.opening import open_workspace

HEAD = "day,unit,organism\n"
ASKED = ClusterQuestion(organism="Bacillus", per_week=0.4)


def test_an_empty_workspace_asks_for_a_file_first(tmp_path):
    with pytest.raises(RequestProblem, match="no file has been taken"):
        cluster_answer(open_workspace(tmp_path / "w"))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "nothing in it"),
        (HEAD, "no row below"),
        ("day,organism\n2026-03-01,Bacillus\n", "no column is called 'unit'"),
        (HEAD + "03/04/2026,ED,Bacillus\n", "expected a day such as"),
        (HEAD + "2026-02-30,ED,Bacillus\n", "row 2, column 'day'"),
        (HEAD + "2026-03-01,ED,\n", "column 'organism'"),
        (HEAD + "2026-03-01,ED,???\n", "no organism"),
        ("day,unit,organism,sets\n2026-03-01,ED,Bacillus,-1\n", "whole number"),
    ],
)
def test_a_bad_list_says_what_is_wrong(text, words):
    with pytest.raises(FileProblem, match=words):
        list_cluster_answer(text, ASKED)


def test_a_list_without_days_before_is_too_few():
    answer = list_cluster_answer(HEAD + "2026-03-01,ED,Bacillus\n" * 5, ClusterQuestion())
    assert answer.verdict is Verdict.TOO_FEW
    assert "56 days more are needed" in answer.sentence
    assert all(figure.value == figure.value for figure in answer.figures)


def test_all_on_one_day_in_one_unit_is_one_day():
    answer = list_cluster_answer(HEAD + "2026-03-01,ED,Bacillus\n" * 4, ASKED)
    assert "within one day" in answer.sentence
    assert "one unit (ED 4)" in answer.sentence


def test_a_unit_without_a_name_is_said_to_have_none():
    answer = list_cluster_answer(HEAD + "2026-03-01,,Bacillus\n" * 4, ASKED)
    assert "unit not named 4" in answer.sentence


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"per_week": 0.4}, "belongs to one organism"),
        ({"organism": "Bacillus", "per_week": 0.0}, "usual number of zero"),
        ({"days": 0}, "cannot be looked at"),
        ({"baseline": (date(2026, 3, 2), date(2026, 3, 1))}, "end before they begin"),
    ],
)
def test_a_question_that_makes_no_sense_is_refused(more, words):
    with pytest.raises(RequestProblem, match=words):
        ClusterQuestion(**more)


def test_days_compared_with_may_not_reach_into_the_days_asked_about():
    question = ClusterQuestion(baseline=(date(2025, 1, 1), date(2026, 2, 28)))
    with pytest.raises(RequestProblem, match="reach into"):
        list_cluster_answer(HEAD + "2025-01-01,ED,Bacillus\n2026-03-01,ED,Bacillus\n", question)


def test_an_unknown_organism_names_the_nearest():
    with pytest.raises(RequestProblem, match="Bacillus"):
        list_cluster_answer(HEAD + "2026-03-01,ED,Bacillus\n", ClusterQuestion(organism="Bacilus"))


def test_a_later_list_ends_a_stay(tmp_path):
    workspace = open_workspace(tmp_path / "w")
    from cubital.workspace import records

    records.Facility.objects.using(workspace.alias).create(key="marrowby", name="Marrowby", timezone="UTC")
    file = tmp_path / "lots.csv"
    file.write_text("item,lot,facility,unit,from,to\ngauze,G,Marrowby,,2026-03-01,\n")
    assert take_lots(workspace, file=file).added == 1
    file.write_text("item,lot,facility,unit,from,to\ngauze,G,Marrowby,,2026-03-01,2026-03-20\n")
    assert take_lots(workspace, file=file).changed == 1
    assert [stay.to_day for stay in list_lots(workspace)] == [date(2026, 3, 20)]
