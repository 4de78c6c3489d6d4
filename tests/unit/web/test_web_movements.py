"""Ward movements on the page *Files*: looked at before they are used, counted as stays."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from web_reading import words_of

from cubital.web.files.arrivals import arrivals
from cubital.workspace.batches import list_batches

MOVES = b"MRN,UNIT,FROM_DT,TO_DT\n7,5 WEST,2025-11-01 10:00,2025-11-03 10:00\n8,,2025-11-01 10:00,\n"
UNCLEAR = b"MRN,UNIT,FROM_DT,TO_DT\n7,5 WEST,01/02/2025 10:00,03/02/2025 10:00\n"
CULTURES = b"ACC,MRN,COLLECTED,RESULT\n1,7,2025-11-01 10:00,NO GROWTH\n"


@pytest.fixture(autouse=True)
def nothing_waits_before_or_after():
    yield
    for arrival in arrivals.waiting():
        arrivals.discard(arrival)


def settle() -> None:
    for arrival in arrivals.waiting():
        if arrival.job is not None:
            arrival.job.wait(60)


def drop(browser, content: bytes, kind: str = "movements") -> str:
    fields = {"file": SimpleUploadedFile("moves.csv", content), "facility": "Marrowby", "timezone": "America/Chicago"}
    address = browser.post("/files", {**fields, "kind": kind}).headers["Location"]
    settle()
    return address


def test_the_look_says_what_the_stays_would_change(browser, workspace):
    words = words_of(browser.get(drop(browser, MOVES)))
    assert "2 rows in, 1 stays out. Use this file, or send it back?" in words
    assert "Using it would add 1 stays, correct 0 and leave 0 as they are" in words
    assert "Became a stay in a unit" in words
    assert "no unit" in words
    assert list_batches(workspace) == ()


def test_used_as_it_was_looked_at(browser, workspace):
    address = drop(browser, MOVES)
    response = browser.post(f"{address}/answer", {"do": "take"})
    settle()
    assert "2 rows in, 1 stays out." in words_of(browser.get(response.headers["Location"], follow=True))
    assert [batch.kind for batch in list_batches(workspace)] == ["movements"]


def test_an_open_question_is_asked_on_the_page_of_the_look(browser):
    words = words_of(browser.get(drop(browser, UNCLEAR)))
    assert "before this file can be used." in words
    assert "Use this file" not in words


def test_movements_dropped_as_cultures_say_what_they_are(browser):
    words = words_of(browser.get(drop(browser, MOVES, kind="cultures")))
    assert "these are ward movements of patients" in words


def test_cultures_dropped_as_movements_are_sent_back_before_anything_is_used(browser, workspace):
    response = browser.get(drop(browser, CULTURES))
    assert "Use this file" not in words_of(response)
    assert list_batches(workspace) == ()
