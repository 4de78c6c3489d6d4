"""Light, dark, and the language: chosen by a button, kept in the session, never leading elsewhere."""

from __future__ import annotations

import pytest

from cubital.domain.words import current_language


def test_the_page_begins_as_the_computer_does(browser):
    assert 'data-appearance="auto"' in browser.get("/policy").content.decode()


@pytest.mark.parametrize("choice", ["light", "dark"])
def test_a_choice_is_kept(browser, choice):
    assert browser.post("/appearance", {"appearance": choice, "back": "/policy"}).headers["Location"] == "/policy"
    assert f'data-appearance="{choice}"' in browser.get("/charter").content.decode()


def test_a_word_that_is_no_choice_changes_nothing(browser):
    browser.post("/appearance", {"appearance": "red"})
    assert 'data-appearance="auto"' in browser.get("/policy").content.decode()


@pytest.mark.parametrize("back", ["http://evil.example/", "//evil.example/", "javascript:alert(1)", ""])
def test_the_way_back_never_leads_elsewhere(browser, back):
    assert browser.post("/appearance", {"appearance": "dark", "back": back}).headers["Location"] == "/"


def test_spanish_can_be_chosen_and_ends_with_the_request(browser):
    browser.post("/appearance", {"language": "es"})
    page = browser.get("/policy").content.decode()
    assert '<html lang="es"' in page
    assert "Este mes" in page
    browser.post("/appearance", {"language": "en"})
    assert '<html lang="en"' in browser.get("/policy").content.decode()


def test_a_choice_is_made_by_a_button_and_not_by_a_link(browser):
    assert browser.get("/appearance").status_code == 405


def test_a_stranger_chooses_nothing(stranger):
    assert stranger.post("/appearance", {"appearance": "dark"}).status_code == 403


@pytest.fixture(autouse=True)
def english_afterwards():
    yield
    from cubital.domain.words import choose_language

    choose_language("en")
    assert current_language() == "en"
