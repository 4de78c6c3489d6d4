"""The diary on charts over months: letters that do not touch, words under them, and what is not drawn is said."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.answers.charts.answering import build_chart_answer
from cubital.answers.charts.gap_answering import build_gap_answer
from cubital.answers.charts.gaps import gaps_of_counts
from cubital.answers.charts.kinds import ChartKind
from cubital.answers.counts import MonthCount
from cubital.answers.diary_marks import MOST_PARTS, mark_answer
from cubital.answers.month_text import next_month
from cubital.answers.signal import build_signal_answer
from cubital.answers.since_when import build_since_answer
from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.papers.pictures import render_svg

M, T = "Marrowby General", "Thistlecombe Community"


def months(count, first="2024-04"):
    found = [first]
    while len(found) < count:
        found.append(next_month(found[-1]))
    return found


COUNTS = [MonthCount(month=month, sets=480, contaminated=12 + place % 3) for place, month in enumerate(months(24))]


def entry(day, *, facility=M, unit="emergency", words="Kit in use", number=1):
    on = date.fromisoformat(day)
    place = ", ".join(part for part in (facility, unit) if part)
    return DiaryEntry(
        kind=ChangeKind.KIT, on=on, words=words, facility=facility, unit=unit, number=number, place=place
    )  # fmt: skip


def at_emergency(answer, *entries):
    return mark_answer(answer, entries, facility=M, unit="emergency")


def letters_drawn(picture):
    """Every letter with its month and whether it stands on the upper row."""
    return {
        row["letter"]: (row["month"], row["high"])
        for layer in picture["layer"]
        if layer.get("encoding", {}).get("text", {}).get("field") == "letter"
        for row in layer["data"]["values"]
    }


@pytest.mark.parametrize("kind", [kind for kind in ChartKind if kind not in (ChartKind.GAPS, ChartKind.TIMES)])
def test_every_monthly_chart_carries_the_letter_and_can_be_drawn(kind):
    answer = at_emergency(build_chart_answer(COUNTS, kind=kind), entry("2025-06-02"))
    assert letters_drawn(answer.picture) == {"A": ("2025-06", False)}
    assert [(mark.letter, mark.month, mark.words) for mark in answer.marks] == [
        ("A", "2025-06", "2 June 2025 (Marrowby General, emergency): Kit in use")
    ]
    row = next(row for row in answer.table.rows if row[0] == "2025-06")
    assert (answer.table.columns[-1], row[-1]) == ("Diary", "A")
    assert ">A</text>" in render_svg(answer.picture, width=400)


def test_changes_of_one_month_share_a_letter_and_neighbours_stand_on_two_heights():
    answer = at_emergency(
        build_signal_answer(COUNTS), entry("2025-06-02"), entry("2025-06-20", words="Rota"), entry("2025-07-01"),
        entry("2025-08-01"), entry("2025-10-01"),
    )  # fmt: skip
    assert letters_drawn(answer.picture) == {
        "A": ("2025-06", False), "B": ("2025-07", True), "C": ("2025-08", False), "D": ("2025-10", False),
    }  # fmt: skip
    assert [mark.letter for mark in answer.marks] == ["A", "A", "B", "C", "D"]
    assert [mark.words for mark in answer.marks][1].endswith("Rota")


def test_an_answer_without_a_picture_still_lists_and_tabulates_them():
    plain = build_since_answer(COUNTS)
    answer = at_emergency(plain, entry("2025-06-02"))
    assert (answer.picture, answer.marks[0].letter) == ({}, "A")
    assert next(row for row in answer.table.rows if row[0] == "2025-06")[-1] == "A"


def test_what_did_not_reach_the_place_or_the_months_changes_nothing():
    plain = build_signal_answer(COUNTS)
    assert at_emergency(plain, entry("2025-06-02", unit="icu"), entry("2025-06-02", facility=T)) == plain
    assert at_emergency(plain, entry("2024-03-31"), entry("2026-04-01")) == plain
    assert at_emergency(plain) == plain
    gaps = build_gap_answer(gaps_of_counts(COUNTS))
    assert at_emergency(gaps, entry("2025-06-02")) == gaps


def test_a_hospital_shows_changes_of_its_units_while_they_are_few():
    plain = build_signal_answer(COUNTS)
    everywhere = entry("2025-03-01", facility=None, unit=None)
    units = [entry("2025-06-02", unit=f"unit {place}", number=place) for place in range(MOST_PARTS)]
    few = mark_answer(plain, [everywhere, *units], facility=M, unit=None)
    assert len(few.marks) == MOST_PARTS + 1
    assert set(letters_drawn(few.picture)) == {"A", "B"}
    many = mark_answer(plain, [everywhere, *units, entry("2025-06-02", unit="one more")], facility=M, unit=None)
    assert [mark.letter for mark in many.marks] == ["A"]
    assert many.cautions[-1] == (
        f"{MOST_PARTS + 1} more changes of the diary fall into these months and are not drawn; the diary lists them."
    )
    network = mark_answer(plain, [entry("2025-06-02")], facility=None, unit=None)
    assert len(network.marks) == 1
    assert mark_answer(plain, [entry("2025-06-02", facility=T)], facility=M, unit=None) == plain


def test_of_more_months_than_letters_the_latest_have_one_and_the_rest_is_counted():
    long = [MonthCount(month=month, sets=480, contaminated=12) for month in months(30)]
    entries = [entry(f"{month}-05", number=place) for place, month in enumerate(months(30), start=1)]
    answer = mark_answer(build_signal_answer(long), entries, facility=M, unit="emergency")
    drawn = letters_drawn(answer.picture)
    assert (len(drawn), drawn["Z"][0], drawn["A"][0]) == (26, months(30)[-1], months(30)[4])
    assert "4 more changes" in answer.cautions[-1]


def test_a_change_in_a_month_without_a_row_stands_over_the_next_one():
    gap = [count for count in COUNTS if count.month != "2025-06"]
    answer = at_emergency(build_signal_answer(gap), entry("2025-06-02"))
    assert letters_drawn(answer.picture) == {"A": ("2025-07", False)}
