"""Many units at once, the proposal of a new baseline, and the month in which one should have noticed."""

from __future__ import annotations

from datetime import date

import pytest
from scipy.stats import binom

from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.noticed import Known, build_noticed_answer
from cubital.answers.phases import LockedBaseline, build_phases_answer, propose_baseline
from cubital.answers.signal_reading import SignalPolicy
from cubital.answers.unit_months import UnitMonths, build_units_answer
from cubital.domain.answer import Verdict


def series(sets, contaminated, start="2024-01"):
    months = [start]
    while len(months) < len(sets):
        months.append(next_month(months[-1]))
    return tuple(
        MonthCount(month=m, sets=n, contaminated=x) for m, n, x in zip(months, sets, contaminated, strict=True)
    )


def units(last, count=10):
    """Ten units of 24 months of 200 sets, five contaminated each, and a last month per unit as given."""
    return [UnitMonths(name=f"Unit {i}", counts=series([200] * 25, [5] * 24 + [last(i)])) for i in range(count)]


def test_the_highest_of_many_units_is_said_with_the_chance_of_any():
    answer = build_units_answer(units(lambda i: 11 if i == 3 else 5), months=1)
    one = binom.sf(10, 200, 120 / 4800)
    chance = answer.figure("chance_of_any").value
    assert chance == pytest.approx(1 - (1 - one) ** 10)  # ten like cells, scipy.stats.binom
    assert "Unit 3" in answer.sentence
    assert answer.verdict is Verdict.WITHIN_VARIATION


def test_a_unit_that_stands_out_among_all_is_a_finding():
    answer = build_units_answer(units(lambda i: 22 if i == 3 else 5), months=1)
    assert answer.verdict is Verdict.SIGNAL
    assert "Unit 3" in answer.sentence


def test_false_discoveries_are_kept_to_their_share():
    answer = build_units_answer(units(lambda _i: 5), months=1)
    assert answer.figure("findings").value == 0


@pytest.mark.parametrize("few", [[], [UnitMonths(name="A", counts=series([5] * 3, [0] * 3))]])
def test_without_a_unit_to_judge_it_is_too_few(few):
    answer = build_units_answer(few, months=1)
    assert answer.verdict is Verdict.TOO_FEW
    assert "nan" not in str(answer).casefold()


def test_one_unit_is_judged_alone():
    answer = build_units_answer(units(lambda _i: 5, count=1), months=3)
    assert answer.verdict is Verdict.WITHIN_VARIATION


# Two levels: 24 months at 12 of 480, then 16 at 24 of 480.
SHIFTED = series([480] * 40, [12, 11, 13] * 8 + [24, 25, 23, 24] * 4)
LOCKED = LockedBaseline(first="2024-01", last="2025-12", by="A. Educator", on=date(2026, 1, 10), why="two calm years")


def test_a_sustained_shift_is_proposed_as_a_new_baseline_with_its_evidence():
    proposal = propose_baseline(SHIFTED, locked=LOCKED)
    assert proposal is not None
    assert proposal.first == "2026-01"
    assert proposal.evidence.after == pytest.approx(0.05)
    assert proposal.run == 16


def test_no_new_baseline_is_proposed_where_months_come_and_go():
    assert propose_baseline(series([480] * 40, [12, 11, 13, 12] * 10), locked=LOCKED) is None


def test_a_short_excursion_is_no_new_baseline():
    assert propose_baseline(SHIFTED[:28], locked=LOCKED) is None


def test_phases_are_drawn_with_a_break_and_said():
    later = LockedBaseline(first="2026-01", last="2026-12", by="A. Educator", on=date(2027, 1, 9), why="new drapes")
    answer = build_phases_answer(SHIFTED, phases=(LOCKED, later), policy=SignalPolicy(min_points=12))
    assert "December 2026" in answer.sentence
    rows = [row["phase"] for row in answer.picture["data"]["values"]]
    assert set(rows) == {1, 2}
    assert "A. Educator" in str(answer.table)


def test_without_a_locked_baseline_the_answer_says_so():
    answer = build_phases_answer(SHIFTED, phases=())
    assert "no baseline" in answer.sentence.casefold()


def test_a_baseline_inside_a_change_is_said():
    inside = LockedBaseline(first="2025-07", last="2026-06", by="B", on=date(2026, 7, 1), why="the year")
    answer = build_phases_answer(SHIFTED, phases=(inside,), policy=SignalPolicy(min_points=12))
    assert any("changed inside" in caution for caution in answer.cautions)


def known(counts, day=date(2026, 1, 5)):
    return [Known(counts=counts[: n + 1], by="batch 1", on=day) for n in range(len(counts))]


def test_the_first_month_that_would_have_signalled_is_named():
    # baseline of 24 months at 2.5 %; the first month above the limit is 24 of 480 (own count: the limit is 22)
    counts = series([480] * 30, [12, 11, 13] * 8 + [20, 21, 24, 25, 24, 26])
    answer = build_noticed_answer(known(counts))
    assert answer.verdict is Verdict.SIGNAL
    assert "March 2026" in answer.sentence
    assert "batch 1" in answer.sentence


def test_restated_data_are_said_beside_what_was_known_then():
    then = series([480] * 30, [12, 11, 13] * 8 + [20, 21, 14, 25, 24, 26])
    now = series([480] * 30, [12, 11, 13] * 8 + [20, 21, 24, 25, 24, 26])
    answer = build_noticed_answer(known(then), restated=now)
    assert "April 2026" in answer.sentence
    assert "March 2026" in answer.sentence


def test_no_month_that_should_have_been_noticed_is_said():
    answer = build_noticed_answer(known(series([480] * 30, [12, 11, 13] * 10)))
    assert answer.verdict is Verdict.WITHIN_VARIATION


def test_too_short_a_past_cannot_have_been_noticed():
    assert build_noticed_answer(known(series([480] * 4, [12] * 4))).verdict is Verdict.TOO_FEW
