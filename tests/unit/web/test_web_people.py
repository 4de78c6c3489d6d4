"""The private page *People*: opened on purpose, recorded, without a name anywhere else."""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

import pytest
from web_reading import words_of

from cubital.workspace.people import Purpose, list_openings
from cubital.workspace.people_letters import person_history

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "integration" / "workspace"))
from people_files import HOSPITAL, ZONE, Drawn, write_draws, write_staff

DRAWS = (
    Drawn("JM", "2025-07-10", 40, 6),
    Drawn("R.OKO", "2025-06-10", 6, 0),
    Drawn("7731", "2025-06-11", 160, 2),
    Drawn("7702", "2025-08-01", 9, 2),
    Drawn("LAB", "2025-08-02", 5, 1),
)
NAMES = ("Moss", "Okoro", "Venn", "Hask")


@pytest.fixture(scope="module")
def staffed_folder(tmp_path_factory) -> Path:
    from cubital.workspace.opening import open_workspace
    from cubital.workspace.staff import import_roster
    from cubital.workspace.taking import take_file

    folder = tmp_path_factory.mktemp("staffed")
    with open_workspace(folder / "desk") as opened:
        take_file(opened, file=write_draws(folder / "lab.csv", DRAWS), facility=HOSPITAL, timezone=ZONE, accept=True)
        import_roster(opened, file=write_staff(folder / "staff.csv"), facility=HOSPITAL)
    return folder / "desk"


@pytest.fixture
def staffed(staffed_folder, tmp_path):
    from cubital.web.serving import build_application
    from cubital.workspace.opening import open_workspace

    opened = open_workspace(shutil.copytree(staffed_folder, tmp_path / "staffed desk"))
    build_application(opened)
    yield opened
    opened.close()
    tempfile.tempdir = None


@pytest.fixture
def visitor(staffed):
    from django.test import Client

    from cubital.web.door import door

    client = Client(headers={"host": "127.0.0.1:8765"})
    client.get(door.new_link_path())
    return client


@pytest.fixture
def inside(visitor, tmp_path):
    """A browser that opened the page and brought the staff list."""
    with write_staff(tmp_path / "staff.csv").open("rb") as file:
        answer = visitor.post("/people/open", {"purpose": "support", "staff_list": file})
    assert answer.status_code == 302
    return visitor


def keys_in(response) -> list[str]:
    return list(dict.fromkeys(re.findall(r'href="/people/(P\d+)"', response.content.decode())))


def test_the_page_is_closed_until_somebody_says_what_for(visitor, staffed):
    said = words_of(visitor.get("/people"))
    assert "People: private, opened on purpose" in said
    assert "not for pay, discipline or contracts" in said
    assert not keys_in(visitor.get("/people"))
    assert list_openings(staffed) == ()


def test_without_a_purpose_it_stays_closed(visitor, staffed):
    answer = visitor.post("/people/open", {})
    assert answer.status_code == 400
    assert "Please say what you open it for" in words_of(answer)
    assert list_openings(staffed) == ()


@pytest.mark.parametrize("purpose", ["pay", "discipline", "contract"])
def test_pay_and_discipline_are_no_purpose(visitor, purpose):
    assert visitor.post("/people/open", {"purpose": purpose}).status_code == 400


def test_opening_is_recorded_before_anything_is_shown(inside, staffed):
    (one,) = list_openings(staffed)
    assert (one.purpose, one.by) == (Purpose.SUPPORT, "page")


def test_the_queue_says_why_with_what_offer_and_who_was_not_chosen(inside):
    said = words_of(inside.get("/people"))
    assert "Jonas Moss (P" in said
    assert "34 of 40 draws clean" in said
    assert "would not have been contaminated" in said
    assert "Offer:" in said
    assert "considered and not chosen" in said


def test_whoever_has_few_draws_is_told_no_percentage(inside):
    page = inside.get("/people").content.decode()
    row = next(row for row in re.findall(r"<tr>.*?</tr>", page, re.DOTALL) if "Pia Hask" in row and "<td" in row)
    cells = [re.sub(r"<[^>]+>", "", cell).strip() for cell in re.findall(r"<t[dh][^>]*>.*?</t[dh]>", row, re.DOTALL)]
    assert cells[2:5] == ["9", "7", "2"]
    assert cells[5:9] == ["", "", "", ""]


def test_every_row_begins_with_its_person(inside):
    page = inside.get("/people").content.decode()
    heads = re.findall(r'<tr><th scope="row"[^>]*>(.*?)</th>', page)
    assert heads
    assert all(head.strip() for head in heads)


def test_it_closes_on_request_and_forgets_the_names(inside):
    inside.post("/people/close")
    assert not keys_in(inside.get("/people"))
    inside.post("/people/open", {"purpose": "reply"})
    said = words_of(inside.get("/people"))
    assert not [name for name in NAMES if name in said]


def test_it_closes_by_itself(inside, monkeypatch):
    now = time.time()
    monkeypatch.setattr("cubital.web.people.opened.time.time", lambda: now + 1801)
    assert "opened on purpose" in words_of(inside.get("/people"))


def test_no_address_and_no_title_holds_a_name(inside):
    for key in keys_in(inside.get("/people")):
        page = inside.get(f"/people/{key}").content.decode()
        title = re.search(r"<title>(.*?)</title>", page, re.DOTALL).group(1)
        addresses = " ".join(re.findall(r'(?:href|action)="([^"]*)"', page))
        assert not [name for name in NAMES if name in title or name in addresses]


def test_every_private_page_states_its_purpose(inside):
    for address in ("/people", f"/people/{keys_in(inside.get('/people'))[0]}"):
        said = words_of(inside.get(address))
        assert "Private." in said
        assert "not for pay, discipline or contracts" in said
        assert "the guard for what leaves was not applied" in said


def test_one_persons_page_needs_the_opened_page(visitor):
    assert visitor.get("/people/P0001").status_code == 302


def test_a_key_of_nobody_is_a_sentence(inside):
    answer = inside.get("/people/P9999x")
    assert answer.status_code == 400
    assert "no draws of" in words_of(answer)


def test_a_letter_is_made_for_one_and_remembered(inside, staffed):
    key = keys_in(inside.get("/people"))[0]
    answer = inside.post(f"/people/{key}/letter.pdf", {"paper": "letter", "contact": "The educator, 4417"})
    assert b"".join(answer.streaming_content).startswith(b"%PDF")
    assert answer.headers["Content-Disposition"] == f'attachment; filename="letter-{key}.pdf"'
    assert len(person_history(staffed, key)) == 1


def test_a_disputed_set_shows_old_and_new(inside):
    key = keys_in(inside.get("/people"))[0]
    accession = re.search(r'name="set" value="(\d+)"', inside.get(f"/people/{key}").content.decode()).group(1)
    said = words_of(inside.post(f"/people/{key}/dispute", {"set": [accession]}))
    assert "Without the 1 disputed set" in said
    assert "where it was 34 of 40" in said
    assert inside.post(f"/people/{key}/take-back").status_code == 302


def test_a_staff_list_is_taken_in_on_the_open_page(inside, tmp_path):
    with write_staff(tmp_path / "more.csv").open("rb") as file:
        inside.post("/people/staff", {"facility": HOSPITAL, "file": file})
    assert "5 people are known, 0 of them new" in words_of(inside.get("/people"))
