"""Who attended and who did not, everybody compared with themselves.

The published shares by kind of training (2.8, 5.5, 7.9 and 20.2 %, facts 10.6) were counted at one time only, and
their own authors call them selection: such a table must be refused. The rest is invented, the arithmetic beside it.
"""

from __future__ import annotations

import math

import pytest

from cubital.answers.attendance import build_attendance_answer
from cubital.answers.attendance_reading import AttendanceState, read_attendance
from cubital.answers.attendance_table import parse_attendance
from cubital.answers.did_wording import CAUSAL_WORDS
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem

HEAD = ["person", "attended", "period", "weeks", "sets", "contaminated"]


def table(*rows, head=HEAD):
    return parse_attendance([head, *(row.split(",") for row in rows)], where="t")


def answer(*rows, head=HEAD):
    return build_attendance_answer(read_attendance(table(*rows, head=head)))


def groups(attended, others, weeks=26):
    names = (("yes", attended), ("no", others))
    return [
        f"{who},{when},{weeks},{n},{x}"
        for who, pairs in names
        for when, (x, n) in zip(("before", "after"), pairs, strict=True)
    ]


GROUP_HEAD = HEAD[1:]


def test_the_two_changes_are_divided():
    """Odds ratios by hand: (20·960)/(40·980) = 0.4898 and (38·960)/(40·962) = 0.9480; their ratio is 0.5167."""
    said = answer(*groups([(40, 1000), (20, 1000)], [(40, 1000), (38, 1000)]), head=GROUP_HEAD)
    assert said.figure("attended").value == pytest.approx(0.4898, abs=1e-4)
    assert said.figure("more").value == pytest.approx(0.5167, abs=1e-4)
    error = math.sqrt(sum(1 / cell for cell in (40, 960, 20, 980, 40, 960, 38, 962)))
    assert said.figure("more").high == pytest.approx(0.5167 * math.exp(1.959964 * error), abs=2e-3)
    assert said.verdict is Verdict.WITHIN_VARIATION


def test_more_than_chance_is_still_only_an_estimate():
    said = answer(*groups([(400, 10000), (200, 10000)], [(400, 10000), (390, 10000)]), head=GROUP_HEAD)
    assert said.verdict is Verdict.ESTIMATE
    assert "beyond chance" in said.sentence
    assert "keen people may have changed anyway" in said.sentence
    assert not any(word in said.sentence.casefold() for word in CAUSAL_WORDS)


@pytest.mark.parametrize("weeks", [4, 7])
def test_four_weeks_each_side_are_refused(weeks):
    said = answer(*groups([(400, 10000), (200, 10000)], [(400, 10000), (390, 10000)], weeks=weeks), head=GROUP_HEAD)
    assert said.verdict is Verdict.TOO_FEW
    assert f"{weeks} weeks before and {weeks} after are too short" in said.sentence
    assert said.figures == ()


def test_without_weeks_nothing_is_said():
    rows = [row.replace(",26,", ",,") for row in groups([(40, 900), (20, 900)], [(40, 900), (38, 900)])]
    said = answer(*rows, head=GROUP_HEAD)
    assert said.verdict is Verdict.REFUSED
    assert "add a column weeks" in said.sentence


def test_counts_of_one_time_cannot_tell_keen_from_trained():
    """Shares as published; the denominators are ours, near theirs (1,582 sets in all)."""
    rows = ["yes,after,26,500,14", "yes,after,26,400,22", "yes,after,26,300,24", "no,after,26,382,77"]
    said = answer(*rows, head=GROUP_HEAD)
    assert said.verdict is Verdict.NOT_IDENTIFIABLE
    assert "did so all along" in said.sentence


def test_where_everybody_attended_nobody_is_left_to_compare():
    assert read_attendance(table("A,yes,before,26,500,40", "A,yes,after,26,500,20")).state is AttendanceState.ONE_GROUP


def test_people_are_compared_with_themselves_and_never_listed():
    rows = []
    for at in range(12):
        who, attended = f"N{at}", "yes" if at % 2 else "no"
        rows += [f"{who},{attended},before,26,{40 + at},{2 + at % 3}", f"{who},{attended},after,26,{44},{1 + at % 2}"]
    rows.append("N99,yes,after,26,50,9")
    said = answer(*rows)
    assert any("left out" in words for words in said.cautions)
    assert "N1" not in str(said.table.rows) + said.sentence
    assert [row[0] for row in said.table.rows] == ["attended", "attended", "did not attend", "did not attend"]


def test_units_by_how_many_attended():
    head = ["unit", *HEAD[1:]]
    rows = []
    for at, x in enumerate((161, 138, 121, 102, 79)):  # the worked example of the trend, in stats/dose.py
        rows += [f"U{at},{25 * at} %,before,26,4000,160", f"U{at},{25 * at} %,after,26,4000,{x}"]
    said = answer(*rows, head=head)
    assert said.figure("at_most").value == pytest.approx(0.51, abs=0.01)
    assert said.verdict is Verdict.ESTIMATE
    assert "those with ten points more fell more" in said.sentence
    assert [row[1] for row in said.table.rows][::2] == ["0 %", "25 %", "50 %", "75 %", "100 %"]


def test_the_groups_differed_before_already():
    said = answer(*groups([(20, 1000), (15, 1000)], [(80, 1000), (70, 1000)]), head=GROUP_HEAD)
    alike = next(check for check in said.checks if check.key == "alike")
    assert alike.passed is False
    assert "they were different people" in alike.words


@pytest.mark.parametrize(("row", "words"), [
    ("A,maybe,before,26,10,1", "got 'maybe', expected yes, no, or a share"),
    ("A,120 %,before,26,10,1", "got '120 %'"),
    ("A,yes,before,26,10,11", "11 contaminated of 10 sets is more than all"),
    ("A,yes,before,26,-10,1", "got '-10'"),
    ("A,yes,lately,26,10,1", "expected before or after"),
    ("A,yes,before,0,10,1", "0 weeks cannot be"),
    ("A,no,after,26,10,1", "attended in one row and in another not"),
])  # fmt: skip
def test_rows_that_cannot_be_are_sent_back(row, words):
    with pytest.raises(FileProblem, match=words.replace("(", r"\(")):
        table("A,yes,before,26,10,1", row)


def test_enough_events_but_one_empty_cell_is_not_called_too_few():
    said = answer(*groups([(12, 300), (0, 300)], [(12, 300), (11, 300)]), head=GROUP_HEAD)
    assert said.verdict is Verdict.TOO_FEW
    assert "no bound yet" in said.sentence
    assert "10 on either side" not in said.sentence


def test_two_units_are_too_few_for_a_trend_and_that_is_the_reason_given():
    rows = [f"{name},{share},{when},26,3000,{count}" for name, share, counts in (("A", "0.1", (120, 118)),
            ("B", "0.5", (100, 90))) for when, count in zip(("before", "after"), counts, strict=True)]  # fmt: skip
    said = answer(*rows, head=["unit", *GROUP_HEAD])
    assert said.verdict is Verdict.TOO_FEW
    assert "needs three units" in said.sentence
