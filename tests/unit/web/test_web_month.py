"""The page *This month*: where it begins, what it shows, what it refuses, what one takes along."""

from __future__ import annotations

import io
import re
import zipfile

import pytest
from django.template.loader import render_to_string
from openpyxl import load_workbook
from web_reading import words_of

from cubital.domain.answer import Answer, Check, Verdict
from cubital.web.answer_words import answer_context
from cubital.workspace.places import last_place

NOVEMBER = "place=Marrowby+General&month=2025-11"


def test_an_empty_workspace_says_where_to_begin(browser):
    said = words_of(browser.get("/month"))
    assert "Nothing has been taken in yet." in said
    assert "I only have the counts" in said


def test_the_sentence_stands_first_and_the_definition_under_it(reader):
    response = reader.get(f"/month?{NOVEMBER}")
    heading = re.search(r'<h1 class="sentence" id="sentence">(.*?)</h1>', response.content.decode(), re.DOTALL)
    assert heading is not None
    assert "2 of 5" in heading[1]
    assert "Counted by charter 1" in words_of(response)


def test_contamination_never_stands_alone(reader):
    said = words_of(reader.get(f"/month?{NOVEMBER}"))
    for company in (
        "Single sets, by set",
        "Single sets, by episode",
        "Both bottles",
        "Grew something",
        "Collector known",
    ):
        assert company in said


def test_the_place_is_remembered_for_the_next_start(reader, filled):
    reader.get(f"/month?{NOVEMBER}")
    place = last_place(filled)
    assert (place.facility, place.month) == ("Marrowby General", "2025-11")
    assert "Marrowby General" in words_of(reader.get("/month"))


def test_the_first_start_shows_the_newest_month_of_everything(reader):
    assert "All hospitals together · November 2025" in words_of(reader.get("/month"))


def test_a_unit_can_be_chosen(reader):
    content = reader.get("/month").content.decode()
    value = re.search(r'<option value="(Marrowby General[^"]+)">ED<', content)
    assert value is not None
    assert "Marrowby General · ED" in words_of(reader.get("/month", {"place": value[1], "month": "2025-11"}))


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("place=&month=", "Please choose a month."),
        ("place=&month=2019-01", "There are no sets in that month."),
        ("place=Nowhere&month=2025-11", "There is no such place."),
    ],
)
def test_a_choice_that_is_not_there_gets_its_sentence(reader, query, sentence):
    response = reader.get(f"/month?{query}")
    assert response.status_code == 400
    assert sentence in words_of(response)


def test_every_set_is_listed_with_class_and_reason(reader):
    said = words_of(reader.get(f"/month/sets?{NOVEMBER}"))
    assert "5 sets behind the number" in said
    assert "a listed organism grew in this set, and another set of the series lacks it" in said


def test_the_list_can_show_one_class_alone(reader):
    said = words_of(reader.get(f"/month/sets?{NOVEMBER}&class=contaminated"))
    assert "2 sets behind the number" in said
    assert re.search(r"\b5001\b", said)
    assert not re.search(r"\b5011\b", said)


def test_the_list_comes_in_pages(reader, monkeypatch):
    monkeypatch.setattr("cubital.web.month.take_along.SETS_ON_A_PAGE", 2)
    said = words_of(reader.get(f"/month/sets?{NOVEMBER}&page=2"))
    assert "page 2 of 3" in said


def test_the_page_for_the_wall_is_a_pdf(reader):
    response = reader.get(f"/month/paper.pdf?{NOVEMBER}&paper=letter")
    assert "month-2025-11-letter.pdf" in response.headers["Content-Disposition"]
    assert b"".join(response.streaming_content).startswith(b"%PDF-")
    response.close()


def test_the_spreadsheet_holds_the_sets_of_the_month(reader):
    response = reader.get(f"/month/sets.xlsx?{NOVEMBER}")
    book = load_workbook(io.BytesIO(b"".join(response.streaming_content)), read_only=True)
    rows = list(book["sets"].iter_rows(values_only=True))
    assert len(rows) == 6
    response.close()
    book.close()


def test_the_frozen_copy_holds_the_answer_the_sets_and_their_fingerprints(reader):
    response = reader.get(f"/month/frozen.zip?{NOVEMBER}")
    with zipfile.ZipFile(io.BytesIO(b"".join(response.streaming_content))) as packed:
        names = {name.split("/", 1)[1] for name in packed.namelist() if not name.endswith("/")}
    response.close()
    assert {"answer.json", "sets.csv", "charter.json", "fingerprints.txt"} <= names


def test_nothing_made_for_the_person_stays_on_the_disk(reader, filled):
    response = reader.get(f"/month/sets.xlsx?{NOVEMBER}")
    response.close()
    assert list((filled.folder / "inbox").iterdir()) == []


@pytest.mark.parametrize("path", ["/month/sets", "/month/paper.pdf", "/month/sets.xlsx"])
def test_what_there_is_no_data_for_is_no_page(browser, path):
    assert browser.get(path).status_code == 404


@pytest.mark.parametrize("path", ["/", "/month", "/month/sets", "/month/paper.pdf", "/month/sets.xlsx"])
def test_the_pages_refuse_to_be_posted_to(browser, path):
    assert browser.post(path).status_code == 405


@pytest.mark.parametrize("path", ["/", "/month", "/month/sets", "/month/paper.pdf", "/month/sets.xlsx"])
def test_a_stranger_sees_no_month(stranger, path):
    assert stranger.get(path).status_code == 403


def test_a_check_that_could_not_be_made_is_not_among_the_passed(browser):
    checks = (Check(key="a", passed=True, words="A."), Check(key="b", passed=None, words="B."))
    shown = answer_context(Answer(question="?", verdict=Verdict.ESTIMATE, sentence="S.", checks=checks))
    assert [check.key for check in shown["checks_passed"]] == ["a"]
    assert [check.key for check in shown["checks_open"]] == ["b"]
    assert shown["checks_failed"] == []
    page = render_to_string("parts/doubts.html", shown)
    assert "Not checked:" in page
    assert page.index("Not checked:") < page.index("B.")
