"""The one-pager of a unit. Sheet sizes are those of ISO 216 (A4) and ANSI/ASME Y14.1 (Letter, 8.5 × 11 inches)."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from paper_fixtures import SENTENCE, march, unit_page

from cubital.domain.answer import Check, Figure, Verdict
from cubital.domain.errors import RequestProblem
from cubital.domain.words import choose_language
from cubital.papers.typeset import PaperSize
from cubital.papers.unit_page import TWO_METRES_POINTS, beside, print_unit_page, verdict_words

SIZES_MM = {PaperSize.A4: (210.0, 297.0), PaperSize.LETTER: (215.9, 279.4)}
LONG_NAME = "Marrowby General Hospital, " + "Combined Short Stay, Observation and Overflow Unit North " * 3
MANY_CAUTIONS = tuple(
    f"Caution {n}: two things changed together in the same week, and nobody wrote down which." for n in range(14)
)


@pytest.mark.parametrize("paper", PaperSize)
def test_it_is_one_page_of_the_size_asked_for(read, paper):
    page = read(print_unit_page(unit_page(), paper=paper))
    assert page.pages == 1
    assert page.size_mm == SIZES_MM[paper]


@pytest.mark.parametrize("paper", PaperSize)
def test_the_sentence_is_whole_and_large_enough_for_two_metres(read, paper):
    page = read(print_unit_page(unit_page(), paper=paper))
    assert SENTENCE in page.words
    assert page.largest_points >= TWO_METRES_POINTS


def test_every_denominator_stands_beside_its_share(read):
    words = read(print_unit_page(unit_page())).words
    for counts in ("19 of 498", "42 of 249", "458 of 498", "45 of 498", "314 of 498"):
        assert counts in words


def test_a_figure_without_a_value_says_why(read):
    assert "not measurable: no fill was recorded" in read(print_unit_page(unit_page())).words


def test_it_is_tagged_titled_and_in_a_language(read):
    page = read(print_unit_page(unit_page()))
    assert page.tagged
    assert page.title == "Marrowby General · Emergency – March 2026"
    assert page.language == "en"


def test_it_claims_the_accessible_standard():
    # ISO 14289-1 asks for this entry in the metadata of every PDF/UA-1 file.
    assert b"<pdfuaid:part>1</pdfuaid:part>" in print_unit_page(unit_page())


def test_the_only_type_is_ours_and_embedded(read):
    fonts = read(print_unit_page(unit_page())).fonts
    assert fonts
    assert all(name.startswith("AtkinsonHyperlegibleNext") and embedded for name, embedded in fonts.items())


def test_the_day_it_was_made_is_the_day_given(read):
    page = read(print_unit_page(unit_page()))
    assert page.made == datetime(2026, 4, 2, tzinfo=UTC)
    assert "Printed 2 April 2026" in page.words


def test_the_same_month_gives_the_same_bytes():
    assert print_unit_page(unit_page()) == print_unit_page(unit_page())


@pytest.mark.parametrize("paper", PaperSize)
@pytest.mark.parametrize(
    ("sentence", "place", "cautions"),
    [
        (SENTENCE * 3, LONG_NAME, MANY_CAUTIONS),
        (SENTENCE * 4, "Ward 5", ()),
        ("Too few.", LONG_NAME * 2, MANY_CAUTIONS),
    ],
)
def test_long_words_shrink_and_never_spill_or_lose_the_sentence(read, sentence, place, cautions, paper):
    page = read(
        print_unit_page(unit_page(answer=march(sentence=sentence, cautions=cautions), place=place), paper=paper)
    )
    assert page.pages == 1
    assert sentence in page.words


def test_cautions_left_out_for_room_are_counted(read):
    words = read(print_unit_page(unit_page(answer=march(cautions=MANY_CAUTIONS)))).words
    shown = words.count("two things changed together")
    assert 0 < shown < len(MANY_CAUTIONS)
    assert f"{len(MANY_CAUTIONS) - shown} further cautions" in words


def test_words_beyond_any_layout_end_in_a_sentence():
    with pytest.raises(RequestProblem, match="too long for one sheet"):
        print_unit_page(unit_page(answer=march(sentence=SENTENCE * 60)))


def test_the_first_check_is_said_and_a_failed_one_leads_the_cautions(read):
    checks = (
        Check(key="a", passed=True, words="No set stands twice."),
        Check(key="b", passed=False, words="Two months have no sets."),
        Check(key="c", passed=True, words="Every result was read."),
        Check(key="preliminary", passed=False, words="Said twice."),
        Check(key="volume", passed=None, words="Too few months before."),
    )
    words = read(print_unit_page(unit_page(answer=march(checks=checks)))).words
    assert "Checked first: No set stands twice. 1 further check of the data passed." in words
    assert "Not checked: Too few months before." in words
    assert "Keep in mind – Two months have no sets." in words
    assert "Said twice." not in words


def test_a_refusal_prints_as_a_refusal(read):
    sentence = "Eight months are too few for limits of this unit's own; four more are needed."
    refusal = march(verdict=Verdict.REFUSED, sentence=sentence, figures=(), picture={}, table=None)
    words = read(print_unit_page(unit_page(answer=refusal))).words
    assert sentence in words
    assert verdict_words(Verdict.REFUSED) in words
    assert "Within usual variation" not in words


def test_a_signal_is_a_word_before_anything_else(read):
    words = read(print_unit_page(unit_page(answer=march(verdict=Verdict.SIGNAL)))).words
    assert words.index("Signal") < words.index("March (19")


@pytest.mark.parametrize("verdict", Verdict)
def test_every_verdict_has_its_own_words(verdict):
    others = {verdict_words(other) for other in Verdict if other is not verdict}
    assert verdict_words(verdict)
    assert verdict_words(verdict) not in others


def test_a_name_is_never_markup(read):
    name = '#panic("x") *5 West* _a_ $x$ <y> @z "q" \\ `r` // s'
    assert name in read(print_unit_page(unit_page(place=name))).words


@pytest.mark.parametrize(
    ("name", "printed"), [("Ñandú 日本 Ward 😀", "Ñandú □□ Ward □"), ("Кардиология", "Кардиология")]
)
def test_letters_from_anywhere_are_printed_or_stood_in_for(read, name, printed):
    assert printed in read(print_unit_page(unit_page(place=name))).words


def test_control_characters_vanish_from_names(read):
    assert "5 West" in read(print_unit_page(unit_page(place="5 \x07W\u200bes\x00t"))).words


def test_the_language_of_the_page_is_the_language_of_its_words(read):
    choose_language("es")
    try:
        page = read(print_unit_page(unit_page()))
    finally:
        choose_language("en")
    assert page.language == "es"
    assert "3,8 %" in page.words


def test_an_answer_of_unknown_figures_shows_its_first_nine():
    figures = tuple(Figure(key=f"k{n}", label=str(n), value=n, unit="sets") for n in range(12))
    assert beside(march(figures=figures)) == figures[:9]
