"""The pack on paper: six pages on A4 and Letter, tagged for a screen reader, grey, refused rather than shortened."""

from __future__ import annotations

import io
import re
from collections import Counter
from dataclasses import replace
from datetime import date
from importlib import resources

import pytest
from pypdf import PdfReader

from cubital.answers.action_log import build_action_log
from cubital.answers.counts import MonthCount
from cubital.answers.drivers import HourLine, UnitLine, build_hours_answer, build_units_answer
from cubital.answers.places_reading import PlacesPolicy
from cubital.answers.quarter import QuarterSetting, build_quarter_answer
from cubital.answers.quarter_reading import read_quarter
from cubital.answers.restated import build_restated_answer
from cubital.answers.signal_reading import SignalPolicy
from cubital.domain.answer import AnswerTable
from cubital.domain.errors import RequestProblem
from cubital.domain.words import choose_language, current_language
from cubital.papers.pack_page import PackContent, build_pack, check_fits, print_pack_page
from cubital.papers.typeset import PaperSize
from cubital.workspace.demo.world import EMERGENCY_CONTAMINATED, EMERGENCY_SETS, months_of_the_world

MONTHS = [
    MonthCount(month=month, sets=sets, contaminated=count)
    for month, sets, count in zip(months_of_the_world(), EMERGENCY_SETS, EMERGENCY_CONTAMINATED, strict=True)
]
POLICY = PlacesPolicy()


def unit(name: str, *, contaminated: int | None, sets: int) -> UnitLine:
    return UnitLine(
        key=name, name=name, facility="Marrowby", sets=sets, contaminated=contaminated, alone=9, paired=sets,
        one_bottle=None, bottled=sets,
    )  # fmt: skip


def content(*, units: int = 8, **more) -> PackContent:
    lines = [unit(f"Unit {n}", contaminated=None if n == 3 else 5 + n % 7, sets=200) for n in range(units)]
    lines.append(unit("Infant unit", contaminated=0, sets=24))
    given = {
        "number": 2, "place": "Marrowby", "from_month": "2026-01", "to_month": "2026-03",
        "made_on": date(2026, 4, 9), "message": "", "ask": "To keep the plan.",
        "quarter": build_quarter_answer(
            read_quarter(MONTHS, from_month="2026-01", policy=SignalPolicy()),
            setting=QuarterSetting(place="hospital", place_name="Marrowby", cautions=("Counted by charter 1.",)),
        ),
        "units": build_units_answer(lines, policy=POLICY, several=False),
        "hours": build_hours_answer([HourLine(name="0 to 6 h", sets=400, contaminated=12)], policy=POLICY),
        "actions": build_action_log([], today=date(2026, 4, 9)),
        "restated": build_restated_answer([], earlier=[]),
        "files": AnswerTable(title="Files", columns=tuple("ABCDEFG"), rows=((1, "x", "y", 2, 1, 1, "z"),)),
        "files_words": "Every row is accounted for.", "times": ("Sets with a day and no hour: 0.",),
        "receipts": ("Quarter: R-1",),
    }  # fmt: skip
    return PackContent(**(given | more))


def read(said, paper: PaperSize = PaperSize.A4) -> PdfReader:
    return PdfReader(io.BytesIO(print_pack_page(said, paper=paper)))


def text_of(reader: PdfReader) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))


def tags(reader: PdfReader) -> tuple[Counter[str], list[str], list[str]]:
    """How often each tag stands, the words of figures, the scopes of table heads."""
    found: Counter[str] = Counter()
    alts: list[str] = []
    scopes: list[str] = []

    def walk(node) -> None:
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            for one in node:
                walk(one)
        elif hasattr(node, "get"):
            kind = str(node.get("/S", ""))
            found[kind] += bool(kind)
            alts.extend([str(node["/Alt"])] if kind == "/Figure" else [])
            scopes.extend(str(one["/Scope"]) for one in node.get("/A", []) if kind == "/TH")
            walk(node.get("/K", []))

    walk(reader.trailer["/Root"]["/StructTreeRoot"])
    return found, alts, scopes


@pytest.mark.parametrize("paper", list(PaperSize))
@pytest.mark.parametrize("units", [8, 60])
def test_six_pages_whatever_the_paper_and_the_number_of_units(paper, units):
    said = build_pack(content(units=units))
    check_fits(said)
    reader = read(said, paper)
    assert len(reader.pages) == 6
    assert "Unit 0" in text_of(reader)


def test_a_screen_reader_finds_titles_heads_and_the_charts_words():
    found, alts, scopes = tags(read(build_pack(content())))
    assert found["/H1"] == 1
    assert found["/H2"] == 6
    assert len(alts) == 1
    assert "Each month from April 2024 to March 2026" in alts[0]
    assert found["/TH"] == len(scopes) > 0
    assert set(scopes) == {"/Column"}


def test_pages_come_in_the_order_in_which_they_are_read():
    pages = [page.extract_text() for page in read(build_pack(content())).pages]
    for number, page in enumerate(pages, start=1):
        assert f"{number} · " in page
        assert f"{number} / 6" in page
    assert pages[0].index("42 of 1,455") < pages[0].index("The ask") < pages[0].index("To keep the plan.")


def test_no_ink_but_grey():
    """Every colour in the chart has its three parts alike; the pages' own type is set in grey as such."""
    from cubital.papers.pack_page import LAYOUTS, _sheet

    drawn = _sheet(build_pack(content()), LAYOUTS[0], PaperSize.A4).pictures["picture"]
    colours = set(re.findall(r"#([0-9a-fA-F]{6})\b", drawn))
    assert colours
    assert [one for one in colours if len({one[:2], one[2:4], one[4:]}) > 1] == []
    template = (resources.files("cubital.papers") / "templates" / "pack.typ").read_text()
    code = "\n".join(line for line in template.splitlines() if not line.startswith("//"))
    assert "luma" in code or "ink" in code
    assert not re.search(r"\b(?:rgb|cmyk|oklab|red|green|blue|orange)\b", code)


def test_none_of_24_and_hidden_counts_say_so():
    """0.98 to the power of 24 is 0.6158."""
    text = text_of(read(build_pack(content())))
    assert "0 of 24: 62 % likely even at 2 %" in text
    assert "Unit 3 200 hidden" in text


def test_the_order_of_units_is_no_ranking():
    text = text_of(read(build_pack(content())))
    assert "Units in the order of their names, which is no ranking" in text
    assert text.index("Infant unit") < text.index("Unit 0") < text.index("Unit 1")


def test_a_pack_prints_in_the_language_in_which_it_was_made():
    choose_language("es")
    try:
        said = build_pack(content())
    finally:
        choose_language("en")
    reader = read(said)
    assert str(reader.trailer["/Root"]["/Lang"]) == "es"
    assert current_language() == "en"


def test_words_that_do_not_fit_are_refused_and_not_cut():
    endless = build_pack(content(ask="To keep the plan. " * 600))
    with pytest.raises(RequestProblem, match="too many for six pages"):
        check_fits(endless)
    with pytest.raises(RequestProblem, match="too many for six pages"):
        print_pack_page(endless)


def test_without_a_chart_the_page_says_why():
    bare = replace(content().quarter, picture={}, table=None)
    assert "There is no chart: a month in it holds a count" in text_of(read(build_pack(content(quarter=bare))))
