"""The invented network written in two files, before and after a day, so that a trial can be sealed between them."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date
from pathlib import Path

from cubital.workspace.opening import Workspace
from cubital.workspace.taking import take_file
from places_world import HEADER, MARROWBY, write_network

START = date(2025, 7, 7)  # a Monday; files of before end with June
UNITS = ("ED", "ICU", "3 North")


def write_half(folder: Path, name: str, *, keep: Callable[[str], bool]) -> Path:
    """Marrowby's rows whose day of collection (ISO text) is kept."""
    folder.mkdir(exist_ok=True)
    with write_network(folder)[MARROWBY].open(encoding="utf-8", newline="") as stream:
        rows = list(csv.reader(stream))[1:]
    path = folder / name
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(HEADER)
        writer.writerows(row for row in rows if keep(row[4][:10]))
    return path


def take_before(workspace: Workspace, folder: Path, *, until: str = "2025-06-30") -> None:
    """Takes everything up to a day."""
    take(workspace, write_half(folder, f"to-{until}.csv", keep=lambda day: day <= until))


def take_after(workspace: Workspace, folder: Path, *, since: str = "2025-06-30", until: str = "2026-12-31") -> None:
    """Takes everything after a day, up to another."""
    take(workspace, write_half(folder, f"to-{until}.csv", keep=lambda day: since < day <= until))


def take(workspace: Workspace, path: Path) -> None:
    """Takes one file of Marrowby's."""
    take_file(workspace, file=path, facility=MARROWBY, timezone="America/Chicago", accept=True)
