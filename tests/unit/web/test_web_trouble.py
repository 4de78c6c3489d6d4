"""What goes wrong is a calm page of ours, in the right status, with a way back; never a traceback."""

from __future__ import annotations

import pytest
from django.test import Client, RequestFactory

from cubital.domain.errors import FileProblem, MachineProblem, Question, QuestionsOpen, WorkspaceProblem
from cubital.web.door import door
from cubital.web.trouble import TroubleMiddleware

ERRORS = [
    (FileProblem("it is empty.", where="x.csv", fix="Ask for it again."), 400),
    (WorkspaceProblem("another run is writing."), 409),
    (MachineProblem("the disk is full."), 409),
]


def shown(problem: Exception):
    request = RequestFactory(headers={"host": "127.0.0.1"}).get("/policy")
    request.session = {}
    return TroubleMiddleware(lambda _request: None).process_exception(request, problem)


@pytest.mark.parametrize(("problem", "status"), ERRORS)
def test_what_cubital_has_to_say_is_a_page(workspace, problem, status):
    response = shown(problem)
    assert response.status_code == status
    assert problem.what in response.content.decode()


def test_open_questions_are_listed_with_their_choices(workspace):
    page = shown(QuestionsOpen([Question("order", "Day or month first?", ("day", "month"))])).content.decode()
    assert "Day or month first?" in page
    assert "day · month" in page


def test_a_fault_of_ours_is_not_swallowed(workspace):
    assert shown(ZeroDivisionError("x")) is None


def test_a_fault_of_ours_is_a_page_without_its_traceback(workspace, monkeypatch):
    def fail(*_args, **_kwargs):
        raise ZeroDivisionError("secret detail")

    monkeypatch.setattr("cubital.web.policy.views.current_policy", fail)
    client = Client(headers={"host": "127.0.0.1"}, raise_request_exception=False)
    client.get(door.new_link_path())
    response = client.get("/policy")
    assert response.status_code == 500
    assert "Cubital made a mistake." in response.content.decode()
    assert "secret detail" not in response.content.decode()


def test_an_unknown_address_is_a_page_of_ours(browser):
    response = browser.get("/no/such/page")
    assert response.status_code == 404
    assert "There is no such page." in response.content.decode()


def test_a_form_without_its_secret_changes_nothing_and_says_why(workspace):
    client = Client(headers={"host": "127.0.0.1"}, enforce_csrf_checks=True)
    client.get(door.new_link_path())
    response = client.post("/charter/1", {"name": "A", "role": "B", "on": "2025-11-01"})
    assert response.status_code == 403
    assert "This form is out of date." in response.content.decode()


def test_the_way_back_is_the_page_before_and_never_another_site(browser):
    own = browser.get("/no/such/page", headers={"referer": "http://127.0.0.1:8765/policy"}).content.decode()
    foreign = browser.get("/no/such/page", headers={"referer": "http://evil.example/x"}).content.decode()
    assert '<a href="/policy">Back</a>' in own
    assert '<a href="/">Back</a>' in foreign
