"""The pages behind the month: every question answers or refuses; a baseline is locked by hand only."""

from __future__ import annotations

import re

import pytest
from web_reading import words_of

from cubital.workspace.baselines import list_baselines
from cubital.workspace.signals import Question

ASKED = {"place": "Marrowby General", "month": "2025-11"}


@pytest.mark.parametrize("question", [one.value for one in Question if one is not Question.REAL])
def test_every_question_has_its_page_with_one_sentence(reader, question):
    page = reader.get("/month/sure", {**ASKED, "ask": question})
    assert page.status_code == 200
    text = page.content.decode()
    assert text.count('id="sentence"') == 1
    assert not re.search(r"\bnan\b", words_of(page), re.IGNORECASE)
    assert "p-value" not in text.casefold()


@pytest.mark.parametrize("chart", ["p", "u", "laney", "laney-u", "ewma", "cusum", "gaps", "times"])
def test_every_chart_can_be_asked_for(reader, chart):
    page = reader.get("/month/sure", {**ASKED, "ask": "chart", "chart": chart})
    assert page.status_code == 200


@pytest.mark.parametrize("query", [{"ask": "nothing"}, {"ask": "chart", "chart": "pie"}])
def test_a_question_that_there_is_not_is_no_page(reader, query):
    assert reader.get("/month/sure", {**ASKED, **query}).status_code == 404


def test_the_month_leads_to_its_questions(reader):
    assert "/month/sure?" in reader.get("/month", ASKED).content.decode()


def test_a_baseline_needs_a_reason_and_a_name(reader, filled):
    page = reader.post("/month/baseline?place=Marrowby+General&month=2025-11", {"first": "2025-11", "last": "2025-11"})
    assert page.status_code == 400
    assert "Please write who signs." in page.content.decode()
    assert list_baselines(filled, facility="Marrowby General") == ()


def test_months_too_thin_for_a_baseline_are_refused_on_the_page(reader, filled):
    signed = {"by": "A. Educator", "role": "educator", "why": "calm", "on": "2025-12-01"}
    page = reader.post(
        "/month/baseline?place=Marrowby+General&month=2025-11", {"first": "2025-11", "last": "2025-11", **signed}
    )
    assert page.status_code == 400
    assert "at least" in page.content.decode()
    assert list_baselines(filled, facility="Marrowby General") == ()


def test_a_stranger_sees_neither_page(stranger):
    for address in ("/month/sure", "/month/baseline"):
        assert stranger.get(address).status_code in (302, 403)
