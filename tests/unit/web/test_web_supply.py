"""Stock and shifts as pages: what they say, what they keep (nothing), and what they refuse beside the field."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from web_reading import words_of

LAST = date(2026, 3, 28)
LIST = "item,day,used,counted,delivery\n" + "".join(
    f"aerobic,{LAST - timedelta(days=back)},{30 + back % 3 - 1},{900 if back == 0 else ''},\n"
    for back in range(14, -1, -1)
)
TIERS = (
    "tier,below days,saves low,saves high,what,owner,approved on,review by\n"
    "Mild,40,10,15,No repeat without a reason,Chief of microbiology,2026-01-10,2026-12-31\n"
)


def test_a_pasted_list_gives_the_day_and_the_tier(browser):
    said = words_of(browser.post("/costs/stock", {"text": LIST, "tiers": TIERS, "detected": "216"}))
    assert "aerobic: 900 are there" in said
    assert "tier 'Mild' applies, if Chief of microbiology says so" in said
    assert "of about 18 a month" in said


def test_a_file_gives_the_same_and_is_not_kept(browser, workspace):
    upload = SimpleUploadedFile("stock.csv", LIST.encode())
    assert "aerobic: 900 are there" in words_of(browser.post("/costs/stock", {"file": upload}))
    assert not list(workspace.folder.rglob("stock*.csv"))


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({}, "Please paste your stock list, or choose a file."),
        ({"text": "item,day\naerobic,yesterday"}, "expected a day"),
        ({"text": LIST, "tiers": "tier,owner\nMild,Chief"}, "no column is called"),
        ({"text": LIST, "detected": "-1"}, "whole number of zero or more"),
    ],
)
def test_what_is_wrong_stands_beside_its_field(browser, sent, words):
    refused = browser.post("/costs/stock", sent)
    assert refused.status_code == 400
    assert words in words_of(refused)


def test_shifts_need_contaminated_sets_enough(reader):
    said = words_of(reader.get("/costs/coverage", {"from_month": "2025-10", "to_month": "2025-11"}))
    assert "too few to choose shifts by" in said


def test_an_empty_workspace_says_so(browser):
    page = browser.get("/costs/coverage")
    assert page.status_code == 200
    assert "no file has been taken in yet" in words_of(page)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"low": "0.3"}, "all three relative risks"),
        ({"low": "0.3", "likely": "1.0", "high": "1.2"}, "is no benefit"),
        ({"shifts": "20", "length": "12"}, "do not fit into a week"),
        ({"shifts": "0"}, "whole number from 1"),
        ({"minutes": "x"}, "whole number from 1"),
    ],
)
def test_impossible_shifts_are_refused(reader, asked, words):
    refused = reader.get("/costs/coverage", asked)
    assert refused.status_code == 400
    assert words in words_of(refused)


def test_other_methods_are_refused(browser):
    assert browser.post("/costs/coverage").status_code == 405
    assert browser.delete("/costs/stock").status_code == 405


def test_the_card_of_the_tiers_is_printed_on_either_paper(browser):
    for more, name in (({}, "tiers-a4.pdf"), ({"paper": "letter"}, "tiers-letter.pdf")):
        made = browser.post("/costs/stock/card.pdf", {"text": LIST, "tiers": TIERS, **more})
        assert made.headers["Content-Disposition"] == f'attachment; filename="{name}"'
        assert b"".join(made.streaming_content).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"text": LIST}, "there is no tier to print"),
        ({"text": LIST, "tiers": TIERS.replace("2026-12-31", "2026-02-01")}, "not approved for this day"),
        ({"text": "item,day,used\naerobic,2026-03-01,4", "tiers": TIERS}, "no item of the list can be said"),
    ],
)
def test_a_card_that_may_not_be_printed_says_why(browser, sent, words):
    refused = browser.post("/costs/stock/card.pdf", sent)
    assert refused.status_code == 400
    assert words.casefold() in words_of(refused).casefold()
