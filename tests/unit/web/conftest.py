"""A workspace of its own for each test, and a browser that has, or has not, come through the door."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest

from cubital.web.configuring import configure_pages

configure_pages()

from django.test import Client  # noqa: E402 - Django must know its settings first

STORY = Path(__file__).resolve().parents[2] / "acceptance" / "files" / "marrowby.csv"


@pytest.fixture(autouse=True)
def _patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """The bench of the charter is waited for as long as a slow computer takes; a test of the waiting says otherwise."""
    monkeypatch.setattr("cubital.web.charter.bench.PATIENCE_SECONDS", 60.0)


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


@pytest.fixture(scope="session")
def filled_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with one laboratory's file in it, to be copied."""
    from cubital.workspace.opening import open_workspace
    from cubital.workspace.taking import take_file

    folder = tmp_path_factory.mktemp("filled") / "desk"
    with open_workspace(folder) as opened:
        take_file(opened, file=STORY, facility="Marrowby General", timezone="America/Chicago", accept=True)
    return folder


@pytest.fixture
def filled(filled_folder: Path, tmp_path: Path):
    """A workspace of its own with that file in it, held by the pages."""
    from cubital.web.serving import build_application
    from cubital.workspace.opening import open_workspace

    opened = open_workspace(shutil.copytree(filled_folder, tmp_path / "filled desk"))
    build_application(opened)
    yield opened
    opened.close()
    tempfile.tempdir = None


@pytest.fixture
def reader(filled) -> Client:
    """A browser that has come through the door of a workspace with data."""
    from cubital.web.door import door

    client = Client(headers={"host": "127.0.0.1:8765"})
    client.get(door.new_link_path())
    return client
