"""The card of the approved example policy, open in a phone-sized browser in aeroplane mode."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from living_browser import close_quietly, remember_remake

from cubital.bedside.policy_file import example_policy
from cubital.papers.card_page import build_card


@pytest.fixture(scope="session")
def policy():
    """The example, approved around the day of the test, because a browser's clock is the computer's."""
    day = date.today()  # noqa: DTZ011
    return replace(
        example_policy(),
        approved_by="I. Quay, invented",
        approved_on=day - timedelta(days=10),
        review_by=day + timedelta(days=100),
    )


@pytest.fixture(scope="session")
def card_file(policy, tmp_path_factory):
    path = tmp_path_factory.mktemp("a card") / "card.html"
    path.write_text(build_card(policy, today=policy.approved_on), encoding="utf-8")
    return path


@pytest.fixture
def phone(chromium, card_file, request):
    """A page on the card at phone size, offline; fails the test on any request, storage, console word or error."""
    requests, words, pages = [], [], []

    def open_card():
        context = chromium.new_context(viewport={"width": 390, "height": 844}, offline=True)
        page = context.new_page()
        page.on("request", lambda request: requests.append(request.url))
        page.on("console", lambda message: words.append(message.text))
        page.on("pageerror", lambda error: words.append(str(error)))
        page.goto(card_file.as_uri())
        pages.append(page)
        return page

    remember_remake(request.node, "phone", open_card)
    yield open_card()
    stored = pages[-1].evaluate(
        "async () => [localStorage.length, sessionStorage.length, document.cookie, "
        "(await indexedDB.databases()).length]"
    )
    close_quietly(pages[-1].context)
    assert [url for url in requests if not url.startswith(("data:", card_file.as_uri()))] == []
    assert stored == [0, 0, "", 0]
    assert words == []
