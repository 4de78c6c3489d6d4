"""The trial planner on the page: answer, order, seal, looks, papers; what is missing is asked for beside the form."""

from __future__ import annotations

import re

import pytest
from web_reading import words_of

from cubital.workspace.trials import list_protocols
from places_world import MARROWBY
from trial_world import take_after, take_before

PLAN = {"facility": MARROWBY, "units": "ED, ICU, 3 North", "start": "2025-07-07", "weeks": "20", "expected": "2.6",
        "baseline": "", "design": "alternate_weeks", "looks": "2", "seed": "7"}  # fmt: skip
WORDS = {"name": "Kit trial", "new": "kit", "meaningful": "1", "decides": "value analysis", "by": "A. Educator",
         "role": "practice educator"}  # fmt: skip


@pytest.fixture
def half(workspace, tmp_path):
    """Half a year of data."""
    take_before(workspace, tmp_path / "files")
    return workspace


def test_an_empty_workspace_and_an_empty_form_say_what_to_do(browser):
    said = words_of(browser.get("/did-it-work/trial"))
    assert "How long must the trial run?" in said
    assert "No trial is sealed yet." in said
    response = browser.get("/did-it-work/trial", {"expected": ""})
    assert response.status_code == 400
    assert "Please say which rate is hoped for." in words_of(response)
    response = browser.get("/did-it-work/trial", PLAN)
    assert response.status_code == 400
    assert "Take a laboratory file in first" in words_of(response)


def test_the_whole_way_on_the_pages(half, browser, tmp_path):
    said = words_of(browser.get("/did-it-work/trial", PLAN))
    assert "To show a fall from 4.4 % to 2.6 %" in said
    assert "Drawn with seed 7" in said
    assert "ED is the highest of all units." in said

    missing = browser.post("/did-it-work/trial/seal", {**PLAN, **WORDS, "name": ""})
    assert missing.status_code == 400
    assert "Please give the trial a name." in words_of(missing)
    assert 'value="kit"' in missing.content.decode()
    assert list_protocols(half) == ()

    sealed = browser.post("/did-it-work/trial/seal", {**PLAN, **WORDS}, follow=True)
    assert sealed.redirect_chain[-1][0] == "/did-it-work/trial/1"
    assert "Nobody has looked yet." in words_of(sealed)
    assert list_protocols(half)[0].fingerprint[:8] in words_of(sealed)
    early = browser.post("/did-it-work/trial/1/look", {"end": "no"}, follow=True)
    assert "No look was counted." in words_of(early)

    take_after(half, tmp_path / "files")
    looked = words_of(browser.post("/did-it-work/trial/1/look", {"end": "no"}, follow=True))
    assert "The look is kept." in looked
    assert "Kit: " in looked
    assert "Look now" not in looked
    for address in ("protocol.pdf?paper=letter", "result.pdf?own=yes"):
        response = browser.get(f"/did-it-work/trial/1/{address}")
        assert b"".join(response.streaming_content).startswith(b"%PDF")


def test_the_form_to_seal_carries_everything_that_was_planned(half, browser):
    # Only what stands on the page is posted, as a browser does it.
    page = browser.get("/did-it-work/trial", PLAN).content.decode()
    form = re.search(r'<form method="post" action="/did-it-work/trial/seal".*?</form>', page, re.DOTALL)[0]
    on_page = {
        re.search(r'name="([^"]*)"', one)[1]: (re.search(r'value="([^"]*)"', one) or ("", ""))[1]
        for one in re.findall(r"<input[^>]*>", form)
        if "checkbox" not in one
    }
    assert on_page["start"] == "2025-07-07"
    sealed = browser.post("/did-it-work/trial/seal", {**on_page, **WORDS})
    assert sealed.status_code == 302
    assert list_protocols(half)[0].plan.name == "Kit trial"


def test_what_cannot_be_sealed_is_said_beside_the_form(half, browser):
    late = browser.post("/did-it-work/trial/seal", {**PLAN, **WORDS, "start": "2025-06-02"})
    assert late.status_code == 400
    assert "can no longer be written beforehand" in words_of(late)
    no_benefit = words_of(browser.get("/did-it-work/trial", {**PLAN, "expected": "9"}))
    assert "is no benefit" in no_benefit
    assert "Seal the plan" not in no_benefit


def test_a_trial_that_is_not_there_and_wrong_methods(browser):
    assert browser.get("/did-it-work/trial/9").status_code == 400
    assert browser.get("/did-it-work/trial/seal").status_code == 405
    assert browser.post("/did-it-work/trial").status_code in (403, 405)
    assert browser.get("/did-it-work/trial/1/look").status_code == 405


def test_a_stranger_sees_nothing(stranger):
    assert stranger.get("/did-it-work/trial").status_code == 403


@pytest.mark.parametrize(
    ("changes", "said"),
    [({"expected": "two"}, "Please write a percentage such as 4.2."), ({"weeks": "1"}, "from 2 to 156"),
     ({"design": "x"}, "Please choose one of the list."), ({"start": "soon"}, "Please write the day as")],
)  # fmt: skip
def test_slips_get_a_sentence(browser, changes, said):
    response = browser.get("/did-it-work/trial", {**PLAN, **changes})
    assert response.status_code == 400
    assert said in words_of(response)
