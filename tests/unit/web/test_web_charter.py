"""The page *Charter*: rules in words, the bench, versions, signatures."""

from __future__ import annotations

import re
from datetime import date, timedelta
from threading import Event

import pytest
from web_reading import words_of

from cubital.domain.charter import Charter
from cubital.reference.charters import published_charters
from cubital.web.charter.forms import CharterForm, charter_values
from cubital.web.charter.words import charter_in_words, settings
from cubital.workspace.charters import current_charter, list_charters
from cubital.workspace.judging import run_bench

TODAY = date.today()  # noqa: DTZ011 -- the pages go by the local day
SIGNATURE = {"name": "Asha Brandt", "role": "practice educator", "on": TODAY.isoformat()}


def entered(charter: Charter, **changes: object) -> dict[str, object]:
    return {**charter_values(charter), **changes}


def test_every_choice_of_a_charter_is_a_question_with_an_answer():
    words = charter_in_words(Charter(key="k", name="n"))
    assert len(words) == len(settings()) == 12
    assert all(one.question.endswith("?") and one.answer and one.decides for one in words)


def test_the_window_says_its_hours():
    words = {one.name: one.answer for one in charter_in_words(Charter(key="k", name="n", window_hours=48))}
    assert words["window"] == "Sets within 48 hours of the first one"


@pytest.mark.parametrize("key", sorted(published_charters()))
def test_every_published_definition_comes_through_the_form_unchanged(key):
    charter = published_charters()[key]
    form = CharterForm(entered(charter))
    assert form.is_valid(), form.errors
    assert form.build(charter).fingerprint() == charter.fingerprint()


def test_without_data_the_page_shows_rules_and_no_bench(browser):
    said = words_of(browser.get("/charter"))
    assert "Nobody has signed a definition yet." in said
    assert "The definitions side by side" not in said


def test_the_bench_shows_numerator_denominator_rate_and_interval(reader):
    said = words_of(reader.get("/charter"))
    # Marrowby's file alone, worked out by hand: 10 adult sets, of them 5001 and 5007 contaminated.
    assert re.search(r"A: one of several, over all sets .*? 2 10 20.0 %", said)


def test_the_sets_that_move_are_named_with_both_classes(reader):
    said = words_of(reader.get("/charter/moves?first=a_one_of_several_all_sets&second=c_with_solitary"))
    assert "One set changes its class." in said
    assert "5005" in said


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("first=&second=c_with_solitary", "Please choose a definition."),
        ("first=a_one_of_several_all_sets&second=nothing", "Please choose a definition from the list."),
        ("first=c_with_solitary&second=c_with_solitary", "Please choose two different definitions."),
        ("first=c_with_solitary&second=ecdc_48h", "is compared with definition A."),
    ],
)
def test_two_definitions_that_cannot_be_compared_get_a_sentence(reader, query, sentence):
    response = reader.get(f"/charter/moves?{query}")
    assert response.status_code == 400
    assert sentence in words_of(response)


def test_months_the_wrong_way_round_get_a_sentence(reader):
    response = reader.get("/charter?from_month=2025-11&to_month=2025-10")
    assert response.status_code == 400
    assert "The last month is before the first one." in words_of(response)


def test_a_changed_rule_is_a_new_version(browser, workspace):
    charter = current_charter(workspace).charter
    response = browser.post("/charter/edit", entered(charter, window_hours=48, name="Ours"))
    assert response.status_code == 302
    assert [one.charter.window_hours for one in list_charters(workspace)] == [24, 48]


@pytest.mark.parametrize(
    ("field", "given", "sentence"),
    [
        ("name", "", "Please give this definition a name."),
        ("rule", "", "Please choose one answer."),
        ("rule", "guess", "Please choose one of the answers shown."),
        ("window_hours", "0", "Please write a whole number from 1 to 168."),
        ("window_hours", "a day", "Please write a whole number from 1 to 168."),
        ("follow_up_days", "91", "Please write a whole number from 1 to 90."),
        ("follow_up_days", "", "Please write a number, even where it is not used."),
    ],
)
def test_a_rule_that_is_wrong_gets_its_sentence_and_nothing_is_saved(browser, workspace, field, given, sentence):
    charter = current_charter(workspace).charter
    response = browser.post("/charter/edit", entered(charter, **{field: given}))
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert len(list_charters(workspace)) == 1


def test_one_can_begin_from_a_published_definition(browser):
    response = browser.get("/charter/edit?start=ecdc_48h")
    assert 'value="48"' in response.content.decode()


def test_a_signature_freezes_the_version(browser, workspace):
    assert browser.post("/charter/1", SIGNATURE).status_code == 302
    found = current_charter(workspace)
    assert found.frozen
    assert found.signatures[0].role == "practice educator"


def test_signing_twice_is_said_to_be_done_already(browser, workspace):
    browser.post("/charter/1", SIGNATURE)
    response = browser.post("/charter/1", SIGNATURE)
    assert response.status_code == 400
    assert "has signed charter 1" in words_of(response)
    assert len(current_charter(workspace).signatures) == 1


@pytest.mark.parametrize(
    ("field", "given", "sentence"),
    [
        ("name", "", "Please write who signs."),
        ("role", "", "Please write in which role this person signs."),
        ("on", "", "Please choose the day of signing."),
        ("on", (TODAY + timedelta(days=2)).isoformat(), "This day has not come yet."),
    ],
)
def test_a_signature_that_is_wrong_gets_its_sentence(browser, workspace, field, given, sentence):
    response = browser.post("/charter/1", {**SIGNATURE, field: given})
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert not current_charter(workspace).frozen


def test_the_charter_is_a_pdf(browser):
    response = browser.get("/charter/1/paper.pdf?paper=letter")
    assert response.headers["Content-Type"] == "application/pdf"
    assert b"".join(response.streaming_content).startswith(b"%PDF-")
    response.close()


def test_the_page_says_that_class_words_are_no_diagnosis(browser):
    assert "never a diagnosis" in words_of(browser.get("/charter"))


@pytest.mark.parametrize("path", ["/charter", "/charter/moves", "/charter/1/paper.pdf"])
def test_pages_that_only_show_refuse_to_be_posted_to(browser, path):
    assert browser.post(path).status_code == 405


@pytest.mark.parametrize("path", ["/charter", "/charter/moves", "/charter/edit", "/charter/1", "/charter/1/paper.pdf"])
def test_a_stranger_sees_no_charter(stranger, path):
    assert stranger.get(path).status_code == 403


def test_a_bench_that_takes_long_lets_the_page_come_first_and_follows(reader, monkeypatch):
    begun, go_on = Event(), Event()

    def slow(workspace, **span):
        begun.set()
        go_on.wait(20)
        return run_bench(workspace, **span)

    monkeypatch.setattr("cubital.web.charter.bench.run_bench", slow)
    monkeypatch.setattr("cubital.web.charter.bench.PATIENCE_SECONDS", 0.05)
    first = words_of(reader.get("/charter?people=published"))
    assert "Every definition is being counted" in first
    assert "The definitions side by side" not in first
    assert begun.wait(20)
    go_on.set()
    monkeypatch.setattr("cubital.web.charter.bench.PATIENCE_SECONDS", 20)
    assert "The definitions side by side" in words_of(reader.get("/charter?people=published"))
