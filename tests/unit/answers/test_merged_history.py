"""Question 45: two hospitals merged. Is the rise real? An anchor of our own, worked out by hand."""

from __future__ import annotations

import json

import pytest

from cubital.answers.merged_history import build_merged_answer
from cubital.answers.merged_reading import MergedCounts, MonthStratum, Rise, read_merged
from cubital.domain.answer import Verdict, build_answer_dict

BEFORE, AFTER = ("2025-10", "2025-11", "2025-12"), ("2026-01", "2026-02", "2026-03")


def cells(history, months, **strata):
    return [
        MonthStratum(history=history, month=month, stratum=stratum, contaminated=x, sets=n)
        for month in months
        for stratum, (x, n) in strata.items()
    ]


def only_the_mix():
    """Marrowby stays at 4 %, Thistlecombe at 2 %; before, Thistlecombe draws nine of ten, afterwards half."""
    return [
        *cells("Marrowby", BEFORE, ward=(8, 200)), *cells("Thistlecombe", BEFORE, ward=(36, 1800)),
        *cells("Marrowby", AFTER, ward=(40, 1000)), *cells("Thistlecombe", AFTER, ward=(20, 1000)),
    ]  # fmt: skip


def answer_of(found, *, own=None, restated=False):
    reading = read_merged(MergedCounts(cells=tuple(found), at="2026-01", own=own or {}))
    return build_merged_answer(reading, by="age group and hour", restated=restated)


def test_a_rise_made_by_who_draws_more_is_in_neither_history():
    """By hand: raw 132 of 6,000 (2.2 %) to 180 of 6,000 (3.0 %), while 4 % stays 4 % and 2 % stays 2 %."""
    answer = answer_of(only_the_mix())
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert "132 of 6,000 sets, 2.2 %, to 180 of 6,000 sets, 3.0 %, from January 2026 on" in answer.sentence
    assert (
        "Marrowby did not move beyond chance at one definition and mix: 4.0 % to 4.0 % (0.0 points" in answer.sentence
    )
    assert "The rise is in neither history" in answer.sentence


def test_a_rise_in_both_is_not_made_by_the_merger():
    found = [
        *cells("A", BEFORE, day=(10, 500), night=(8, 200)), *cells("B", BEFORE, day=(6, 300), night=(12, 300)),
        *cells("A", AFTER, day=(25, 500), night=(20, 200)), *cells("B", AFTER, day=(18, 300), night=(27, 300)),
    ]  # fmt: skip
    answer = answer_of(found)
    assert answer.verdict is Verdict.SIGNAL
    assert answer.sentence.endswith("The rise is there in every history: it is not made by the merger.")


def test_the_common_mix_is_that_of_all_before_the_break():
    """By hand: mix day 800/1300, night 500/1300; A before: 800/1300×.02 + 500/1300×.04 = .027692."""
    found = [
        *cells("A", BEFORE, day=(10, 500), night=(8, 200)), *cells("B", BEFORE, day=(6, 300), night=(12, 300)),
        *cells("A", AFTER, day=(25, 500), night=(20, 200)), *cells("B", AFTER, day=(18, 300), night=(27, 300)),
    ]  # fmt: skip
    reading = read_merged(MergedCounts(cells=tuple(found), at="2026-01", own={}))
    assert reading.histories[0].before.rate == pytest.approx(8 / 13 * 0.02 + 5 / 13 * 0.04)
    assert reading.histories[0].after.rate == pytest.approx(8 / 13 * 0.05 + 5 / 13 * 0.10)


def test_a_rise_in_one_names_it():
    found = [*cells("A", BEFORE, d=(10, 500)), *cells("B", BEFORE, d=(10, 500)),
             *cells("A", AFTER, d=(10, 500)), *cells("B", AFTER, d=(30, 500))]  # fmt: skip
    answer = answer_of(found)
    assert answer.verdict is Verdict.ESTIMATE
    assert "The rise is there in B alone" in answer.sentence


def test_what_was_said_before_a_new_definition_stays_in_the_raw_line():
    answer = answer_of(only_the_mix(), own={month: (10, 2000) for month in BEFORE}, restated=True)
    assert "30 of 6,000 sets, 0.5 %" in answer.sentence
    assert any(one.startswith("Definition changed here.") for one in answer.cautions)
    assert answer.table.rows[0][2:5] == (2000, 10, 0.5)


def test_the_break_and_every_history_are_named_in_the_picture():
    picture = json.dumps(answer_of(only_the_mix()).picture)
    for word in ("break: January 2026", "Marrowby", "Thistlecombe", "all, as counted"):
        assert word in picture


@pytest.mark.parametrize(
    ("found", "rise", "verdict"),
    [
        ([], Rise.ONE_SIDED, Verdict.NOT_IDENTIFIABLE),
        (cells("A", (*BEFORE, *AFTER), d=(4, 200)), Rise.ONE_SIDED, Verdict.NOT_IDENTIFIABLE),
        ([*cells("A", BEFORE, d=(4, 200)), *cells("B", AFTER, d=(4, 200))], Rise.ONE_SIDED, Verdict.NOT_IDENTIFIABLE),
        ([*cells("A", (*BEFORE, *AFTER), d=(1, 9)), *cells("B", (*BEFORE, *AFTER), d=(1, 9))], Rise.THIN,
         Verdict.TOO_FEW),
        ([*cells("A", (*BEFORE, "2026-01"), d=(4, 200)), *cells("B", (*BEFORE, *AFTER), d=(4, 200))], Rise.THIN,
         Verdict.TOO_FEW),
        ([*cells("A", BEFORE, d=(4, 200)), *cells("A", AFTER, new=(4, 200)), *cells("B", (*BEFORE, *AFTER), d=(4, 200))
          ], Rise.APART, Verdict.NOT_IDENTIFIABLE),
    ],
)  # fmt: skip
def test_what_cannot_be_told_from_the_merger_is_refused(found, rise, verdict):
    assert read_merged(MergedCounts(cells=tuple(found), at="2026-01", own={})).rise is rise
    answer = answer_of(found)
    assert answer.verdict is verdict
    json.dumps(build_answer_dict(answer), allow_nan=False)


def test_nothing_contaminated_anywhere_is_no_rise():
    found = [*cells("A", (*BEFORE, *AFTER), d=(0, 200)), *cells("B", (*BEFORE, *AFTER), d=(0, 200))]
    answer = answer_of(found)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.sentence.endswith("There is no rise beyond chance to explain. No action on the rate.")
    json.dumps(build_answer_dict(answer), allow_nan=False)


def test_an_impossible_cell_is_a_mistake():
    with pytest.raises(ValueError, match="impossible"):
        read_merged(MergedCounts(cells=tuple(cells("A", BEFORE, d=(9, 4))), at="2026-01", own={}))
