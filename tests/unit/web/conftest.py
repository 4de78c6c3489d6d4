"""A workspace of its own for each test, and a browser that has, or has not, come through the door."""

from __future__ import annotations

import tempfile
from typing import TYPE_CHECKING

import pytest

from cubital.web.configuring import configure_pages

configure_pages()

from django.test import Client  # noqa: E402 - Django must know its settings first

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def workspace(tmp_path: Path):
    """A fresh workspace, held by the pages."""
    from cubital.web.serving import build_application
    from cubital.workspace.opening import open_workspace

    opened = open_workspace(tmp_path / "desk of a test")
    build_application(opened)
    yield opened
    opened.close()
    tempfile.tempdir = None


@pytest.fixture
def stranger(workspace) -> Client:
    """A browser without the session."""
    return Client(headers={"host": "127.0.0.1:8765"}, raise_request_exception=True)


@pytest.fixture
def browser(stranger: Client) -> Client:
    """A browser that opened the link."""
    from cubital.web.door import door

    assert stranger.get(door.new_link_path()).status_code == 200
    return stranger
