"""The first page after opening the link is where the person, or the demonstration, left off."""

from __future__ import annotations

import pytest

from cubital.web.month.places import start_place
from cubital.workspace.places import last_place, list_places, remember_place
from cubital.workspace.taking import take_file


@pytest.mark.parametrize("unit", ["ED", "ed", " Ed "])
def test_a_unit_is_found_again_by_any_writing_of_its_name(workspace, story_file, unit):
    take_file(workspace, file=story_file, facility="Marrowby General", timezone="America/Chicago", accept=True)
    remember_place(workspace, month="2025-11", facility="Marrowby General", unit=unit)
    asked = start_place(list_places(workspace), last_place(workspace))
    assert (asked.facility, asked.unit, asked.month) == ("Marrowby General", "ed", "2025-11")


@pytest.fixture
def story_file():
    from pathlib import Path

    return Path(__file__).resolve().parents[2] / "acceptance" / "files" / "marrowby.csv"
