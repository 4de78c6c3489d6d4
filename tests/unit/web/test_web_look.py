"""The page *Look closer*: what it compares, what it hides and says so, where its sets are, what it refuses."""

from __future__ import annotations

import re
import tempfile

import pytest
from django.test import Client
from web_reading import words_of

from places_world import MARROWBY, write_network

YEAR = "first=2025-01&last=2025-12"


@pytest.fixture(scope="module")
def network_folder(tmp_path_factory):
    from cubital.workspace.opening import open_workspace
    from cubital.workspace.taking import take_file

    folder = tmp_path_factory.mktemp("look") / "desk"
    files = tmp_path_factory.mktemp("files")
    with open_workspace(folder) as opened:
        for facility, file in write_network(files).items():
            take_file(opened, file=file, facility=facility, timezone="America/Chicago", accept=True)
    return folder


@pytest.fixture(scope="module")
def looker(network_folder):
    """A browser at a desk with the invented network; nothing here changes it."""
    from cubital.web.door import door
    from cubital.web.serving import build_application
    from cubital.workspace.opening import open_workspace

    opened = open_workspace(network_folder)
    build_application(opened)
    client = Client(headers={"host": "127.0.0.1:8765"})
    client.get(door.new_link_path())
    yield client
    opened.close()
    tempfile.tempdir = None


def sentence_of(response):
    found = re.search(r'<h1 class="sentence" id="sentence">(.*?)</h1>', response.content.decode(), re.DOTALL)
    assert found is not None
    return " ".join(found[1].split())  # a number and its per cent sign are held together on a page


def test_an_empty_workspace_says_where_to_begin(browser):
    assert "Nothing has been taken in yet." in words_of(browser.get("/look-closer"))


def test_the_sentence_names_the_place_with_its_counts(looker):
    response = looker.get(f"/look-closer?{YEAR}")
    assert "(60 of 960 sets, 6.2 %) stands out above the others" in sentence_of(response)
    assert 'aria-current="page">Look closer' in response.content.decode()


def test_contamination_has_its_company(looker):
    said = words_of(looker.get(f"/look-closer?{YEAR}"))
    for company in ("Single sets, by set", "Both bottles", "Grew something", "Collector known"):
        assert company in said


def test_small_counts_are_hidden_and_the_page_says_why(looker):
    response = looker.get(f"/look-closer?{YEAR}")
    said = words_of(response)
    assert "counts from 1 to 4 are hidden" in said
    assert "they can point to single people" in said
    row = re.search(r"<tr><th[^>]*>dialysis.*?</tr>", response.content.decode(), re.IGNORECASE | re.DOTALL)
    assert row is not None
    assert "hidden" in row[0]
    assert not re.search(r"<td[^>]*>2</td>", row[0])


@pytest.mark.parametrize("by", ["unit", "facility", "hour", "weekday", "site", "method", "age_group"])
@pytest.mark.parametrize("way", ["counted", "standard"])
def test_every_way_of_looking_answers_without_jargon(looker, by, way):
    response = looker.get(f"/look-closer?by={by}&way={way}&{YEAR}")
    assert response.status_code == 200
    said = words_of(response)
    assert "NaN" not in said
    for jargon in ("p-value", "odds ratio", "overdispersion", "control limit", "posterior"):
        assert jargon not in said


def test_one_month_and_one_unit_are_answered(looker):
    one = looker.get("/look-closer?place=Thistlecombe+Community&first=2025-03&last=2025-03")
    assert one.status_code == 200
    unit = re.search(r'<option value="(Marrowby General[^"]+)"', looker.get("/look-closer").content.decode())
    assert unit is not None
    response = looker.get("/look-closer", {"place": unit[1], "first": "2025-01", "last": "2025-12"})
    assert "a comparison needs two" in sentence_of(response)


def test_every_set_of_a_place_is_one_click_away(looker):
    page = looker.get(f"/look-closer?{YEAR}").content.decode()
    links = dict((name, url) for url, name in re.findall(r'<li><a href="(/look-closer/sets[^"]+)">([^<]+)</a>', page))
    url = next(url for name, url in links.items() if name.upper().startswith("ED")).replace("&amp;", "&")
    said = words_of(looker.get(url))
    assert "60 sets behind the number" in said
    assert "counted as contaminated" in said
    assert "960 sets behind the number" in words_of(looker.get(f"{url}&class=every"))


@pytest.mark.parametrize("by", ["hour", "weekday", "age_group", "facility"])
def test_the_sets_of_a_cell_are_as_many_as_it_counts(looker, by):
    page = looker.get(f"/look-closer?by={by}&first=2025-01&last=2025-03").content.decode()
    url = re.search(r'<li><a href="(/look-closer/sets[^"]+)">', page)[1].replace("&amp;", "&")
    cells = re.search(r"<tbody>\s*<tr><th[^>]*>.*?</th><td[^>]*>([\d,]+)</td>", page, re.DOTALL)
    assert f"{cells[1]} sets behind the number" in words_of(looker.get(f"{url}&class=every"))


def test_roles_are_offered_only_where_people_are_known(looker):
    assert 'value="role"' not in looker.get("/look-closer").content.decode()
    assert looker.get(f"/look-closer?by=role&{YEAR}").status_code == 400


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("by=star_sign", "Nothing can be compared by that."),
        ("first=1999-01", "There are no sets in that month."),
        ("first=2025-12&last=2025-01", "This month is before the first one."),
        ("place=Nowhere", "There is no such place."),
    ],
)
def test_what_cannot_be_asked_is_said_in_a_sentence(looker, query, said):
    response = looker.get(f"/look-closer?{query}")
    assert response.status_code == 400
    assert said in words_of(response)


def test_sets_of_no_place_are_no_page(looker):
    assert looker.get(f"/look-closer/sets?{YEAR}&key=nowhere").status_code == 404


def test_a_stranger_sees_nothing(network_folder, stranger):
    assert stranger.get("/look-closer").status_code != 200
    assert MARROWBY not in stranger.get("/look-closer").content.decode()
