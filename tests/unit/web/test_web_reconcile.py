"""The laboratory's list on a page: its difference set by set, its complaints at the fields, and nothing kept."""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from cubital.workspace.batches import list_changes

MONTH = {"month": "2025-11", "hospital": ""}


def test_a_stranger_sees_nothing(stranger):
    assert stranger.get("/charter/reconcile").status_code == 403


def test_an_empty_workspace_says_to_take_a_file_first(browser):
    assert "No file has been taken in yet." in browser.get("/charter/reconcile").content.decode()


def test_the_charter_leads_there(reader):
    reader.get("/charter")
    page = reader.get("/charter").content.decode()
    assert 'href="/charter/reconcile"' in page or "data-waits" in page or "counting" in page


def test_numbers_alone_are_enough_and_nothing_is_kept(reader, filled):
    """The messy month of the job's map: the charter counts 5001 and 5007, nothing grew in 5011, 5003 is October's."""
    changes = len(list_changes(filled))
    page = reader.post("/charter/reconcile", {**MONTH, "text": "5001\n5011\n5003\n77777"}).content.decode()
    assert "Both count 1, only the laboratory 1, only the charter 1." in page
    assert "no organism was reported" in page
    assert "drawn in October 2025" in page
    assert "no valid set has this number" in page
    assert len(list_changes(filled)) == changes


def test_a_file_says_the_same(reader):
    file = SimpleUploadedFile("theirs.csv", b"acc no;hospital\n5001;Marrowby General\n5011;Marrowby General\n")
    page = reader.post("/charter/reconcile", {**MONTH, "file": file}).content.decode()
    assert "Both count 1, only the laboratory 1, only the charter 1." in page


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({**MONTH, "text": ""}, "Please type or paste the laboratory&#x27;s list"),
        ({"month": "1999-01", "text": "5001"}, "There are no sets in that month."),
        ({**MONTH, "text": "ward,who\nED,me"}, "no column is called"),
        ({**MONTH, "hospital": "Nowhere", "text": "5001"}, "There is no such hospital."),
    ],
)
def test_what_is_missing_is_said_at_its_field(reader, given, words):
    page = reader.post("/charter/reconcile", given)
    assert page.status_code == 400
    assert words in page.content.decode()


def test_only_the_ways_there_are(reader):
    assert reader.put("/charter/reconcile").status_code == 405
