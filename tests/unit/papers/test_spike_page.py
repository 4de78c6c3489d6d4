"""The spike sheet on paper: one page on both papers, steps in order, boxes for the decision."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.answers.spike import Found, SpikeSheet, SpikeStep
from cubital.domain.errors import RequestProblem
from cubital.papers.spike_page import print_spike_page
from cubital.papers.typeset import PaperSize

TITLES = ("1 Data", "2 Mix", "3 Place and time", "4 Supplies", "5 People, last")


def sheet(lines=("A line of words.",)):
    return SpikeSheet(
        place="Marrowby General, Emergency", month="2026-03", sentence="March (34 of 498, 6.8 %) is above.",
        steps=tuple(
            SpikeStep(key=title, title=title, found=found, lines=tuple(lines))
            for title, found in zip(TITLES, [Found.LOOK, *[Found.NOTHING] * 3, Found.NOT_CHECKED], strict=True)
        ),
        proposal="Settle the data first.",
    )  # fmt: skip


@pytest.mark.parametrize(("paper", "size"), [(PaperSize.A4, (210, 297)), (PaperSize.LETTER, (216, 279))])
def test_one_page_with_the_steps_in_their_order(read, paper, size):
    page = read(print_spike_page(sheet(), made_on=date(2026, 4, 2), receipt="batch 41", paper=paper))
    assert (page.pages, tuple(round(mm) for mm in page.size_mm)) == (1, size)
    places = [page.words.index(title) for title in TITLES]
    assert places == sorted(places)
    for words in ("cause found", "none found", "not yet", "batch 41", "Working sheet with small counts"):
        assert words in page.words
    assert page.tagged


def test_many_lines_still_fit_one_page(read):
    long = ["A line that is long enough to run over the width of the page, as a unit with its doubt may be." * 2] * 3
    assert read(print_spike_page(sheet(long), made_on=date(2026, 4, 2))).pages == 1


def test_words_beyond_any_page_are_refused():
    with pytest.raises(RequestProblem, match="too long"):
        print_spike_page(sheet(["word " * 800]), made_on=date(2026, 4, 2))
