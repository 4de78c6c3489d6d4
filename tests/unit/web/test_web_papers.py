"""The pages of papers: the list, a pack made and printed, its minute, the log of actions."""

from __future__ import annotations

import io
import re
import shutil
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

import pytest
from pypdf import PdfReader
from web_reading import words_of

from cubital.web.desk import the_workspace
from cubital.workspace.actions import get_action, list_actions
from cubital.workspace.packs import list_packs
from cubital.workspace.places import list_places

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "acceptance"))
from quarter_files import write_laboratory_file

HOSPITAL = "Marrowby General"
UNITS = {
    (unit, month): pair
    for month in ("2025-11", "2025-12", "2026-01")
    for unit, pair in (("ED", (9, 160)), ("ICU", (6, 120)), ("WARD", (7, 140)))
}
TODAY = date.today()  # noqa: DTZ011 - the log runs by the calendar of the desk
ACTION = {
    "words": "Timers on every trolley", "owner": "ED lead", "due_on": (TODAY + timedelta(days=30)).isoformat(),
    "place": "", "because": "",
}  # fmt: skip
STEP = {"what": "noted", "words": "Half are fitted", "due_on": "", "owner": "", "on": TODAY.isoformat()}


@pytest.fixture(scope="module")
def counted_folder(tmp_path_factory):
    from cubital.workspace.opening import open_workspace
    from cubital.workspace.taking import take_file

    place = tmp_path_factory.mktemp("counted")
    with open_workspace(place / "desk") as opened:
        file = write_laboratory_file(place / "laboratory.csv", UNITS, first=1000)
        take_file(opened, file=file, facility=HOSPITAL, timezone="America/Chicago", accept=True)
    return place / "desk"


@pytest.fixture
def filled(counted_folder, tmp_path):
    """Three months of three units whose counts may be shown; it takes the place of the messy month here."""
    from cubital.web.serving import build_application
    from cubital.workspace.opening import open_workspace

    opened = open_workspace(shutil.copytree(counted_folder, tmp_path / "counted desk"))
    build_application(opened)
    yield opened
    opened.close()
    tempfile.tempdir = None


def body(response) -> bytes:
    return b"".join(response.streaming_content)


def months():
    return list_places(the_workspace()).months


def ask(**more):
    held = months()
    return {"from_month": held[0], "to_month": held[-1], "facility": "", "ask": "", "message": ""} | more


def made(reader) -> int:
    response = reader.post("/papers/pack", ask(ask="To keep the plan."))
    assert response.status_code == 302, words_of(response)
    return list_packs(the_workspace())[-1].number


def test_the_list_says_what_each_is_for_and_leads_to_where_it_is_made(reader):
    page = reader.get("/papers")
    words = words_of(page)
    for name in (
        "Committee pack", "Draft minute", "Page for the wall", "Counts for others", "Definition charter",
        "Business case", "Trial protocol and result", "Log of actions", "Bedside sheets",
        "Sheet for a month that jumped", "Spreadsheet of sets", "Frozen month",
    ):  # fmt: skip
        assert name in words
    for address in set(re.findall(r'<td><a href="([^"]+)"', page.content.decode())):
        assert reader.get(address).status_code == 200, address


def test_the_list_remembers_when_a_pack_was_made(reader):
    assert "Committee pack Six pages: message, chart, drivers, actions, data, ask quality committee –" in words_of(
        reader.get("/papers")
    )
    made(reader)
    assert "ask quality committee –" not in words_of(reader.get("/papers"))


def test_a_workspace_without_files_offers_no_pack(browser):
    assert "a pack needs at least one month" in words_of(browser.get("/papers/pack"))


def test_strangers_see_nothing(stranger):
    for address in ("/papers", "/papers/pack", "/papers/actions"):
        assert stranger.get(address).status_code == 403


def test_a_pack_is_made_kept_and_printed_on_both_papers(reader):
    number = made(reader)
    page = words_of(reader.get(f"/papers/pack/{number}"))
    assert "To keep the plan." in page
    assert "Beside it: single sets" in page
    assert "For the agenda: Blood cultures, Marrowby General: November 2025 to January 2026. To keep the plan." in page
    assert "This is the first pack of this place" in page
    for size, height in (("a4", 842), ("letter", 792)):
        paper = PdfReader(io.BytesIO(body(reader.get(f"/papers/pack/{number}/pdf?paper={size}"))))
        assert len(paper.pages) == 6
        assert round(float(paper.pages[0].mediabox[3])) == height
    assert "pack 1," in words_of(reader.get("/papers/pack"))


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"from_month": ""}, "Please choose a month."),
        ({"to_month": "1999-01"}, "Please choose one from the list."),
        ({"facility": "Nowhere"}, "Please choose one from the list."),
        ({"ask": "To retrain Dr. Okoro."}, "looks like one person"),
        ({"message": "x" * 401}, "Please use at most 400 letters."),
    ],
)
def test_a_pack_that_cannot_be_is_said(reader, more, sentence):
    response = reader.post("/papers/pack", ask(**more))
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert list_packs(the_workspace()) == ()


