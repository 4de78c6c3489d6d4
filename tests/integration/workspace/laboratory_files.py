"""Small laboratory files written for a test: one row per set, ISO times, an invented hospital."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

HEADER = ["Accession", "Patient No", "Birth", "Ward", "Collected", "Received", "Collector", "Status", "Organism"]
START = datetime(2025, 10, 1, 8, 0)  # noqa: DTZ001 - a laboratory writes local time without a zone
FACILITY = "Marrowby General"


def a_row(
    number: int, *, hours: float = 0, organism: str = "No growth", ward: str = "ED", status: str = "F"
) -> list[str]:
    """Set ``number``, drawn ``hours`` after 1 October 2025."""
    at = START + timedelta(hours=hours)
    received = at + timedelta(minutes=35)
    return [
        f"A{number:06d}", f"P{number // 2:05d}", "1957-04-09", ward, f"{at:%Y-%m-%d %H:%M}",
        f"{received:%Y-%m-%d %H:%M}", "R.OKO", status, organism,
    ]  # fmt: skip


def write_file(path: Path, rows: Iterable[list[str]]) -> Path:
    """The rows under their header as a comma-separated file."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(HEADER)
        writer.writerows(rows)
    return path


def first_file(path: Path) -> Path:
    """Sixty sets in October and November."""
    return write_file(path, [a_row(n, hours=20 * n) for n in range(60)])


def second_file(path: Path) -> Path:
    """The last twenty of them, half corrected, and thirty new ones up to December."""
    again = [a_row(n, hours=20 * n, organism="E.coli" if n % 2 else "No growth") for n in range(40, 60)]
    return write_file(path, [*again, *(a_row(n, hours=20 * n, ward="ICU") for n in range(60, 90))])
