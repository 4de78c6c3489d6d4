"""Overfilled bottles by month. Intervals are Newcombe's, tested elsewhere; here what is said of them."""

from __future__ import annotations

import pytest

from cubital.answers.overfilled import FillMonth, build_overfilled_answer
from cubital.domain.answer import Verdict


def months(*overs, bottles=200):
    return [FillMonth(month=f"2026-{number:02}", bottles=bottles, over=over) for number, over in enumerate(overs, 1)]


def test_a_share_that_falls_is_a_signal():
    said = build_overfilled_answer(months(80, 78, 82, 30, 28, 32), limit_ml=10)
    assert said.verdict is Verdict.SIGNAL
    assert "330 of 1,200 measured bottles (27.5 %) hold more than 10 mL" in said.sentence
    assert "it is less" in said.sentence
    assert said.figure("over_change").value == pytest.approx(0.15 - 0.4)


def test_a_share_that_rises_says_more():
    assert "it is more" in build_overfilled_answer(months(30, 28, 80, 82), limit_ml=10).sentence


def test_a_share_that_stays_cannot_be_told_apart():
    said = build_overfilled_answer(months(30, 28, 31, 29), limit_ml=10)
    assert said.verdict is Verdict.WITHIN_VARIATION
    assert "cannot be told" in said.sentence
    assert len(said.picture["data"]["values"]) == 4


@pytest.mark.parametrize(
    ("given", "limit", "verdict", "words"),
    [
        (months(30, 28), None, Verdict.REFUSED, "no upper limit"),
        ([], 10, Verdict.REFUSED, "No file says"),
        (months(3, bottles=20), 10, Verdict.TOO_FEW, "10 more"),
        (months(30, 28), 10, Verdict.ESTIMATE, "Too few months"),
    ],
)
def test_what_is_missing_is_said(given, limit, verdict, words):
    said = build_overfilled_answer(given, limit_ml=limit)
    assert said.verdict is verdict
    assert words in said.sentence


def test_more_over_than_measured_is_a_mistake():
    with pytest.raises(ValueError, match="measured"):
        FillMonth(month="2026-01", bottles=1, over=2)
