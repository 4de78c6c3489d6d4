"""The page Diary: a change noted, seen on the month's chart, corrected, withdrawn; a hand-kept table in two steps."""

from __future__ import annotations

import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from cubital.web.desk import the_workspace
from cubital.web.month.places import place_key
from cubital.workspace.diary import list_entries

ED = place_key("Marrowby General", "ed")
KIT = {"words": "Collection kit in use", "kind": "kit", "place": ED, "on": "2025-11-03", "until": "", "noted_by": ""}
TABLE = (
    "day,until,kind,facility,unit,what\n2025-11-03,,kit,Marrowby General,ED,Collection kit in use\n"
    "2025-10-01,,staffing,,,New rota\n"
)


def kept():
    return [entry for entry in list_entries(the_workspace()) if entry.number]


def text_of(response):
    return response.content.decode()


def test_an_empty_diary_says_what_it_is_for(reader):
    page = reader.get("/diary")
    assert page.status_code == 200
    assert "The diary is empty" in text_of(page)
    assert "Private: small counts stand on this page" in text_of(page)


def test_a_workspace_without_files_has_a_diary_too(browser):
    assert browser.get("/diary").status_code == 200
    assert browser.post("/diary", {**KIT, "place": ""}).status_code == 302
    assert "Of 1 change of care, 1 lies outside the data. No set is dated yet." in text_of(browser.get("/diary"))


def test_a_stranger_sees_nothing(stranger):
    assert stranger.get("/diary").status_code == 403


def test_a_noted_change_stands_on_the_page_and_on_the_chart_of_its_unit(reader):
    assert reader.post("/diary", KIT).status_code == 302
    page = text_of(reader.get("/diary"))
    assert "Collection kit in use" in page
    assert "Marrowby General, ED" in page
    chart = text_of(reader.get("/month", {"place": ED, "month": "2025-11"}))
    assert "Letters over the months are changes in the diary:" in chart
    assert re.search(r"<b>A</b> 3 November 2025 \(Marrowby General, ED\): Collection kit in use", chart)
    assert ">A</text>" in chart
    other = text_of(reader.get("/month", {"place": place_key("Marrowby General", "icu"), "month": "2025-10"}))
    assert "Letters over the months" not in other


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"words": ""}, "Please say what changed."),
        ({"kind": ""}, "Please choose what sort of change it was."),
        ({"kind": "rename"}, "Please choose one from the list."),
        ({"place": "Nowhere"}, "Please choose one from the list."),
        ({"on": ""}, "Please give the day on which it began."),
        ({"on": "3.11.2025"}, "Please write the day as 2025-11-30."),
        ({"until": "2025-11-01"}, "it ends on 2025-11-01, before it begins on 2025-11-03"),
        ({"words": "Mrs Jones started"}, "names a person"),
    ],
)
def test_what_can_not_be_noted_is_a_sentence_and_keeps_nothing(reader, change, sentence):
    page = reader.post("/diary", {**KIT, **change})
    assert page.status_code == 400
    assert sentence in text_of(page)
    assert kept() == []


def test_a_correction_keeps_the_old_form_and_its_reason(reader):
    reader.post("/diary", KIT)
    page = text_of(reader.get("/diary/1"))
    assert 'value="2025-11-03"' in page
    assert reader.post("/diary/1/correct", {**KIT, "on": "2025-11-10", "why": ""}).status_code == 400
    done = reader.post("/diary/1/correct", {**KIT, "on": "2025-11-10", "why": "a week later"})
    assert done.url == "/diary/2"
    page = text_of(reader.get("/diary/1"))
    assert "a week later" in page
    assert "in force" in page
    assert [(entry.number, entry.on.isoformat()) for entry in kept()] == [(2, "2025-11-10")]
    again = reader.post("/diary/1/correct", {**KIT, "why": "again"})
    assert again.status_code == 400
    assert "entry 1 was corrected by entry 2" in text_of(again)


def test_a_withdrawn_entry_leaves_the_chart_and_stays_readable(reader):
    reader.post("/diary", KIT)
    assert reader.post("/diary/1/withdraw", {"why": ""}).status_code == 400
    assert reader.post("/diary/1/withdraw", {"why": "never delivered"}).url == "/diary"
    assert kept() == []
    page = text_of(reader.get("/diary/1"))
    assert "withdrawn on" in page
    assert "never delivered" in page
    assert "Correct it" not in page
    assert "Letters over the months" not in text_of(reader.get("/month", {"place": ED, "month": "2025-11"}))


def test_an_entry_that_is_not_there_is_a_sentence(reader):
    page = reader.get("/diary/7")
    assert page.status_code == 400
    assert "there is no entry 7 in the diary" in text_of(page)


@pytest.mark.parametrize("way", ["text", "file"])
def test_a_table_is_shown_first_and_kept_on_a_second_word(reader, way):
    reader.post("/diary", KIT)
    sent = {"text": TABLE} if way == "text" else {"file": SimpleUploadedFile("diary.csv", TABLE.encode())}
    page = text_of(reader.post("/diary/table", sent))
    assert "One change would be noted." in page
    assert "One row is in the diary already" in page
    assert len(kept()) == 1
    carried = re.search(r'name="text" value="([^"]*)"', page)[1]
    assert reader.post("/diary/table/keep", {"text": carried}).status_code == 302
    assert [entry.words for entry in kept()] == ["New rota", "Collection kit in use"]
    assert "Every row is in the diary already" in text_of(reader.post("/diary/table", {"text": TABLE}))


def test_a_wrong_table_keeps_nothing_and_names_every_row(reader):
    wrong = TABLE + "2025-10-01,,magic,,,Something\n2025-10-01,,kit,Marrowby General,Attic,Something\n"
    for address in ("/diary/table", "/diary/table/keep"):
        page = reader.post(address, {"text": wrong})
        assert page.status_code == 400
        for words in ("row 4", "row 5", "Attic"):
            assert words in text_of(page)
    assert kept() == []


def test_counts_alone_carry_what_reached_everybody_and_nothing_else(reader):
    reader.post("/diary", {**KIT, "on": "2025-11-03"})
    reader.post("/diary", {**KIT, "place": "", "on": "2025-10-06", "words": "Network training week"})
    months = "\n".join(f"2025-{month:02d} 480 12" for month in range(1, 13))
    page = text_of(reader.post("/counts", {"text": months}))
    assert "<b>A</b> 6 October 2025 (everywhere): Network training week" in page
    assert page.count('<ul class="marks"><li>') == 1
    assert "<b>B</b>" not in page
