"""How the command line writes an answer: one and many, round numbers, a reason once."""

from __future__ import annotations

import pytest

from cubital.answers.counts import MonthCount
from cubital.answers.signal import build_signal_answer
from cubital.cli.answering import figure_words, print_answer
from cubital.domain.answer import Answer, Check, Figure, Verdict


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (1.0, "sets", "F: 1 set"), (239, "degrees", "F: 239 degrees"), (2.0, "sets", "F: 2 sets"),
        (1.0, "months", "F: 1 month"), (0.0168, "difference", "F: 1.7 points"),
        (-0.009, "difference", "F: \u22120.9 points"),
        (15.62, "months", "F: about 16 months"), (1.715, "spreads", "F: 1.7 spreads"),
        (41.0, "minutes", "F: 41 minutes"), (1234.6, "minutes", "F: 1,235 minutes"),
    ],
)  # fmt: skip
def test_a_figure_is_written_round_and_in_the_right_number(value, unit, words):
    assert figure_words(Figure(key="f", label="F", value=value, unit=unit)) == words


def test_one_reason_for_many_figures_is_said_once(capsys):
    answer = build_signal_answer([MonthCount(month="2026-02", sets=40, contaminated=1)])
    print_answer(answer, as_json=False)
    assert capsys.readouterr().out.count("the baseline has too few months or sets") == 1


def test_a_check_that_could_not_be_made_is_not_called_passed(capsys):
    checks = (Check(key="a", passed=True, words="A."), Check(key="b", passed=None, words="B."))
    print_answer(Answer(question="?", verdict=Verdict.ESTIMATE, sentence="S.", checks=checks), as_json=False)
    shown = capsys.readouterr().out
    assert "  passed: A." in shown
    assert "  not checked: B." in shown
