"""The pages for steps, comparisons and hours: the story's sentence from pasted sheets, refusals, nothing kept."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from web_reading import words_of

SHEETS = (Path(__file__).resolve().parents[2] / "acceptance" / "files" / "watched_draws.csv").read_text()


def test_pasted_sheets_get_the_whole_story(browser):
    said = words_of(browser.post("/steps", {"text": SHEETS}))
    assert "full dry time: done in 14 of 26 watched draws, 53.8 % (35 % to 71 %)" in said
    assert "We can say that full dry time is below 80 %. We cannot say that it causes contamination" in said
    assert "8 of 10 draws, kappa 0.52: reword the item" in said
    assert "Watched: nights 2 of 26" in said


def test_the_page_says_what_to_watch_next(browser):
    said = words_of(browser.post("/steps", {"text": SHEETS}))
    assert "Plan for 12 night observations: 2 watched, 10 more to go." in said
    assert "with 90 % assurance, if it is truly done in 60 %: 53 draws" in said


def test_a_file_gets_the_same_and_is_not_kept(browser, workspace):
    said = words_of(browser.post("/steps", {"file": SimpleUploadedFile("sheets.csv", SHEETS.encode())}))
    assert "14 of 26 watched draws" in said
    assert list((workspace.folder / "inbox").iterdir()) == []


def test_target_and_plan_can_be_ones_own(browser):
    said = words_of(browser.post("/steps", {"text": SHEETS, "target": "50", "each_shift": "4"}))
    assert "We cannot say of any step that it is below 50 % yet" in said
    assert "Plan for 4 night observations" in said


@pytest.mark.parametrize(("posted", "sentence"), [
    ({"text": ""}, "Please paste your sheets, or choose a file."),
    ({"text": "draw,MRN,dry time\n1,4401233,yes"}, "looks like a name or a number of a patient"),
    ({"text": "draw,observer\n1,A"}, "no column for a step"),
    ({"text": SHEETS, "target": "100"}, "Please write a whole number from 1 to 99."),
])  # fmt: skip
def test_sheets_that_cannot_be_read_get_a_sentence(browser, posted, sentence):
    response = browser.post("/steps", posted)
    assert response.status_code == 400
    assert sentence in words_of(response)


def test_the_form_explains_itself_and_leads_on(browser):
    page = browser.get("/steps")
    assert "no name belongs in it" in words_of(page)
    assert b'href="/steps/hours"' in page.content


@pytest.mark.parametrize("address", ["/steps", "/steps/compare", "/steps/hours"])
def test_a_stranger_sees_nothing(stranger, address):
    assert stranger.get(address).status_code == 403


@pytest.mark.parametrize("address", ["/steps/compare", "/steps/hours"])
def test_an_empty_workspace_says_to_take_a_file_first(browser, address):
    page = browser.get(address)
    assert page.status_code == 200
    assert "no file has been taken in yet" in words_of(page)


def test_a_thin_workspace_gets_a_refusal_and_no_number(reader):
    said = words_of(reader.get("/steps/hours"))
    assert "too few to choose hours by" in said
    assert "NaN" not in said


@pytest.mark.parametrize(("address", "sentence"), [
    ("/steps/compare?by=star", "Please choose one of the list."),
    ("/steps/compare?by=role", "roles are not known"),
    ("/steps/compare?from_month=March", "Please write the month as 2026-03."),
    ("/steps/hours?unit=Nowhere", "there is no unit"),
    ("/steps/hours?length=24", "Please write a whole number from 1 to 23."),
])  # fmt: skip
def test_what_cannot_be_asked_gets_a_sentence(reader, address, sentence):
    page = reader.get(address)
    assert page.status_code == 400
    assert sentence in words_of(page)


def test_the_strip_says_what_its_shades_mean(reader):
    assert "the stronger the shade, the more. A dot: too few sets to say" in words_of(reader.get("/steps/hours"))


def test_days_and_hours_can_be_chosen(reader):
    page = reader.get("/steps/hours", {"length": "8", "days": "end"})
    assert page.status_code == 200
    assert "stretch of 8 hours" in words_of(page)


def test_looking_closer_leads_here(reader):
    found = reader.get("/look-closer").content
    assert all(f'href="/steps{page}"'.encode() in found for page in ("", "/compare", "/hours"))
