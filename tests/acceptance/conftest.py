"""Runs the command line as a person or a script would: a process of its own, nothing shared but the folder."""

from __future__ import annotations

from pathlib import Path

import pytest
from acceptance_shell import FILES, Shell


@pytest.fixture(scope="session")
def files() -> Path:
    return FILES


@pytest.fixture
def shell(tmp_path: Path) -> Shell:
    """An empty workspace."""
    return Shell(tmp_path / "a workspace")


@pytest.fixture(scope="module")
def two_hospitals(tmp_path_factory: pytest.TempPathFactory) -> Shell:
    """The workspace of one messy month: both files taken, the renamed unit said. Read only."""
    shell = Shell(tmp_path_factory.mktemp("messy month") / "workspace")
    zone = ("--timezone", "America/Chicago", "--yes")
    shell.json("take", FILES / "marrowby.csv", "--facility", "Marrowby General", *zone)
    shell.json("take", FILES / "thistlecombe.csv", "--facility", "Thistlecombe Community", *zone)
    shell.ok("units", "rename", "5 WEST", "5W-MED ONC", "--on", "2025-10-15", "--facility", "Marrowby General")
    return shell
