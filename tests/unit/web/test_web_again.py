"""Receipts on pages: kept by a button, computed again from a code, and looking writes nothing."""

from __future__ import annotations

import re

import pytest

from cubital.workspace.batches import list_changes
from cubital.workspace.receipts import list_receipts

MONTH = {"place": "Marrowby General", "month": "2025-11"}
PAGES = [
    ("/month", MONTH), ("/month/sure", {**MONTH, "ask": "since"}), ("/look-closer", {"by": "unit"}),
    ("/steps/compare", {}), ("/steps/hours", {}),
]  # fmt: skip


def offer_of(page: str) -> str:
    return re.search(r'name="offer" value="([^"]+)"', page)[1]


def test_a_stranger_sees_nothing(stranger):
    assert stranger.get("/again").status_code == 403
    assert stranger.post("/again/keep", {"offer": "x"}).status_code == 403


def test_an_empty_workspace_has_no_receipt_yet(browser):
    page = browser.get("/again").content.decode()
    assert "None yet." in page


@pytest.mark.parametrize(("address", "asked"), PAGES)
def test_the_button_under_an_answer_keeps_a_receipt_that_comes_out_the_same(reader, filled, address, asked):
    page = reader.get(address, asked).content.decode()
    before = len(list_changes(filled))
    assert list_receipts(filled) == ()
    done = reader.post("/again/keep", {"offer": offer_of(page)}, follow=True)
    code = list_receipts(filled)[0].code
    said = done.content.decode()
    assert done.redirect_chain[-1][0] == f"/again?receipt={code}"
    assert f"{code} is the same to the last digit." in said
    assert "give the same figures" in said
    assert len(list_changes(filled)) > before


def test_looking_at_a_page_and_at_a_receipt_writes_nothing(reader, filled):
    page = reader.get("/month", MONTH).content.decode()
    reader.post("/again/keep", {"offer": offer_of(page)})
    code, changes = list_receipts(filled)[0].code, len(list_changes(filled))
    reader.get("/month", MONTH)
    listed = reader.get("/again", {"receipt": code.lower()}).content.decode()
    assert f'href="/again?receipt={code}"' in listed
    assert (len(list_receipts(filled)), len(list_changes(filled))) == (1, changes)


def test_a_button_of_another_run_is_not_believed(reader, filled):
    done = reader.post("/again/keep", {"offer": "WyJtb250aCIse31d:1abc:forged"}, follow=True)
    assert "Cubital was started anew since that page was made" in done.content.decode()
    assert list_receipts(filled) == ()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("", "Please write the code of a receipt."),
        ("ten", "is no receipt"),
        ("R-0000-0000-0000", "is not kept in this"),
    ],
)
def test_what_is_no_receipt_is_a_sentence_at_the_field(reader, typed, words):
    page = reader.get("/again", {"receipt": typed})
    assert page.status_code == 400
    assert words in page.content.decode()


def test_only_the_ways_there_are(reader):
    assert reader.post("/again").status_code == 405
    assert reader.get("/again/keep").status_code == 405
