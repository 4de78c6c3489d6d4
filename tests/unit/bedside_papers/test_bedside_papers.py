"""Papers for wall, trolley and badge: one page, words of the policy, true sizes measured in the PDF itself.

Lengths are read from the page's drawing commands with pypdf, a general-purpose PDF library; a point is 1/72 inch.
"""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from cubital.bedside.fill import level_mm
from cubital.bedside.label import Stock
from cubital.bedside.label_answer import LabelRequest
from cubital.bedside.policy_file import example_policy
from cubital.domain.errors import PolicyProblem
from cubital.domain.words import choose_language
from cubital.papers.bedside_sheets import print_badge, print_short_draw, print_stop_line, print_volume_chart
from cubital.papers.label_sheet import label_picture, print_label_sheet
from cubital.papers.leaflet import leaflet_parts, print_leaflet
from cubital.papers.typeset import PaperSize

DAY = date(2026, 3, 10)
MM = 72 / 25.4
POLICY = replace(
    example_policy(), approved_by="I. Quay, invented", approved_on=date(2026, 1, 5), review_by=date(2027, 1, 5)
)
REQUEST = LabelRequest(stock=Stock(long_mm=50, short_mm=25), accession="5001004711")
PAPERS = {
    "volumes": print_volume_chart,
    "short draw": print_short_draw,
    "stop line": lambda p, **k: print_stop_line(p, "adult_aerobic", **k),
    "badge": print_badge,
    "leaflet": print_leaflet,
    "label": lambda p, **k: print_label_sheet(p, "adult_aerobic", REQUEST, **k),
}
SIZES_MM = {PaperSize.A4: (210, 297), PaperSize.LETTER: (215.9, 279.4)}


def points(matrix, x, y):
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def segments(page):
    """Every straight stroke and rectangle of the page as its bounding box in mm (width, height)."""
    found = []
    _walk(page, page.get_contents(), (1, 0, 0, 1, 0, 0), page["/Resources"], found)
    return found


def _walk(page, contents, matrix, resources, found):  # noqa: C901 one branch for each drawing command
    stack, path = [], []
    for operands, operator in ContentStream(contents, page.pdf).operations:
        numbers = [float(o) for o in operands if isinstance(o, (int, float))] if operands else []
        if operator == b"q":
            stack.append(matrix)
        elif operator == b"Q":
            matrix = stack.pop()
        elif operator == b"cm":
            matrix = _concatenate(numbers, matrix)
        elif operator in (b"m", b"l"):
            if operator == b"m":
                path = []
            path.append(points(matrix, *numbers))
        elif operator == b"re":
            x, y, w, h = numbers
            path = [points(matrix, x, y), points(matrix, x + w, y + h)]
        elif operator == b"Do":
            form = resources["/XObject"][operands[0]].get_object()
            if form["/Subtype"] == "/Form":
                inner = [float(n) for n in form.get("/Matrix", [1, 0, 0, 1, 0, 0])]
                _walk(page, form, _concatenate(inner, matrix), form.get("/Resources", resources), found)
        elif operator in (b"S", b"s", b"f", b"f*", b"B", b"b", b"B*", b"b*") and len(path) > 1:
            xs, ys = [p[0] for p in path], [p[1] for p in path]
            found.append(((max(xs) - min(xs)) / MM, (max(ys) - min(ys)) / MM, min(xs) / MM, min(ys) / MM))
            path = []


def _concatenate(new, old):
    a, b, c, d, e, f = new
    g, h, i, j, k, m = old
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m)


def read(content):
    return PdfReader(io.BytesIO(content))


@pytest.mark.parametrize("paper", list(PaperSize))
@pytest.mark.parametrize("name", PAPERS)
def test_each_paper_is_one_tagged_page_of_its_size(name, paper):
    pdf = read(PAPERS[name](POLICY, today=DAY, paper=paper))
    box = pdf.pages[0].mediabox
    assert len(pdf.pages) == 1
    assert (float(box.width) / MM, float(box.height) / MM) == pytest.approx(SIZES_MM[paper], abs=0.1)
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]


