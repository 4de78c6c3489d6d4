"""The pages as a person meets them: Cubital started from the command line, and a real Chromium in front of it."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from living_browser import LivingBrowser, NoAnswerError, close_quietly, patience, remember_remake, tell_silence
from playwright.sync_api import Browser, BrowserContext, Page, StorageState

OPENING_SECONDS = 60.0
FILES = Path(__file__).resolve().parents[2] / "acceptance" / "files"


@dataclass
class Served:
    """A running Cubital: its address, the link that opens it, and what the browser asked for or complained of."""

    base: str
    link: str
    asked: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)

    def foreign(self) -> list[str]:
        """Requests that went to anywhere but this server; pictures and files inside a page do not count."""
        own = urlsplit(self.base).netloc
        return [url for url in self.asked if not url.startswith(("data:", "blob:")) and urlsplit(url).netloc != own]


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def read_link(process: subprocess.Popen[str]) -> str:
    assert process.stderr is not None
    said = []
    for line in process.stderr:
        said.append(line)
        if "/open/" in line:
            return line.strip()
    raise AssertionError(f"Cubital did not start: {''.join(said)}")


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Cubital serving an empty workspace."""
    folder = tmp_path_factory.mktemp("served") / "desk with a space"
    port = free_port()
    command = [
        sys.executable,
        "-m",
        "cubital",
        "--workspace",
        str(folder),
        "serve",
        "--port",
        str(port),
        "--no-browser",
    ]
    process = subprocess.Popen(
        command,
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        link = read_link(process)
        yield Served(base=f"http://127.0.0.1:{port}", link=link)
    finally:
        process.terminate()
        process.wait(timeout=30)
        if process.stderr:
            process.stderr.close()


class Visit:
    """A context of the browser that has opened the link, and takes its session along into a new browser."""

    def __init__(self, chromium: LivingBrowser, served: Served) -> None:
        self._chromium = chromium
        self._served = served
        self._browser: Browser | None = None
        self._context: BrowserContext | None = None
        self._state: StorageState | None = None

    def context(self) -> BrowserContext:
        """The context; made anew in a new browser."""
        running = self._chromium.browser()
        if self._context is None or self._browser is not running:
            self._browser, self._context = running, self._open()
        return self._context

    def _open(self) -> BrowserContext:
        served = self._served
        context = self._chromium.new_context(
            viewport={"width": 1280, "height": 900}, locale="en-GB", accept_downloads=True, storage_state=self._state
        )
        context.on("request", lambda request: served.asked.append(request.url))
        context.on("console", lambda said: served.complaints.append(said.text) if said.type == "error" else None)
        context.on("weberror", lambda problem: served.complaints.append(str(problem.error)))
        if self._state is None:
            first = context.new_page()
            first.goto(served.link)
            first.wait_for_url(lambda url: "/open/" not in url)
            first.close()
            self._state = context.storage_state()
        return context

    def new_page(self) -> Page:
        """A fresh tab."""
        return self.context().new_page()

    def close(self) -> None:
        if self._context is not None:
            close_quietly(self._context)


@pytest.fixture(scope="module")
def visit(chromium: LivingBrowser, served: Served) -> Iterator[Visit]:
    """A browser that has opened the link."""
    visit = Visit(chromium, served)
    visit.context()
    yield visit
    visit.close()


@pytest.fixture
def page(visit: Visit, chromium: LivingBrowser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A fresh tab, in a new browser if this one gives none."""
    tabs = []

    def open_tab() -> Page:
        tabs.append(visit.new_page())
        tabs[-1].set_default_timeout(20_000)
        return tabs[-1]

    remember_remake(request.node, "page", open_tab)
    try:
        with patience(OPENING_SECONDS):
            tab = open_tab()
    except NoAnswerError:
        tell_silence(request.node, "when a tab was opened")
        chromium.close()
        tab = open_tab()
    yield tab
    close_quietly(tabs[-1])


@pytest.fixture(scope="session")
def story_files() -> Path:
    """The folder with the two laboratories' files of the messy month."""
    return FILES


@pytest.fixture(scope="module")
def with_a_file(visit: Visit, served: Served, story_files: Path) -> None:
    """One laboratory's file is in."""
    tab = visit.new_page()
    tab.goto(f"{served.base}/files")
    tab.set_input_files("input[type=file]", story_files / "marrowby.csv")
    tab.get_by_label("Hospital", exact=True).fill("Marrowby General")
    tab.get_by_label("Time zone of the hospital's clocks").fill("America/Chicago")
    tab.get_by_role("button", name="Look at this file").click()
    tab.get_by_role("button", name="Use this file").click()
    tab.wait_for_url("**/files/batch/*")
    tab.close()
