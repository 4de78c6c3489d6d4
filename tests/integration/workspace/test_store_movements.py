"""Ward movements give each exactly timed set the unit where its patient was, now and for later files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from culture_rows import a_set, add_new_movements, add_new_sets

from cubital.domain.snapshots import TableVersions
from cubital.engine import open_session
from cubital.store.cultures import CultureStore, MovementOutcome


class Wards:
    """A store that takes sets and movements in turn."""

    def __init__(self, folder: Path) -> None:
        self.store = CultureStore(folder)
        self.versions = TableVersions()
        self.batch = 0

    def take(self, *sets: dict[str, Any]) -> None:
        self.batch += 1
        with open_session(folders=[self.store.folder]) as session:
            add_new_sets(session, sets)
            self.versions = self.store.merge(session, versions=self.versions, batch=self.batch).versions

    def move(self, *stays: tuple[int, str, float, float | None]) -> MovementOutcome:
        self.batch += 1
        with open_session(folders=[self.store.folder]) as session:
            add_new_movements(session, stays)
            outcome = self.store.merge_movements(session, versions=self.versions, batch=self.batch)
        self.versions = outcome.versions
        return outcome

    def units(self, versions: TableVersions | None = None) -> dict[str, str]:
        with self.store.open_snapshot(versions or self.versions) as session:
            return dict(session.rows("select accession, unit_key from sets"))


@pytest.fixture
def wards(tmp_path: Path) -> Wards:
    return Wards(tmp_path)


def test_stored_sets_move_to_the_unit_where_the_patient_was(wards: Wards) -> None:
    wards.take(a_set("1", unit_key="5 west"), a_set("2", days=3, unit_key="5 west"), a_set("3", patient_key=8))
    before = wards.versions

    outcome = wards.move((7, "emergency", -0.1, 0.2), (7, "5 west", 0.2, None))

    assert wards.units() == {"1": "emergency", "2": "5 west", "3": "ed"}
    assert (outcome.added, outcome.moved_sets, outcome.changed_months) == (2, 1, ("2025-10",))
    assert wards.units(before)["1"] == "5 west"


def test_later_files_are_placed_by_the_same_movements(wards: Wards) -> None:
    wards.move((7, "emergency", -0.1, 0.2))

    wards.take(a_set("1", unit_key="5 west"))

    assert wards.units() == {"1": "emergency"}


def test_the_moment_of_leaving_belongs_to_the_next_unit(wards: Wards) -> None:
    wards.take(a_set("1"))

    wards.move((7, "emergency", -1, 0), (7, "icu", 0, 1))

    assert wards.units() == {"1": "icu"}


def test_a_stay_inside_a_stay_counts(wards: Wards) -> None:
    wards.take(a_set("1", days=1), a_set("2", days=3))

    wards.move((7, "ward", 0, 10), (7, "theatre", 0.9, 1.1))

    assert wards.units() == {"1": "theatre", "2": "ward"}


@pytest.mark.parametrize("quality", ["date_only", "after_receipt", "ambiguous_hour", "missing"])
def test_a_set_without_an_exact_time_keeps_its_unit(wards: Wards, quality: str) -> None:
    wards.take(a_set("1", time_quality=quality))

    assert wards.move((7, "icu", -1, 1)).moved_sets == 0
    assert wards.units() == {"1": "ed"}


@pytest.mark.parametrize("quality", ["date_only", "after_receipt", "ambiguous_hour", "missing"])
def test_a_later_set_without_an_exact_time_keeps_its_unit_too(wards: Wards, quality: str) -> None:
    wards.move((7, "icu", -1, 1))

    wards.take(a_set("1", time_quality=quality))

    assert wards.units() == {"1": "ed"}


def test_a_patient_without_a_key_is_nowhere(wards: Wards) -> None:
    wards.take(a_set("1", patient_key=None))

    assert wards.move((7, "icu", -1, 1)).moved_sets == 0


def test_a_later_file_says_when_a_stay_ended(wards: Wards) -> None:
    wards.move((7, "emergency", -1, None))
    wards.take(a_set("1", unit_key="5 west"))

    outcome = wards.move((7, "emergency", -1, -0.5))

    assert (outcome.added, outcome.changed, outcome.moved_sets) == (0, 1, 1)
    assert wards.units() == {"1": "5 west"}, "outside every stay a set goes back to the unit of its file"


def test_the_same_movements_again_change_nothing(wards: Wards) -> None:
    wards.take(a_set("1"))
    wards.move((7, "emergency", -1, 1), (8, "icu", -1, None))
    before = wards.versions

    outcome = wards.move((8, "icu", -1, None), (7, "emergency", -1, 1), (7, "emergency", -1, 1))

    assert (outcome.added, outcome.changed, outcome.unchanged, outcome.moved_sets) == (0, 0, 2, 0)
    assert outcome.versions == before


def test_a_file_read_again_after_a_move_is_no_change(wards: Wards) -> None:
    wards.take(a_set("1", unit_key="5 west"))
    wards.move((7, "emergency", -1, 1))
    before = wards.versions

    wards.take(a_set("1", unit_key="5 west"))

    assert wards.versions == before
