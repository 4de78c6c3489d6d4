"""Messages and exports of resources by page: dropped, looked at, used, and read as a month like any other file."""

from __future__ import annotations

from pathlib import Path

import pytest

from cubital.workspace.demo.draws import draw_world
from cubital.workspace.demo.files import _march
from cubital.workspace.demo.mess import spoil
from cubital.workspace.demo.messages import message_file_name, write_messages
from cubital.workspace.demo.world import DEFAULT_SEED, HOSPITALS

pytestmark = pytest.mark.browser
PLACES = [hospital.name for hospital in HOSPITALS]
WORDS_OF_TABLES = ("column headers", "Column", "row 1", "headings", "How sure")


@pytest.fixture(scope="module")
def sent(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """March of each hospital as it sends it."""
    folder = tmp_path_factory.mktemp("sent")
    found = {}
    for hospital, draws in zip(HOSPITALS, draw_world(DEFAULT_SEED), strict=True):
        spoil(draws, hospital, seed=DEFAULT_SEED)
        found[hospital.name] = write_messages(folder, hospital, list(_march(draws)))
        assert found[hospital.name].name == message_file_name(hospital)
    return found


def drop(page, served, file, *, hospital):
    page.goto(f"{served.base}/files")
    page.set_input_files("input[type=file]", file)
    page.get_by_label("Hospital", exact=True).fill(hospital)
    page.get_by_label("Time zone of the hospital's clocks").fill("America/Chicago")
    page.get_by_role("button", name="Look at this file").click()
    page.get_by_role("button", name="Use this file").wait_for(timeout=60_000)


@pytest.mark.parametrize("hospital", PLACES)
def test_1_the_look_speaks_of_messages_and_not_of_rows(page, served, sent, hospital):
    drop(page, served, sent[hospital], hospital=hospital)
    heading = page.get_by_role("heading", level=1).inner_text()
    assert "sets out. Use this file, or send it back?" in heading
    assert page.locator("select[name^=column-]").count() == 0
    text = page.locator("main").inner_text()
    assert "What was read out of the messages" in text
    assert not [words for words in WORDS_OF_TABLES if words in text]
    page.get_by_role("button", name="Send it back").click()


@pytest.mark.parametrize("hospital", PLACES)
def test_2_the_file_is_used_and_every_message_has_its_reason(page, served, sent, hospital):
    drop(page, served, sent[hospital], hospital=hospital)
    before = page.get_by_role("heading", level=1).inner_text().partition(" Use this file")[0]
    page.get_by_role("button", name="Use this file").click()
    page.wait_for_url("**/files/batch/*")
    assert page.get_by_role("heading", level=1).inner_text().startswith(before)


@pytest.mark.parametrize("hospital", PLACES)
def test_3_the_month_can_be_read(page, served, hospital):
    page.goto(f"{served.base}/month?place={hospital.replace(' ', '+')}&month=2026-03")
    sentence = page.locator("#sentence").inner_text()
    assert sentence
    assert hospital in page.locator(".place").first.inner_text()


def test_4_nothing_went_wrong_in_the_browser(served):
    assert served.foreign() == []
    assert served.complaints == []
