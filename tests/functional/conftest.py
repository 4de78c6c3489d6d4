"""Tests in a real browser: each has a time limit, and one more try in a new browser when the old one stopped answering.

A failed expectation is never tried again. Whoever is tried again is named at the end of the run.
"""

from __future__ import annotations

import traceback
from collections.abc import Generator, Iterator

import pytest
from living_browser import PATIENCE_SECONDS, REMAKES, LivingBrowser, NoAnswerError, patience, tell_silence
from playwright.sync_api import sync_playwright


@pytest.fixture(scope="module")
def chromium() -> Iterator[LivingBrowser]:
    """A headless Chromium of this machine.

    Closed with its module: while one is open, code of the same process counts as asynchronous.
    """
    with sync_playwright() as play:
        living = LivingBrowser(play)
        yield living
        living.close()


@pytest.hookimpl(tryfirst=True)
def pytest_pyfunc_call(pyfuncitem: pytest.Function) -> bool | None:
    """Runs a test of the browser with a time limit; a silent browser is replaced once."""
    if pyfuncitem.get_closest_marker("browser") is None:
        return None
    try:
        _run(pyfuncitem)
    except NoAnswerError as silent:
        if (living := pyfuncitem.funcargs.get("chromium")) is None:
            raise
        steps = traceback.extract_tb(silent.__traceback__)
        lines = [step.lineno for step in steps if step.filename == str(pyfuncitem.path)]
        tell_silence(pyfuncitem, f"in line {lines[-1]}")
        living.close()
        with patience(PATIENCE_SECONDS):
            for name, remake in pyfuncitem.stash.get(REMAKES, {}).items():
                pyfuncitem.funcargs[name] = remake()
        _run(pyfuncitem)
    return True


def _run(item: pytest.Function) -> None:
    with patience(PATIENCE_SECONDS):
        item.obj(**{name: item.funcargs[name] for name in item._fixtureinfo.argnames})


@pytest.hookimpl(wrapper=True)
def pytest_runtest_setup() -> Generator[None, None, None]:
    """What is made for a test is waited for no longer than the test."""
    with patience(PATIENCE_SECONDS):
        return (yield)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown() -> Generator[None, None, None]:
    """So is what is put away after it."""
    with patience(PATIENCE_SECONDS):
        return (yield)
