"""Every picture behind the signal questions can be drawn, with limits, breaks and a signal in it."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.answers.below_target import build_target_answer
from cubital.answers.better import build_better_answer
from cubital.answers.charts.answering import build_chart_answer
from cubital.answers.charts.gap_answering import build_gap_answer
from cubital.answers.charts.gaps import gaps_of_counts
from cubital.answers.charts.monthly import MONTHLY
from cubital.answers.counts import MonthCount
from cubital.answers.phases import LockedBaseline, build_phases_answer
from cubital.papers.pictures import render_svg

COUNTS = tuple(
    MonthCount(month=f"{2023 + n // 12}-{n % 12 + 1:02d}", sets=480, contaminated=x)
    for n, x in enumerate([12, 13] * 12 + [22, 25, 21, 26, 24, 23])
)


def drawn(answer):
    assert answer.picture
    return render_svg(answer.picture, width=600)


@pytest.mark.parametrize("kind", MONTHLY)
def test_every_monthly_chart_is_drawn_with_its_signal(kind):
    svg = drawn(build_chart_answer(COUNTS, kind=kind))
    assert "<svg" in svg
    assert "NaN" not in svg


def test_gaps_phases_trend_and_target_are_drawn():
    old = LockedBaseline(first="2023-01", last="2024-12", by="A", on=date(2025, 1, 2), why="calm")
    new = LockedBaseline(first="2025-01", last="2025-06", by="A", on=date(2025, 7, 2), why="new level")
    answers = (
        build_gap_answer(gaps_of_counts(COUNTS)), build_phases_answer(COUNTS, phases=(old, new)),
        build_better_answer(COUNTS), build_target_answer(COUNTS, target=0.03),
    )  # fmt: skip
    for answer in answers:
        assert "NaN" not in drawn(answer)
    assert "baseline 2 begins" in drawn(answers[1])
