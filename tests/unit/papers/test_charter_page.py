"""The charter on one page. Sheet sizes: ISO 216 (A4) and ANSI/ASME Y14.1 (Letter)."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pytest
from pypdf import PdfReader

from cubital.domain.charter import Charter, Rule, Signature, Window
from cubital.domain.errors import RequestProblem
from cubital.papers.charter_page import BenchLine, CharterPage, print_charter_page
from cubital.papers.charter_words import charter_choices, counted_words, definition_words
from cubital.papers.typeset import PaperSize

CHARTER = Charter(key="marrowby", name="One of several, over all sets", version=2, source="the network's procedure 12")
# The four definitions of one month of 1,000 sets, worked out by hand: 16/1000, 16/820, 25/1000, 35/1000.
BENCH = tuple(
    BenchLine(name=name, numerator=count, denominator=total, rate=count / total, is_this=name == "A")
    for name, count, total in (("A", 16, 1000), ("B", 16, 820), ("C", 25, 1000), ("D", 35, 1000))
)
SIGNED = (
    Signature(name="A. Tamber", role="Practice educator", signed_on=date(2026, 4, 1)),
    Signature(name="B. Quill", role="Lead microbiologist", signed_on=date(2026, 4, 2)),
)


def charter_page(**changes):
    values = {"charter": CHARTER, "list_title": "Short list", "made_on": date(2026, 4, 2), "bench": BENCH,
              "bench_scope": "November 2025"}  # fmt: skip
    return CharterPage(**(values | changes))


@pytest.mark.parametrize(("paper", "size"), [(PaperSize.A4, (210.0, 297.0)), (PaperSize.LETTER, (215.9, 279.4))])
def test_it_is_one_page_of_the_size_asked_for(read, paper, size):
    page = read(print_charter_page(charter_page(), paper=paper))
    assert (page.pages, page.size_mm) == (1, size)
    assert page.tagged


def test_every_choice_stands_on_it_in_plain_words(read):
    words = read(print_charter_page(charter_page())).words
    for choice in charter_choices(CHARTER, list_title="Short list"):
        assert choice.topic in words
        assert choice.words in words


def test_version_fingerprint_and_source_stand_at_its_foot(read):
    words = read(print_charter_page(charter_page())).words
    assert f"Version 2, fingerprint {CHARTER.fingerprint()}" in words
    assert "Source: the network's procedure 12" in words


def test_the_bench_shows_counts_before_shares_and_marks_this_charter(read):
    words = read(print_charter_page(charter_page())).words
    assert "A (this charter) 16 of 1,000 1.6 %" in words
    assert "B 16 of 820 2.0 %" in words
    assert "D 35 of 1,000 3.5 %" in words


def test_without_numbers_there_is_no_bench(read):
    assert "under each definition" not in read(print_charter_page(charter_page(bench=()))).words


def test_unsigned_it_is_a_draft_with_room_to_sign(read):
    words = read(print_charter_page(charter_page())).words
    assert "Draft, not signed" in words
    assert "Agreed by Name Role Date" in words


def _heights(pdf):
    """Where the first words of each line stand, in points from the foot of the page, as pypdf sees them."""
    found = {}

    def note(text, cm, tm, _font, _size):
        if text.strip():
            found.setdefault(text.strip(), cm[3] * tm[5] + cm[5])

    page = PdfReader(io.BytesIO(pdf)).pages[0]
    page.extract_text(visitor_text=note)
    return found


def _height(found, start):
    return next(height for words, height in found.items() if words.startswith(start))


@pytest.mark.parametrize("paper", list(PaperSize))
@pytest.mark.parametrize("signatures", [(), SIGNED])
def test_a_full_page_keeps_its_headings_and_lines_apart(paper, signatures):
    bench = (*BENCH, *(replace(BENCH[1], name=f"{name} definition") for name in ("Fifth", "Sixth")))
    found = _heights(print_charter_page(charter_page(bench=bench, signatures=signatures), paper=paper))
    assert _height(found, "Units left out") - _height(found, "The same data") > 22
    if not signatures:  # three empty lines of 8 mm and more, and the gap of 4 mm above the foot
        assert _height(found, "Date") - _height(found, "Version 2") > (3 * 8 + 4) * 72 / 25.4


def test_signed_it_names_who_when_and_in_which_role(read):
    words = read(print_charter_page(charter_page(signatures=SIGNED))).words
    assert "A. Tamber Practice educator 1 April 2026 B. Quill Lead microbiologist 2 April 2026" in words
    assert "Draft" not in words


def test_it_never_diagnoses_and_defers(read):
    words = read(print_charter_page(charter_page())).words
    assert "Class words are for counting, never a diagnosis." in words
    assert "decided by medical microbiology" in words
    assert "follow local policy" in words


@pytest.mark.parametrize("paper", PaperSize)
def test_many_words_shrink_and_this_charter_stays_on_the_bench(read, paper):
    charter = replace(
        CHARTER,
        name="A long name " * 8,
        source="A long source. " * 12,
        excluded_units=tuple(f"outpatients {n}" for n in range(25)),
    )
    bench = tuple(replace(BENCH[1], name=f"Definition number {n} " * 3, is_this=n == 11) for n in range(12))
    page = read(print_charter_page(charter_page(charter=charter, bench=bench), paper=paper))
    assert page.pages == 1
    assert "outpatients 24" in page.words
    assert "(this charter)" in page.words


def test_words_beyond_any_layout_end_in_a_sentence():
    charter = replace(CHARTER, source="word " * 4000)
    with pytest.raises(RequestProblem, match="too long for one sheet"):
        print_charter_page(charter_page(charter=charter))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, "charter 2 (one of several, 24 hours)"),
        ({"rule": Rule.ANY_COMMENSAL, "window": Window.SAME_DAY}, "charter 2 (any usual skin organism, same day)"),
        ({"window": Window.SAME_OR_NEXT_DAY}, "charter 2 (one of several, same or next day)"),
    ],
)
def test_the_charter_is_named_in_half_a_line(changes, words):
    assert counted_words(replace(CHARTER, **changes)) == words


def every_choice():
    for name, field in Charter.__dataclass_fields__.items():
        kind = type(getattr(CHARTER, name))
        if hasattr(kind, "__members__"):
            yield from ((name, choice) for choice in kind if choice is not field.default)


@pytest.mark.parametrize(("name", "choice"), list(every_choice()))
def test_each_setting_changes_the_words(name, choice):
    changed = replace(CHARTER, **{name: choice})
    assert charter_choices(changed) != charter_choices(CHARTER)


def test_the_definition_footnote_names_rule_window_list_and_denominator():
    words = definition_words(CHARTER, list_title="Short list")
    for part in (
        "while another set of the same series lacks it",
        "within 24 hours",
        "List: Short list.",
        "All valid sets.",
    ):
        assert part in words
