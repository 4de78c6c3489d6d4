"""Headers on everything, and no answer to another host's name.

The header names and their meaning: W3C Content Security Policy Level 3 and the Fetch standard.
"""

from __future__ import annotations

import pytest
from django.test import Client

from cubital.web.safety import is_loopback_host


def policy_of(response) -> dict[str, str]:
    parts = (part.strip().split(" ", 1) for part in response.headers["Content-Security-Policy"].split(";"))
    return {part[0]: part[1] for part in parts}


@pytest.mark.parametrize("path", ["/policy", "/static/cubital/paper.css", "/no/such/page"])
def test_every_response_forbids_whatever_is_not_ours(browser, path):
    response = browser.get(path)
    policy = policy_of(response)
    response.close()
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == policy["form-action"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"


def test_no_source_of_the_policy_is_another_host_or_inline(browser):
    sources = " ".join(policy_of(browser.get("/policy")).values()).split()
    assert set(sources) == {"'none'", "'self'", "data:"}


def test_types_are_not_guessed_and_pages_are_not_kept(browser):
    response = browser.get("/policy")
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Referrer-Policy"] == "same-origin"
    assert response.headers["Cache-Control"] == "no-store"


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example:8765", "localhost.evil.example", "", "198.51.100.7"]
)
def test_a_foreign_host_name_is_refused_before_anything_is_read(host):
    response = Client(headers={"host": host}).get("/static/cubital/paper.css")
    assert response.status_code == 400
    assert b"only to 127.0.0.1" in response.content


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost", "LOCALHOST:9000", "[::1]:8765"])
def test_this_computers_own_names_are_answered(host):
    assert is_loopback_host(host)


def test_static_files_are_served_without_being_collected(stranger):
    for name in ("cubital/page.js", "django_htmx/htmx-2.min.js", "fonts/AtkinsonHyperlegibleNext-Regular.woff2"):
        response = stranger.get(f"/static/{name}")
        assert response.status_code == 200, name
        assert b"".join(response.streaming_content)
        response.close()
