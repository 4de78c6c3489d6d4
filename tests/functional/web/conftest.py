"""The pages as a person meets them: Cubital started from the command line, and a real Chromium in front of it."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

CHROMIUM_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
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


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """A headless Chromium of this machine.

    Closed with its module: while one is open, code of the same process counts as asynchronous.
    """
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        pytest.fail("no Chromium on this machine: run `make browser` first")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=program, args=CHROMIUM_FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def visit(chromium: Browser, served: Served) -> Iterator[BrowserContext]:
    """A browser that has opened the link."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, locale="en-GB", accept_downloads=True)
    context.on("request", lambda request: served.asked.append(request.url))
    context.on("console", lambda said: served.complaints.append(said.text) if said.type == "error" else None)
    context.on("weberror", lambda problem: served.complaints.append(str(problem.error)))
    first = context.new_page()
    first.goto(served.link)
    first.wait_for_url(lambda url: "/open/" not in url)
    first.close()
    yield context
    context.close()


@pytest.fixture
def page(visit: BrowserContext) -> Iterator[Page]:
    """A fresh tab."""
    tab = visit.new_page()
    tab.set_default_timeout(20_000)
    yield tab
    tab.close()


@pytest.fixture(scope="session")
def story_files() -> Path:
    """The folder with the two laboratories' files of the messy month."""
    return FILES


@pytest.fixture(scope="module")
def with_a_file(visit: BrowserContext, served: Served, story_files: Path) -> None:
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
