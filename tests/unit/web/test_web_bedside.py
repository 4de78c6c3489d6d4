"""The page *Bedside*: silent until a policy is approved, the card open to all, papers, label, policy in and out."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from cubital.bedside.policy_file import EXAMPLE_SOURCE, example_policy, read_policy, write_policy
from cubital.workspace.collecting import approve_collection_policy, save_collection_policy

LABEL = {"bottle": "adult_aerobic", "long_mm": "50", "short_mm": "25", "accession": "5001004711"}


def own_text() -> str:
    text = write_policy(replace(example_policy(), name="Our own policy", example=False))
    return text.replace(EXAMPLE_SOURCE, "our laboratory, minutes of January")


@pytest.fixture
def approved(workspace):
    """The workspace with an approved policy of its own."""
    day = date.today()  # noqa: DTZ011
    saved = save_collection_policy(workspace, policy=read_policy(own_text()))
    approve_collection_policy(
        workspace, version=saved.version, approved_by="I. Quay", on=day, review_by=day + timedelta(days=90)
    )
    return workspace


def test_without_an_approved_policy_the_page_offers_no_card(browser):
    page = browser.get("/bedside").content.decode()
    assert "nobody has approved this policy yet" in page
    assert "/bedside/card" not in page


@pytest.mark.parametrize("where", ["/bedside/card", "/bedside/paper/volumes/a4", "/bedside/card/file"])
def test_nothing_with_a_number_comes_from_a_draft(browser, where):
    answer = browser.get(where)
    assert answer.status_code in {400, 409}
    assert "mL" not in re.sub(r"<[^>]+>", " ", answer.content.decode())


def test_the_card_needs_no_session_and_keeps_its_own_content_policy(approved, stranger):
    answer = stranger.get("/bedside/card")
    assert answer.status_code == 200
    assert "'sha256-" in answer.headers["Content-Security-Policy"]
    assert "cubital_session" not in answer.cookies
    assert "Our own policy" in answer.content.decode()


@pytest.mark.parametrize("where", ["/bedside", "/bedside/label", "/bedside/policy/file", "/bedside/paper/badge/a4"])
def test_everything_else_stays_behind_the_door(approved, stranger, where):
    assert stranger.get(where).status_code == 403


@pytest.mark.parametrize("kind", ["volumes", "short-draw", "stop-line", "badge", "leaflet"])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_each_paper_comes_as_pdf(approved, browser, kind, paper):
    answer = browser.get(f"/bedside/paper/{kind}/{paper}")
    assert b"".join(answer.streaming_content).startswith(b"%PDF")


@pytest.mark.parametrize("where", ["/bedside/paper/poster/a4", "/bedside/paper/badge/a5"])
def test_an_unknown_paper_is_a_sentence(approved, browser, where):
    assert browser.get(where).status_code == 400


def test_the_labels_place_is_said_and_drawn(approved, browser):
    page = browser.get("/bedside/label", LABEL).content.decode()
    assert "centre 75.1 mm of arc (239°)" in page
    assert "<svg" in page
    assert 'style="' not in page


def test_the_true_size_sheet_comes_as_pdf(approved, browser):
    answer = browser.get("/bedside/label/sheet", {**LABEL, "paper": "letter"})
    assert b"".join(answer.streaming_content).startswith(b"%PDF")


@pytest.mark.parametrize(("field", "words"), [("long_mm", "long side"), ("accession", "accession number")])
def test_a_missing_field_is_asked_for_in_a_sentence(approved, browser, field, words):
    answer = browser.get("/bedside/label", {**LABEL, field: ""})
    assert answer.status_code == 400
    assert words in answer.content.decode()


@pytest.mark.parametrize("value", ["abc", "-1", "nan", "9e9"])
def test_a_size_that_cannot_be_is_refused(approved, browser, value):
    assert browser.get("/bedside/label", {**LABEL, "long_mm": value}).status_code == 400


def test_a_policy_comes_in_as_a_draft_and_is_approved(workspace, browser):
    day = date.today()  # noqa: DTZ011
    brought = SimpleUploadedFile("own.toml", own_text().encode())
    answer = browser.post("/bedside/policy/new", {"file": brought}, follow=True)
    assert "What changes" in answer.content.decode()
    form = {"name": "I. Quay", "on": day.isoformat(), "review_by": (day + timedelta(days=30)).isoformat()}
    done = browser.post("/bedside/policy/approve/1", form, follow=True)
    assert "Open the card" in done.content.decode()


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"format = 1", b""])
def test_a_file_that_is_no_policy_is_refused_with_a_sentence(workspace, browser, content):
    answer = browser.post("/bedside/policy/new", {"file": SimpleUploadedFile("own.toml", content)})
    assert answer.status_code == 400


def test_the_example_cannot_be_approved_by_the_page(workspace, browser):
    day = date.today()  # noqa: DTZ011
    save_collection_policy(workspace, policy=example_policy())
    form = {"name": "I. Quay", "on": day.isoformat(), "review_by": (day + timedelta(days=30)).isoformat()}
    answer = browser.post("/bedside/policy/approve/1", form)
    assert answer.status_code == 400
    assert "invented hospital" in answer.content.decode()


def test_the_policy_goes_out_as_the_file_it_came_in(approved, browser):
    text = b"".join(browser.get("/bedside/policy/file").streaming_content).decode()
    assert read_policy(text).name == "Our own policy"


@pytest.mark.parametrize("where", ["/bedside", "/bedside/card", "/bedside/label", "/bedside/label/sheet"])
def test_only_reading_is_allowed_where_nothing_changes(approved, browser, where):
    assert browser.post(where).status_code == 405


BALANCE = """accession,bottle,gross g
5101,AER,71.6
5101,ANA,67.1
5102,AER,66.3
5102,ANA,64.0
5103,AER,72.9
5104,AER,70.1
5104,ANA,70.3
5105,AER,65.2
5105,ANA,62.0
5106,AER,74.5
5106,ANA,69.2
"""
TARES = {"tare": "lot", "tare_aerobic": "62.4", "tare_anaerobic": "61.9"}


def weigh(browser, content: str, **changes):
    sheet = SimpleUploadedFile("balance.csv", content.encode())
    return browser.post("/bedside/weigh", {**TARES, **changes, "sheet": sheet})


def test_the_balance_says_by_page_what_the_story_says(approved, browser):
    page = " ".join(weigh(browser, BALANCE).content.decode().split())
    assert "8 of 11 bottles hold less than 8 mL, 1 more than 10 mL; the mean is 6 mL per bottle" in page
    assert "5105 ANA: practically empty or wrong tare" in page
    for total in ("13.6", "5.7", "15.3", "2.7", "18.4"):
        assert f"<td>{total}</td>" in page


def test_nothing_of_a_weigh_in_sheet_is_kept(approved, browser):
    weigh(browser, BALANCE)
    assert list((approved.folder / "inbox").glob("**/weigh-in*")) == []


@pytest.mark.parametrize(
    ("content", "changes"),
    [("accession,bottle\n1,AER\n", {}), ("", {}), (BALANCE, {"tare_aerobic": "62,4"}), (BALANCE, {"tare": "guess"})],
)
def test_a_faulty_sheet_or_form_is_a_sentence(approved, browser, content, changes):
    assert weigh(browser, content, **changes).status_code == 400
