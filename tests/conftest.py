"""What every test shares: Hypothesis profiles and the way to open data beside the checkout."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parent.parent
OPEN_DATA = ROOT.parent / "shared" / "data"
CHECK_VALUES = ROOT.parent / "shared" / "check-values"

_QUIET = [HealthCheck.too_slow, HealthCheck.data_too_large]
settings.register_profile("ci", deadline=None, derandomize=True, suppress_health_check=_QUIET, print_blob=True)
settings.register_profile("long", deadline=None, max_examples=20_000, suppress_health_check=_QUIET, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))


def _existing(folder: Path, name: str) -> Path:
    path = folder / name
    if not path.exists():
        pytest.skip(f"open data '{name}' is not beside this checkout (looked in {folder.relative_to(ROOT.parent)})")
    return path


@pytest.fixture(scope="session")
def open_data():
    """A function from a folder's name to its path; skips with the reason where the open data are absent."""
    return lambda name: _existing(OPEN_DATA, name)


@pytest.fixture(scope="session")
def check_values():
    """A function from a file's name to its path among the check values; skips with the reason where absent."""
    return lambda name: _existing(CHECK_VALUES, name)


@pytest.fixture(autouse=True)
def _scratch_place_stays() -> Iterator[None]:
    """A server inside the tests moves the process's temporary folder into its workspace; not beyond a test."""
    place = tempfile.tempdir
    yield
    tempfile.tempdir = place
