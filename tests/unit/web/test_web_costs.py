"""The pages about money: the story's sentence from a form or a table, refusals beside the field, what leaves."""

from __future__ import annotations

import io

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from pypdf import PdfReader
from web_reading import words_of

from collection_shift import HEADINGS, KIT, PARTS, SHARED, SHIFT

TABLE = HEADINGS + SHARED + SHIFT


def _typed(**changes):
    """The story as somebody types it into the form."""
    rows = {
        "sets": {"likely": "8400", "source": "laboratory"},
        "rate": {"likely": "4.2 %", "source": "laboratory"},
        "covered": {"low": "40 %", "likely": "55 %", "high": "65 %", "source": "rota"},
        "relative_risk": {"low": "0.33", "likely": "0.41", "high": "0.70", "source": "a study", "origin": "published"},
        "cost_each": {"low": "700", "likely": "2900", "high": "6400", "source": "last year", "given_by": "finance",
                      "kind": "cost"},
        "hours": {"likely": "12", "source": "rota"}, "days": {"likely": "365", "source": "rota"},
        "wage": {"likely": "34", "source": "pay scale", "given_by": "finance", "kind": "wage"},
        "relief": {"likely": "1.12", "source": "pay scale"},
    }  # fmt: skip
    typed = {"option": "the collection shift", "currency": "usd", "year": "2025"}
    for key, row in rows.items():
        typed |= {f"{key}-{name}": value for name, value in ({"origin": "local"} | row).items()}
    return typed | changes


def test_the_typed_story_gets_its_sentence_and_the_losing_case(browser):
    page = browser.post("/costs", _typed())
    said = words_of(page)
    assert page.status_code == 200
    assert (
        "A model, not a measurement. Of 353 contaminated sets a year the collection shift would avert about 114" in said
    )
    assert "breaks even where one contaminated set costs 1,457 USD" in said
    assert "If one costs only 700 USD, the collection shift loses 86,652 USD a year." in said
    assert "Side by side, a model, USD a year" in said
    assert "published" in said


def test_a_pasted_table_and_a_file_say_the_same(browser, workspace):
    pasted = words_of(browser.post("/costs", {"text": TABLE}))
    sent = words_of(browser.post("/costs", {"file": SimpleUploadedFile("costs.csv", TABLE.encode())}))
    assert "pays in 90 of 100 runs of the model" in pasted
    assert "pays in 90 of 100 runs of the model" in sent
    assert list((workspace.folder / "inbox").iterdir()) == []


def test_several_choices_stand_side_by_side(browser):
    said = words_of(browser.post("/costs", {"text": TABLE + KIT}))
    assert "Side by side in the same runs: the collection shift" in said
    assert "doing nothing" in said


@pytest.mark.parametrize(("changes", "sentence"), [
    ({"cost_each-low": "-5"}, "A value below 0 makes no sense here"),
    ({"cost_each-likely": "2,900"}, "may be a thousand or a fraction; write 2900 or 2.9000"),
    ({"rate-likely": "42"}, "A share lies between 0 and 1"),
    ({"relative_risk-low": "0.8"}, "Low, likely and high must rise"),
    ({"sets-source": ""}, "The source is missing"),
    ({"cost_each-given_by": ""}, "Say who gave it"),
    ({"currency": ""}, "The currency is missing"),
    ({"first_hour": "8"}, "Please give both hours, or neither."),
    ({"from_month": "March"}, "Please write the month as 2026-03."),
    ({"text": "a,b\n1,2"}, "no column is called 'input'"),
    ({"counted": "on"}, "no file has been taken in yet"),
])  # fmt: skip
def test_what_is_wrong_stands_beside_it_and_nothing_typed_is_lost(browser, changes, sentence):
    page = browser.post("/costs", _typed(**changes))
    assert page.status_code == 400
    assert sentence in words_of(page)
    assert b'value="8400"' in page.content