def test_months_the_wrong_way_round_are_said(reader):
    held = months()
    response = reader.post("/papers/pack", ask(from_month=held[-1], to_month=held[0]))
    assert "the first month comes after the last" in words_of(response)


def test_the_minute_comes_as_a_page_and_as_text(reader):
    number = made(reader)
    reader.post("/papers/actions", ACTION)
    given = {"decision": "agreed", "wording": "", "on": TODAY.isoformat()}
    text = body(reader.post(f"/papers/pack/{number}/minute", {**given, "kind": "txt"})).decode()
    assert "The committee agreed to what was asked" in text
    assert "Owner: ED lead" in text
    assert "Beside it: single sets" in " ".join(text.split())
    assert body(reader.post(f"/papers/pack/{number}/minute", {**given, "kind": "pdf"})).startswith(b"%PDF")


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"on": ""}, "Please give the day of the meeting."),
        ({"on": "2001-01-01"}, "was before pack 1 was made"),
        ({"decision": "changed"}, "what was decided instead is missing"),
        ({"decision": "perhaps"}, "Please choose one from the list."),
    ],
)
def test_a_minute_that_cannot_be_is_said(reader, more, sentence):
    number = made(reader)
    given = {"decision": "agreed", "wording": "", "on": TODAY.isoformat(), "kind": "pdf"} | more
    response = reader.post(f"/papers/pack/{number}/minute", given)
    assert response.status_code == 400
    assert sentence in words_of(response)


def test_unknown_packs_and_actions_are_no_pages(reader):
    for address in ("/papers/pack/9", "/papers/pack/9/pdf", "/papers/actions/9"):
        assert reader.get(address).status_code == 404
    assert reader.get("/papers/pack/9/minute").status_code == 405


def test_an_action_is_opened_and_its_story_kept(reader):
    assert "No action has been opened yet." in words_of(reader.get("/papers/actions"))
    assert reader.post("/papers/actions", ACTION).status_code == 302
    assert reader.post("/papers/actions/1/step", STEP).status_code == 302
    moved = {**STEP, "what": "moved", "owner": "supply", "words": ""}
    assert reader.post("/papers/actions/1/step", moved).status_code == 302
    assert reader.post("/papers/actions/1/step", {**STEP, "what": "done", "words": ""}).status_code == 302
    page = words_of(reader.get("/papers/actions/1"))
    assert "Half are fitted" in page
    assert "new owner: supply" in page
    assert not get_action(the_workspace(), 1).is_open
    assert reader.post("/papers/actions/1/step", {**STEP, "what": "reopened"}).status_code == 302
    assert reader.post("/papers/actions/1/step", {**STEP, "what": "dropped"}).status_code == 302
    assert "1 was dropped." in words_of(reader.get("/papers/actions"))


def test_an_action_at_a_unit_is_said_with_its_place(reader):
    from cubital.web.month.places import place_key

    assert reader.post("/papers/actions", {**ACTION, "place": place_key("Marrowby General", "ed")}).status_code == 302
    assert "Marrowby General · ED" in words_of(reader.get("/papers/actions"))


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"words": ""}, "Please say what is to be done."),
        ({"owner": ""}, "Please name the role that answers for it."),
        ({"owner": "Dr Okoro"}, "looks like the name of one person"),
        ({"due_on": ""}, "Please give the day by which it is due."),
        ({"due_on": "2001-01-01"}, "which is before"),
    ],
)
def test_an_action_that_cannot_be_is_said(reader, more, sentence):
    response = reader.post("/papers/actions", {**ACTION, **more})
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert list_actions(the_workspace()) == ()


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"what": ""}, "Please choose what happened."),
        ({"what": "reopened"}, "Please choose one from the list."),
        ({"words": ""}, "the remark is empty"),
        ({"what": "dropped", "words": ""}, "the reason is missing"),
        ({"on": (TODAY + timedelta(days=2)).isoformat()}, "This day has not come yet."),
    ],
)
def test_a_step_that_cannot_be_is_said(reader, more, sentence):
    reader.post("/papers/actions", ACTION)
    response = reader.post("/papers/actions/1/step", {**STEP, **more})
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert get_action(the_workspace(), 1).steps == ()
