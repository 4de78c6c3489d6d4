"""The wall page carries the letters of its chart in words: the latest, and how many more there are."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cubital.answers.counts import MonthCount
from cubital.answers.diary_marks import mark_answer
from cubital.answers.signal import build_signal_answer
from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.papers.highlights import Highlights
from cubital.papers.unit_page import LAYOUTS, UnitPage, _page_words, print_unit_page

COUNTS = [MonthCount(month=f"2025-{month:02d}", sets=480, contaminated=12) for month in range(1, 13)]


def page(*days):
    entries = [
        DiaryEntry(kind=ChangeKind.KIT, on=day, words=f"Change of {day}", place="everywhere", number=place)
        for place, day in enumerate(days, start=1)
    ]
    answer = mark_answer(build_signal_answer(COUNTS), entries, facility="Marrowby General", unit="ed")
    return UnitPage(
        answer=answer, place="Marrowby General, ED", month="2025-12", counted="", definition="",
        highlights=Highlights(strength="", focus="", by_hand=False), made_on=date(2026, 1, 5),
    )  # fmt: skip


def test_the_words_stand_under_the_picture_and_in_its_text_alternative():
    words = _page_words(page(date(2025, 3, 4), date(2025, 6, 2)), LAYOUTS[0], has_picture=True)
    assert words["marks"] == [
        ["A", "4 March 2025 (everywhere): Change of 2025-03-04"],
        ["B", "2 June 2025 (everywhere): Change of 2025-06-02"],
    ]
    assert "Letters over the months: A 4 March 2025" in words["picture_words"]


def test_only_the_latest_are_spelled_out_and_a_page_without_a_picture_has_none():
    many = page(*(date(2025, month, 3) for month in range(1, 8)))
    rows = _page_words(many, LAYOUTS[0], has_picture=True)["marks"]
    assert [row[0] for row in rows] == ["D", "E", "F", "G", ""]
    assert rows[-1][1] == "3 earlier changes stand in the diary."
    assert _page_words(many, LAYOUTS[0], has_picture=False)["marks"] == []


def test_a_page_with_many_changes_still_fits_one_sheet():
    full = page(*(date(2025, month, 3) for month in range(1, 13)))
    assert print_unit_page(full).startswith(b"%PDF")
    assert print_unit_page(replace(full, answer=replace(full.answer, marks=()))).startswith(b"%PDF")
