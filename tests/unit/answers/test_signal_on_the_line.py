"""A month exactly on the baseline is on neither side of it."""

from __future__ import annotations

from cubital.answers.counts import MonthCount
from cubital.answers.signal import build_signal_answer
from cubital.domain.answer import Verdict


def test_a_month_on_the_baseline_is_no_end_of_a_run():
    # Twenty-four months of 300 sets with 6, 9 and 12 contaminated: a baseline of exactly 3 %.
    events = [6] * 8 + [9] * 8 + [12] * 8 + [9]
    months = [f"{2024 + index // 12}-{index % 12 + 1:02d}" for index in range(len(events))]
    counts = [MonthCount(month=month, sets=300, contaminated=n) for month, n in zip(months, events, strict=True)]
    answer = build_signal_answer(counts)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.figure("current_run").value == 0
