"""A Chromium on the card, with the network cut off."""

from __future__ import annotations

import shutil

import pytest

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
QUIET = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


def find_chromium() -> str:
    found = next((path for name in CHROMIUM_NAMES if (path := shutil.which(name))), None)
    if found is None:
        pytest.fail("no Chromium on this computer: run 'make browser' or install the package 'chromium'")
    return found
