"""The business case on paper: two pages that stand alone, inputs behind them, the model called one on every page."""

from __future__ import annotations

import io
from datetime import date

import pytest
from pypdf import PdfReader

from collection_shift import KIT, PARTS, SHARED, SHIFT, table_of
from cubital.answers.worth import build_worth_answer
from cubital.answers.worth_reading import read_worth
from cubital.domain.answer import Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import choose_language
from cubital.papers.business_case import BusinessCase, print_business_case
from cubital.papers.typeset import PaperSize

RECEIPT = "Receipt R-AAAA-BBBB-CCCC: 'cubital again R-AAAA-BBBB-CCCC' computes these figures again."


def _case(*parts):
    reading = read_worth(table_of(*parts), draws=20_000)
    receipt = Receipt(data="9 inputs as given", charter="no charter", policy="", code="0.1.0")
    answer = build_worth_answer(reading, receipt=receipt)
    return BusinessCase(answer=answer, reading=reading, receipt=RECEIPT, made_on=date(2026, 4, 2))


def _pages(content):
    return [" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(content)).pages]


@pytest.mark.parametrize(("paper", "size"), [(PaperSize.A4, (210, 297)), (PaperSize.LETTER, (216, 279))])
@pytest.mark.parametrize("parts", [(SHARED, SHIFT), (PARTS, SHIFT, KIT)])
def test_two_pages_and_the_inputs_behind_them(read, paper, size, parts):
    content = print_business_case(_case(*parts), paper=paper)
    page, texts = read(content), _pages(content)
    assert (len(texts), tuple(round(mm) for mm in page.size_mm)) == (3, size)
    assert page.tagged
    assert page.language == "en"
    assert all(page.fonts.values())
    assert "Business case" in page.title
    assert "What went in" in texts[2]
    assert "What went in" not in texts[0] + texts[1]
    assert RECEIPT in texts[2]


def test_the_first_page_says_it_and_the_second_lets_it_be_decided():
    first, second, third = _pages(print_business_case(_case(SHARED, SHIFT)))
    for words in ("A model, not a measurement", "Of 353 contaminated sets a year", "166,790 USD", "1,457 USD",
                  "loses 86,652 USD a year", "57.5 sets a year", "2.84", "Where it breaks even"):  # fmt: skip
        assert words in first
    for words in ("A pilot with a stop rule", "stop where 69 or more of its 2,310", "−86,652", "What is counted",
                  "Keep in mind", "they are not a saving", "doing nothing", "Decision", "Name and role"):  # fmt: skip
        assert words in second
    for words in ("laboratory count by the charter", "marginal costs of last year; finance", "assumed", "USD 2025",
                  "charge (billed)", "not added, not converted, no default"):  # fmt: skip
        assert words in third


def test_every_page_calls_it_a_model():
    assert all("model, not a measurement" in text for text in _pages(print_business_case(_case(SHARED, SHIFT))))


def test_nothing_on_it_is_told_by_colour():
    from cubital.papers.business_case import _sheet

    drawn = _sheet(_case(SHARED, SHIFT), size=10, bar=30, pages=3, paper=PaperSize.A4).pictures["picture"]
    import re

    for colour in set(re.findall(r"#([0-9a-f]{6})\b", drawn)):
        assert colour[:2] == colour[2:4] == colour[4:], colour


def test_the_same_case_is_the_same_file():
    case = _case(SHARED, SHIFT)
    assert print_business_case(case) == print_business_case(case)


def test_it_speaks_the_readers_language():
    choose_language("es")
    try:
        first = _pages(print_business_case(_case(SHARED, SHIFT)))[0]
    finally:
        choose_language("en")
    assert "Un modelo, no una medición" in first
    assert "breaks even" not in first


def test_words_beyond_any_layout_are_refused():
    long = SHARED.replace("laboratory count by the charter", "source " * 2000)
    with pytest.raises(RequestProblem, match="too long"):
        print_business_case(_case(long, SHIFT))


def test_long_names_get_a_smaller_type_and_stay_whole():
    name = "a dedicated collection team of nurses and phlebotomists for the emergency department"
    texts = _pages(print_business_case(_case(SHARED, SHIFT.replace("the collection shift", name))))
    assert name in texts[0]
    assert len(texts) <= 4
