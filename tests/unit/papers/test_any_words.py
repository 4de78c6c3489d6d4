"""Whatever a unit is called and whatever a sentence says, a page is one page or a sentence says why not."""

from __future__ import annotations

import io
from concurrent.futures import ThreadPoolExecutor

from hypothesis import given, settings
from hypothesis import strategies as st
from paper_fixtures import march, unit_page
from pypdf import PdfReader

from cubital.domain.answer import Verdict
from cubital.domain.errors import RequestProblem
from cubital.papers.unit_page import print_unit_page

ANY_WORDS = st.text(max_size=60) | st.text(alphabet="W ñ日😀é\u0301\u0489\u202e#*_$<>@\\[]{}`'\"/-=~", max_size=200)


def refusal(sentence):
    return march(verdict=Verdict.REFUSED, sentence=sentence, picture={}, figures=(), table=None)


@settings(max_examples=60)
@given(place=ANY_WORDS, sentence=ANY_WORDS)
def test_any_words_make_one_page_or_a_refusal(place, sentence):
    try:
        content = print_unit_page(unit_page(place=place, answer=refusal(sentence)))
    except RequestProblem:
        return
    assert len(PdfReader(io.BytesIO(content)).pages) == 1


def test_pages_are_set_side_by_side_in_threads():
    pages = [unit_page(place=f"Ward {n % 3}") for n in range(9)]
    with ThreadPoolExecutor(4) as pool:
        made = list(pool.map(print_unit_page, pages))
    assert made[0] == made[3] == made[6]
    assert len(set(made)) == 3