@pytest.mark.parametrize(("changes", "sentence"), [
    ({"cost_each-kind": "charge"}, "A charge is what is billed, not what it costs"),
    ({"relative_risk-low": "1", "relative_risk-likely": "1.2", "relative_risk-high": "1.3"}, "there is no benefit"),
    ({f"cost_each-{name}": "" for name in ("low", "likely", "high", "source", "given_by")}, "No value is made up"),
])  # fmt: skip
def test_a_refusal_is_an_answer_without_a_paper(browser, changes, sentence):
    page = browser.post("/costs", _typed(**changes))
    assert page.status_code == 200
    assert sentence in words_of(page)
    assert "Take it along" not in words_of(page)


def test_the_workbook_and_both_papers_can_be_taken_along(browser):
    book = browser.post("/costs/leave", {"text": TABLE, "as": "workbook"})
    assert "is-it-worth-it.xlsx" in book["Content-Disposition"]
    assert "Break-even" in openpyxl.load_workbook(io.BytesIO(b"".join(book.streaming_content))).sheetnames
    for paper, width in (("a4", 595), ("letter", 612)):
        sent = browser.post("/costs/leave", {"text": TABLE, "as": paper})
        reader = PdfReader(io.BytesIO(b"".join(sent.streaming_content)))
        assert round(float(reader.pages[0].mediabox[2])) == width
        assert "Receipt R-" in " ".join(reader.pages[-1].extract_text().split())


def test_a_refusal_has_no_paper_and_says_why(browser):
    charged = TABLE.replace(",cost,local,USD", ",charge,local,USD")
    page = browser.post("/costs/leave", {"text": charged, "as": "a4"})
    assert page.status_code == 400
    assert "A charge is what is billed" in words_of(page)


def test_the_inputs_can_be_changed_after_the_answer_and_nothing_typed_is_lost(browser):
    answer = browser.post("/costs", _typed(unit="ED"))
    assert b'name="change"' in answer.content
    page = browser.post("/costs", {"text": TABLE, "unit": "ED", "change": "1"})
    assert page.status_code == 200
    for value in (b'value="2900"', b'value="0.41"', b'value="the collection shift"', b'value="ED"', b'value="34"'):
        assert value in page.content
    several = browser.post("/costs", {"text": TABLE + KIT, "change": "1"})
    assert b"the kit,relative risk,0.75" in several.content


def test_kept_inputs_begin_the_next_form(browser):
    browser.post("/costs/keep", {"text": TABLE, "noted_by": "A. Person", "role": "finance"})
    page = browser.get("/costs")
    assert "Begins with version 1 of the costs, brought by A. Person (finance)." in words_of(page)
    assert b'value="2900"' in page.content
    refused = browser.post("/costs/keep", {"text": TABLE, "noted_by": "", "role": ""})
    assert refused.status_code == 400
    assert "name and the role of who brings them" in words_of(refused)


def test_kept_inputs_of_several_choices_begin_as_a_table(browser):
    browser.post("/costs/keep", {"text": TABLE + KIT, "noted_by": "A. Person", "role": "finance"})
    assert b"the kit,relative risk,0.75,0.94,1.1" in browser.get("/costs").content


def test_what_a_contaminated_set_costs_stands_beside_what_is_published(browser):
    before = words_of(browser.get("/costs/each"))
    assert "No costs are kept here yet, and none are made up." in before
    assert "JAMA 1991" in before
    browser.post("/costs/keep", {"text": HEADINGS + PARTS, "noted_by": "A. Person", "role": "finance"})
    said = words_of(browser.get("/costs/each"))
    assert "between 50 and 1,974 USD, most likely 376 USD" in said
    assert "charge (billed)" in said


def test_draws_are_counted_from_the_stored_cultures(reader):
    page = reader.post("/costs", _typed(**{"counted": "on", "sets-likely": "", "sets-source": ""}))
    said = words_of(page)
    assert page.status_code == 200
    assert "counted here: Marrowby General" in said


@pytest.mark.parametrize("address", ["/costs", "/costs/each"])
def test_a_stranger_sees_no_costs(stranger, address):
    assert stranger.get(address).status_code == 403


def test_a_table_that_will_not_do_is_named_where_attention_is_asked_for(browser):
    said = words_of(browser.post("/costs", {"text": TABLE.replace("relative risk", "sparkle factor")}))
    assert "Something needs your attention: Paste your table" in said
