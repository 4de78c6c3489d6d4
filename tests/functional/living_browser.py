"""A Chromium of this machine that is started again when it stops answering.

Most of what is asked of a browser has a time limit of its own; opening a tab, closing it, changing its size and
running a script in it have none. ``patience`` gives them one, so that a silent browser does not hold up the run.
"""

from __future__ import annotations

import shutil
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from types import FrameType
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Error, Page, Playwright

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
CHROMIUM_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
PATIENCE_SECONDS = 150.0  # the longest of these tests takes 50 s on a busy machine of two cores
FAREWELL_SECONDS = 20.0
Remake = Callable[[], Page]
REMAKES = pytest.StashKey[dict[str, Remake]]()


class NoAnswerError(Exception):
    """The browser did not answer in time."""


@contextmanager
def patience(seconds: float) -> Iterator[None]:
    """Raises ``NoAnswerError`` in the main thread when the block takes longer; inside another, that one waits."""

    def ring(_signal: int, _frame: FrameType | None) -> None:
        raise NoAnswerError(f"no answer within {seconds:g} seconds")

    before = signal.signal(signal.SIGALRM, ring)
    left, _ = signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, left)
        signal.signal(signal.SIGALRM, before)


def find_chromium() -> str:
    """The path of this machine's Chromium; without one the test fails and says what to do."""
    found = next((path for name in CHROMIUM_NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.fail("no Chromium on this computer: run 'make browser' or install the package 'chromium'")
    return found


class LivingBrowser:
    """Hands out contexts and pages of one Chromium, and of its successor after ``close``."""

    def __init__(self, play: Playwright) -> None:
        self._play = play
        self._browser: Browser | None = None

    def browser(self) -> Browser:
        """The one that runs, started if there is none."""
        if self._browser is None or not self._browser.is_connected():
            self._browser = self._play.chromium.launch(executable_path=find_chromium(), args=CHROMIUM_FLAGS)
        return self._browser

    def new_context(self, **how: Any) -> BrowserContext:
        return self.browser().new_context(**how)

    def new_page(self) -> Page:
        return self.browser().new_page()

    def close(self) -> None:
        """Lets go of the one that runs, also if it no longer listens: that one ends with the driver."""
        leaving, self._browser = self._browser, None
        if leaving is not None:
            with suppress(NoAnswerError, Error), patience(FAREWELL_SECONDS):
                leaving.close()


def remember_remake(node: pytest.Item, name: str, remake: Remake) -> None:
    """Says how the page of fixture ``name`` is made again in a new browser."""
    node.stash.setdefault(REMAKES, {})[name] = remake


def tell_silence(node: pytest.Item, where: str) -> None:
    """Has it said at the end of the run that this test was tried again."""
    node.user_properties.append(("told", f"{node.nodeid}: the browser was silent {where}, tried again in a new one"))


def close_quietly(one: Page | BrowserContext) -> None:
    """Closes a tab or a context; one of a browser that went silent or is gone is left to it."""
    with suppress(NoAnswerError, Error), patience(FAREWELL_SECONDS):
        one.close()
