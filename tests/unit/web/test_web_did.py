"""The page *Did it work?*: the design's checks above the sentence, a table that is not kept, what cannot be asked."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from web_reading import words_of

from cubital.domain.diary import ChangeKind
from cubital.workspace.diary import note_entry
from kit_story import TABLE

ATTENDED = """attended,period,weeks,sets,contaminated
yes,before,26,1000,40
yes,after,26,1000,20
no,before,26,1000,40
no,after,26,1000,38"""


def test_the_story_is_told_with_its_checks_above_the_sentence(browser):
    said = words_of(browser.post("/did-it-work/table", {"text": TABLE}))
    assert "about 0.94 times as many (0.62 to 1.42)" in said
    assert said.index("three rows, four unknowns") < said.index("M emergency went from 4.4 %")
    assert "The counts" in said


def test_a_long_sentence_is_set_smaller_and_a_short_one_is_not(browser):
    story = browser.post("/did-it-work/table", {"text": TABLE}).content.decode()
    refused = browser.post("/did-it-work/table", {"text": "unit,period,sets,contaminated\nA,before,9,1\nA,after,9,0"})
    assert '<h1 class="sentence long" id="sentence">' in story
    assert '<h1 class="sentence" id="sentence">' in refused.content.decode()


def test_one_column_and_one_unit_can_be_asked_about(browser):
    said = words_of(browser.post("/did-it-work/table", {"text": TABLE, "asks": "kit", "at": "m assessment"}))
    assert "M assessment went from 3.2 %" in said
    assert "phlebotomist instead of nurse about" not in said


def test_a_file_gets_the_same_and_is_not_kept(browser, workspace):
    said = words_of(browser.post("/did-it-work/table", {"file": SimpleUploadedFile("kit.csv", TABLE.encode())}))
    assert "M emergency went from 4.4 %" in said
    assert list((workspace.folder / "inbox").iterdir()) == []


@pytest.mark.parametrize(("address", "posted", "sentence"), [
    ("table", {"text": ""}, "Please paste your counts, or choose a file."),
    ("table", {"text": "unit,sets\nED,5"}, "no column is called"),
    ("table", {"text": TABLE, "asks": "moon"}, "has no column"),
    ("table", {"text": TABLE, "at": "Star ward"}, "has no unit"),
    ("table", {"text": TABLE.replace("119", "9119")}, "is more than all"),
    ("table", {"text": TABLE.replace("collector", "initials")}, "looks like a name or a number"),
    ("attended", {"text": ATTENDED.replace("yes,before", "often,before")}, "expected yes, no, or a share"),
])  # fmt: skip
def test_tables_that_cannot_be_read_get_a_sentence(browser, address, posted, sentence):
    response = browser.post(f"/did-it-work/{address}", posted)
    assert response.status_code == 400
    assert sentence in words_of(response)


def test_attendance_is_answered_with_its_warning(browser):
    said = words_of(browser.post("/did-it-work/attended", {"text": ATTENDED}))
    assert "Who attended was not drawn by lot" in said
    short = words_of(browser.post("/did-it-work/attended", {"text": ATTENDED.replace(",26,", ",4,")}))
    assert "4 weeks before and 4 after are too short" in short


def test_a_change_in_the_diary_is_chosen_and_answered(reader, filled):
    entry = note_entry(
        filled, kind=ChangeKind.KIT, on=date(2025, 11, 3), words="new kit", facility="Marrowby General", unit="ED"
    )
    assert "new kit" in words_of(reader.get("/did-it-work"))
    said = words_of(reader.get("/did-it-work", {"entry": entry.number}))
    assert "too short to tell anything from chance" in said
    assert "Private" in said or "private working page" in said


def test_a_receipt_is_offered_where_the_workspace_was_asked(reader):
    assert b"Keep a receipt" in reader.get("/did-it-work", {"on": "2025-11-03", "place": ""}).content
    assert b"Keep a receipt" not in reader.post("/did-it-work/table", {"text": TABLE}).content


def test_a_day_outside_the_data_is_refused_in_words(reader):
    said = words_of(reader.get("/did-it-work", {"on": "2031-01-01", "place": ""}))
    assert "cannot be asked about" in said


def test_nothing_asked_gets_a_sentence(reader):
    response = reader.get("/did-it-work", {"entry": "", "on": ""})
    assert response.status_code == 400
    assert "Please choose a change, or give a day and a place." in words_of(response)
    assert reader.get("/did-it-work", {"entry": "99"}).status_code == 400


def test_an_empty_workspace_says_what_is_missing(browser):
    response = browser.get("/did-it-work", {"on": "2025-11-10"})
    assert response.status_code == 400
    assert "no file has been taken in yet" in words_of(response)


@pytest.mark.parametrize("address", ["", "/table", "/attended"])
def test_a_stranger_sees_nothing(stranger, address):
    assert stranger.get(f"/did-it-work{address}").status_code == 403
