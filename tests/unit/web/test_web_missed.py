"""The pages *What are we missing?* and *Which change moves what?*: range, strikes, refusals, nothing kept."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from web_reading import words_of

from cubital.bedside.policy_file import example_policy
from cubital.workspace.collecting import approve_collection_policy, mark_demo, save_collection_policy

NUMBERS = {"found": "216", "mean_ml": "22.4", "target_ml": "36"}


@pytest.fixture
def approved(workspace):
    """A demo workspace whose example policy is approved."""
    mark_demo(workspace)
    saved = save_collection_policy(workspace, policy=example_policy())
    today = date.today()  # noqa: DTZ011 -- an approval runs by the calendar of the desk
    approve_collection_policy(
        workspace, version=saved.version, approved_by="Ada Invented", on=today, review_by=today + timedelta(days=300)
    )


def sheet(sets):
    rows = ["accession,bottle,gross g"]
    for number in range(sets):
        rows += [f"{number},AER,{68.4 + number % 5}", f"{number},ANA,{66.9 + number % 3}"]
    return SimpleUploadedFile("balance.csv", "\n".join(rows).encode())


@pytest.mark.usefixtures("approved")
def test_the_story_gets_its_range_and_its_strikes(browser):
    page = browser.post("/costs/missed", NUMBERS)
    said = words_of(page)
    assert "about 20–60, model-dependent" in said
    assert "struck through: it has to run over 13.6 mL" in said
    struck = re.findall(rb'class="[^"]*struck[^"]*">([^<]+)<', page.content)
    assert [cell for cell in struck if cell.strip().isdigit()] == [b"149", b"606"]


@pytest.mark.usefixtures("approved")
def test_single_sets_have_their_own_range(browser):
    said = words_of(browser.post("/costs/missed", {"question": "single-sets", "found": "216", "single_share": "20"}))
    assert "about 3–9, model-dependent" in said
    assert "struck through: what one set misses the next tends to miss too" in said


@pytest.mark.usefixtures("approved")
def test_a_weigh_in_is_read_and_not_kept(browser, workspace):
    tares = {"tare": "lot", "tare_aerobic": "62.4", "tare_anaerobic": "61.9"}
    said = words_of(
        browser.post("/costs/missed", {"found": "216", "single_share": "20", "sheet": sheet(40), **tares})
    )  # fmt: skip
    assert "model-dependent" in said
    assert "By weighing" in said
    assert list((workspace.folder / "inbox").iterdir()) == []


@pytest.mark.usefixtures("approved")
def test_a_short_weigh_in_says_how_many_more(browser):
    posted = {"found": "216", "single_share": "20", "sheet": sheet(6), "tare_aerobic": "62.4", "tare_anaerobic": "61.9"}
    assert "24 more are needed" in words_of(browser.post("/costs/missed", posted))


def test_without_an_approved_policy_there_is_no_number(browser):
    said = words_of(browser.post("/costs/missed", NUMBERS))
    assert "nobody has approved this policy yet" in said
    assert "model-dependent" not in said


@pytest.mark.parametrize(("posted", "sentence"), [
    ({"found": "many"}, "Please write a whole number of infections."),
    ({"mean_ml": "0"}, "Please write millilitres from 0.1 to 500 with a point, such as 22.4."),
    ({"single_share": "120"}, "Please write a number from 0 to 100."),
    ({"from_month": "March"}, "Please write the month as 2026-03."),
])  # fmt: skip
def test_every_field_complains_in_a_sentence(browser, posted, sentence):
    page = browser.post("/costs/missed", posted)
    assert page.status_code == 400
    assert sentence in words_of(page)


def test_a_mean_and_a_sheet_are_one_too_many(browser):
    page = browser.post("/costs/missed", {**NUMBERS, "sheet": sheet(3)})
    assert page.status_code == 400
    assert "one of the two" in words_of(page)


@pytest.mark.usefixtures("approved")
def test_a_sheet_without_empty_weights_is_refused_in_a_sentence(browser, workspace):
    page = browser.post("/costs/missed", {"found": "216", "single_share": "20", "sheet": sheet(3)})
    assert page.status_code == 400
    assert "there is no empty weight" in words_of(page)
    assert list((workspace.folder / "inbox").iterdir()) == []


def test_the_form_says_what_it_gives(browser):
    said = words_of(browser.get("/costs/missed"))
    assert "never one number" in said
    assert "nothing about any patient" in said


@pytest.mark.parametrize("address", ["/costs/missed", "/costs/drivers"])
def test_a_stranger_sees_nothing(stranger, address):
    assert stranger.get(address).status_code == 403


def test_an_empty_workspace_says_to_take_a_file_first(browser):
    page = browser.get("/costs/drivers")
    assert page.status_code == 200
    assert "no file has been taken in yet" in words_of(page)


def test_a_thin_workspace_shows_the_evidence_and_moves_nothing(reader):
    said = words_of(reader.get("/costs/drivers"))
    assert "more are needed before a scenario means anything" in said
    assert "trial: allotted by chance" in said


def test_a_month_that_is_none_is_said(reader):
    page = reader.get("/costs/drivers?from_month=March")
    assert page.status_code == 400
    assert "Please write the month as 2026-03." in words_of(page)


def test_an_unknown_unit_is_said(reader):
    page = reader.get("/costs/drivers?unit=Nowhere")
    assert page.status_code == 400
    assert "there is no unit" in words_of(page)


@pytest.mark.usefixtures("approved")
@pytest.mark.parametrize(("asked", "sentence"), [
    ("split", "under-filled bottles are in sets that hold too little in all"),
    ("overfill", "of blood above the maximum"),
])  # fmt: skip
def test_the_weigh_page_answers_short_or_split_and_overfilled(browser, asked, sentence):
    rows = "accession,bottle,gross g\n1,AER,66.3\n1,ANA,64.0\n2,AER,74.5\n2,ANA,69.2"
    given = SimpleUploadedFile("balance.csv", rows.encode())
    posted = {"sheet": given, "asked": asked, "tare": "lot", "tare_aerobic": "62.4", "tare_anaerobic": "61.9"}
    assert sentence in words_of(browser.post("/bedside/weigh", posted))