@pytest.mark.parametrize("name", PAPERS)
def test_each_paper_carries_deference_and_the_example_mark(name):
    words = " ".join(read(PAPERS[name](POLICY, today=DAY)).pages[0].extract_text().split())
    assert "Follow local policy and your scope of practice" in words
    assert "EXAMPLE of an invented hospital" in words


@pytest.mark.parametrize("name", PAPERS)
def test_nothing_is_printed_from_a_policy_that_may_not_speak(name):
    with pytest.raises(PolicyProblem, match="No number"):
        PAPERS[name](example_policy(), today=DAY)
    with pytest.raises(PolicyProblem, match="No number"):
        PAPERS[name](POLICY, today=POLICY.review_by + timedelta(days=1))


@pytest.mark.parametrize("paper", list(PaperSize))
def test_ruler_label_and_circumference_are_true_within_a_tenth_of_a_millimetre(paper):
    boxes = segments(read(print_label_sheet(POLICY, "adult_aerobic", REQUEST, today=DAY, paper=paper)).pages[0])
    ticks = sorted(
        {round(x, 3) for width, height, x, _y in boxes if width < 0.01 and height == pytest.approx(5, abs=0.01)}
    )
    assert ticks[-1] - ticks[0] == pytest.approx(100, abs=0.1)
    assert any((w, h) == pytest.approx((25, 50), abs=0.1) for w, h, *_ in boxes), "the label at 25 × 50 mm"
    assert any((w, h) == pytest.approx((113.097, 55), abs=0.1) for w, h, *_ in boxes), "the panel at 113.1 × 55 mm"


def test_the_stop_lines_stand_at_their_true_heights():
    boxes = segments(read(print_stop_line(POLICY, "adult_aerobic", today=DAY)).pages[0])
    strip = sorted({round(y, 3) for w, h, _x, y in boxes if h < 0.01 and w == pytest.approx(18, abs=0.01)})
    zero_five_ten = strip[-1] - strip[0]
    assert zero_five_ten == pytest.approx(level_mm(10, bore_mm=34), abs=0.1)


def test_the_picture_is_in_millimetres():
    svg = label_picture(POLICY, "adult_aerobic", REQUEST, today=DAY)
    assert re.search(r'width="117\.097mm" height="59\.000mm"', svg)


def syllables(word: str) -> int:
    """A usual count for English: groups of vowels, without a silent e."""
    groups = len(re.findall(r"[aeiouy]+", word))
    return max(1, groups - (word.endswith("e") and not word.endswith("le") and groups > 1))


def test_the_leaflet_reads_easily_in_english():
    # Flesch–Kincaid grade level (Kincaid et al., 1975): 0.39·words/sentence + 11.8·syllables/word − 15.59.
    text = " ".join(f"{question} {answer}" for question, answer in leaflet_parts(POLICY))
    words = re.findall(r"[a-z]+", text.casefold())
    sentences = len(re.findall(r"[.?!]", text))
    grade = 0.39 * len(words) / sentences + 11.8 * sum(map(syllables, words)) / len(words) - 15.59
    assert grade < 5


def test_the_leaflet_speaks_spanish_with_the_same_volumes():
    choose_language("es")
    try:
        spanish = leaflet_parts(POLICY)
    finally:
        choose_language("en")
    assert "20 ml" in spanish[2][1]
    assert spanish[0][0] != leaflet_parts(POLICY)[0][0]


def test_the_wall_chart_names_the_bottle_that_the_plan_would_choose():
    # Totals of 1 to 2 mL do not reach the standard bottle's 3 mL, so the chart must not send them there.
    words = " ".join(read(print_volume_chart(POLICY, today=DAY)).pages[0].extract_text().split())
    first, second = words.index("0.4 to below 1.1"), words.index("1.1 to below 2.1")
    assert "one paediatric bottle" in words[first:second]
    assert "standard aerobic bottle" not in words[first:second]


def test_the_wall_chart_shows_the_single_draw_limit_of_each_band():
    # 0.4 kg × 80 mL/kg × 2.5 % = 0.8 mL; 1.1 kg gives 2.2 mL.
    words = " ".join(read(print_volume_chart(POLICY, today=DAY)).pages[0].extract_text().split())
    assert "0.8 to 2.2" in words
