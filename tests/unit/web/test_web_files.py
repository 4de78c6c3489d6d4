"""The page *Files*: what is asked before, what is shown of a file, what happens on each word of the person."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from web_reading import words_of

from cubital.web.files.arrivals import arrivals
from cubital.workspace.batches import list_batches
from cubital.workspace.sources import recall_source

STORY = Path(__file__).resolve().parents[2] / "acceptance" / "files" / "marrowby.csv"
AMBIGUOUS = b"ACC,MRN,COLLECTED,RESULT\n1,7,03/04/2025 10:00,NO GROWTH\n2,8,05/06/2025 10:00,NO GROWTH\n"
ODD_NAME = b"ACC,MRN,COLLECTED,RESULT\n1,7,2025-11-01 10:00,Qxzvorbium plorians\n2,8,2025-11-01 11:00,NO GROWTH\n"


@pytest.fixture(autouse=True)
def nothing_waits_before_or_after():
    yield
    for arrival in arrivals.waiting():
        for job in (arrival.looking, arrival.taking):
            if job is not None:
                job.wait(30)
        arrivals.discard(arrival)


def form(content: bytes | None = None, **changes):
    file = SimpleUploadedFile("november.csv", STORY.read_bytes() if content is None else content)
    fields = {"file": file, "facility": "Marrowby General", "timezone": "America/Chicago", "kind": "cultures"}
    return {name: value for name, value in {**fields, **changes}.items() if value is not None}


def drop(client, content: bytes | None = None, **changes) -> str:
    """Drops a file in, waits until it was looked at, and gives the address of its page."""
    response = client.post("/files", form(content, **changes))
    assert response.status_code == 302, words_of(response)
    settle(client)
    return response.headers["Location"]


def settle(client) -> None:
    for arrival in arrivals.waiting():
        if arrival.job is not None:
            arrival.job.wait(60)


def answer(client, address: str, **fields):
    response = client.post(f"{address}/answer", fields)
    settle(client)
    return client.get(response.headers["Location"])


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"file": None}, "Please choose a file."),
        ({"file": SimpleUploadedFile("x.csv", b"")}, "This file is empty."),
        ({"facility": ""}, "Please write the hospital's name."),
        ({"timezone": "Chicago time"}, "There is no time zone of this name."),
        ({"kind": ""}, "Please say what is in the file."),
    ],
)
def test_a_field_that_is_wrong_gets_its_sentence_and_nothing_waits(browser, changes, sentence):
    response = browser.post("/files", form(**changes))
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert arrivals.waiting() == ()


def test_a_file_is_shown_with_its_account_before_anything_is_stored(browser, workspace):
    said = words_of(browser.get(drop(browser)))
    assert "21 rows in, 11 sets out. Use this file, or send it back?" in said
    assert "a further bottle of a set already counted 9" in said
    assert "Using it would add 11 sets, correct 0 and leave 0 as they are" in said
    assert list_batches(workspace) == ()


def test_every_column_says_what_it_was_read_as_and_why(browser):
    page = browser.get(drop(browser)).content.decode()
    assert re.search(r'name="column-ACC_NO".*?<option value="accession" selected>', page, re.DOTALL)
    assert "its header says so" in page


def test_patients_are_blacked_out_in_the_first_rows(browser):
    said = words_of(browser.get(drop(browser)))
    assert "•••" in said
    assert "70001" not in said
    assert "1957-04-09" not in said


def test_using_a_file_makes_a_batch_and_removes_the_upload(browser, workspace):
    address = drop(browser)
    response = answer(browser, address, do="take")
    assert response.status_code == 302
    assert response.headers["Location"] == "/files/batch/1"
    assert [batch.file_name for batch in list_batches(workspace)] == ["november.csv"]
    assert list((workspace.folder / "inbox").iterdir()) == []


def test_the_upload_is_gone_as_soon_as_it_was_taken_even_if_nobody_comes_back(browser, workspace):
    address = drop(browser)
    browser.post(f"{address}/answer", {"do": "take"})
    settle(browser)
    assert len(list_batches(workspace)) == 1
    assert list((workspace.folder / "inbox").iterdir()) == []


def test_sending_a_file_back_leaves_nothing(browser, workspace):
    address = drop(browser)
    assert browser.post(f"{address}/discard").status_code == 302
    assert list_batches(workspace) == ()
    assert list((workspace.folder / "inbox").iterdir()) == []
    assert browser.get(address).status_code == 404


def test_an_ambiguous_date_order_is_asked_and_the_answer_kept(browser, workspace):
    address = drop(browser, AMBIGUOUS)
    page = browser.get(address)
    assert "One question before this file can be used." in words_of(page)
    key, choice = re.search(r'name="answer-([^"]+)" value="([^"]+)"', page.content.decode()).groups()
    assert "Use this file" in words_of(answer(browser, address, do="look", **{f"answer-{key}": choice}))
    answer(browser, address, do="take")
    assert len(list_batches(workspace)) == 1


def test_a_question_left_open_is_asked_again_and_nothing_is_taken(browser, workspace):
    address = drop(browser, AMBIGUOUS)
    key = re.search(r'name="asked" value="(\S+)', browser.get(address).content.decode())[1]
    assert "One question" in words_of(answer(browser, address, do="take", asked=key))
    assert list_batches(workspace) == ()


def test_a_column_corrected_by_hand_is_remembered_for_the_source(browser, workspace):
    address = drop(browser)
    fields = {"column-COLLECTOR": "other", "was-COLLECTOR": "collector", "column-LOC": "unit", "was-LOC": "unit"}
    page = answer(browser, address, do="look", **fields).content.decode()
    assert recall_source(workspace, "Marrowby General").columns == {"collector": "other"}
    assert re.search(r'name="column-COLLECTOR".*?<option value="other" selected>', page, re.DOTALL)


def test_an_unread_name_is_never_taken_for_another_genus_without_the_tick(browser, workspace):
    address = drop(browser, ODD_NAME)
    choice = {"organism-Qxzvorbium plorians": "cross:corynebacterium"}
    answer(browser, address, do="look", **choice)
    assert recall_source(workspace, "Marrowby General").organisms == {}
    answer(browser, address, do="look", **choice, **{"sure-Qxzvorbium plorians": "yes"})
    assert recall_source(workspace, "Marrowby General").organisms == {"qxzvorbium plorians": "corynebacterium"}


def test_a_text_can_be_said_to_name_no_organism(browser, workspace):
    address = drop(browser, ODD_NAME)
    answer(browser, address, do="look", **{"organism-Qxzvorbium plorians": "same:-"})
    assert recall_source(workspace, "Marrowby General").organisms == {"qxzvorbium plorians": ""}


def test_changes_are_looked_at_before_the_file_is_used(browser, workspace):
    address = drop(browser)
    answer(browser, address, do="take", **{"column-COLLECTOR": "other", "was-COLLECTOR": "collector"})
    assert list_batches(workspace) == ()


def test_a_file_that_cannot_be_read_says_why_and_can_be_sent_back(browser):
    response = browser.get(drop(browser, bytes(range(256)) * 8))
    assert response.status_code == 400
    said = words_of(response)
    assert "This file cannot be used as it is." in said
    assert "Nothing was changed" in said


def test_the_time_zone_is_asked_only_once(browser):
    answer(browser, drop(browser), do="take")
    assert browser.post("/files", form(ODD_NAME, timezone="")).status_code == 302


def test_the_page_that_waits_asks_again_and_is_sent_on_when_done(browser):
    address = drop(browser)
    assert browser.get(f"{address}/progress").headers["HX-Redirect"] == address
    assert browser.get("/files/in/gone/progress").headers["HX-Redirect"] == "/files"


def test_a_waiting_file_is_listed_for_whoever_comes_back(browser):
    address = drop(browser)
    assert address in browser.get("/files").content.decode()


def test_the_account_of_a_batch_adds_up_and_compares_months(reader):
    said = words_of(reader.get("/files/batch/1"))
    assert "All rows of the file 21" in said
    assert "November 2025 5 6 about as many as before" in said


def test_every_row_of_a_batch_can_be_taken_along(reader):
    response = reader.get("/files/batch/1/rows.xlsx")
    assert b"".join(response.streaming_content).startswith(b"PK")
    response.close()


def test_a_batch_that_is_not_there_is_a_calm_page(reader):
    response = reader.get("/files/batch/77")
    assert response.status_code == 400
    assert "there is no batch 77." in words_of(response)


RENAME = {"facility": "Marrowby General", "old": "5 WEST", "new": "5W-MED ONC", "on": "2025-10-15"}


def test_two_names_of_a_unit_are_joined(reader):
    assert reader.post("/files/units", RENAME).status_code == 302
    said = words_of(reader.get("/files/units"))
    assert re.search(r"5W-MED ONC .*5 west · 5w-med onc 3 ◆ 2025-10-15", said)


@pytest.mark.parametrize(
    ("field", "given", "sentence"),
    [
        ("facility", "Nowhere", "Please choose a hospital from the list."),
        ("old", "", "Please write the name that the unit had."),
        ("old", "Cellar", "neither 'Cellar' nor"),
        ("new", "", "Please write the name that the unit has now."),
        ("new", "5 west", "Both names are the same."),
        ("on", "", "Please choose the first day of the new name."),
        ("on", "15.10.2025", "Please write the day as 2025-11-30."),
    ],
)
def test_a_rename_that_is_wrong_gets_its_sentence(reader, field, given, sentence):
    changes = {field: given} if given != "Cellar" else {"old": "Cellar", "new": "Attic"}
    response = reader.post("/files/units", {**RENAME, **changes})
    assert response.status_code == 400
    assert sentence in words_of(response)


@pytest.mark.parametrize("path", ["/files/batch/1", "/files/batch/1/rows.xlsx", "/files/in/x", "/files/in/x/progress"])
def test_pages_that_only_show_refuse_to_be_posted_to(browser, path):
    assert browser.post(path).status_code == 405


@pytest.mark.parametrize("path", ["/files/in/x/answer", "/files/in/x/discard"])
def test_pages_that_change_something_refuse_to_be_read(browser, path):
    assert browser.get(path).status_code == 405


@pytest.mark.parametrize("path", ["/files", "/files/units", "/files/batch/1", "/files/in/x", "/files/in/x/progress"])
def test_a_stranger_sees_no_files(stranger, path):
    assert stranger.get(path).status_code == 403


def test_a_stranger_leaves_no_file(stranger, workspace):
    assert stranger.post("/files", form()).status_code == 403
    assert list((workspace.folder / "inbox").iterdir()) == []


def test_a_file_chosen_with_a_wrong_field_has_to_be_chosen_again_and_this_is_said(browser):
    assert "Please choose the file once more as well" in words_of(browser.post("/files", form(facility="")))


def test_a_new_hospitals_time_zone_is_asked_on_the_next_page_and_the_file_is_kept(browser):
    address = drop(browser, timezone="")
    page = browser.get(address)
    assert page.status_code == 409
    assert "In which time zone are the clocks of Marrowby General?" in words_of(page)
    said = words_of(answer(browser, address, do="look", **{"answer-timezone": "America/Chicago"}))
    assert "21 rows in, 11 sets out." in said


def test_a_wrong_time_zone_is_refused_and_asked_for_again(browser):
    address = drop(browser, timezone="")
    wrong = answer(browser, address, do="look", **{"answer-timezone": "Chicago time"})
    assert "'Chicago time' is no time zone." in words_of(wrong)
    assert "In which time zone" in words_of(answer(browser, address, do="look"))
