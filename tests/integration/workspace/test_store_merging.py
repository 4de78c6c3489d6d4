"""Files merged into the store by facility and accession: what is new, corrected, the same, outdated."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from culture_rows import START, a_set, add_new_sets

from cubital.domain.snapshots import TableVersions
from cubital.engine import open_session
from cubital.store.cultures import CultureStore, MergeOutcome


class Shelf:
    """A store with the state that its last batch left."""

    def __init__(self, folder: Path) -> None:
        self.store = CultureStore(folder / "cultures")
        self.store.folder.mkdir()
        self.versions = TableVersions()
        self.batch = 0

    def take(self, *sets: Mapping[str, Any]) -> MergeOutcome:
        self.batch += 1
        with open_session(folders=[self.store.folder]) as session:
            add_new_sets(session, sets)
            outcome = self.store.merge(session, versions=self.versions, batch=self.batch)
        self.versions = outcome.versions
        return outcome

    def rows(self, sql: str, versions: TableVersions | None = None) -> list[tuple[Any, ...]]:
        with self.store.open_snapshot(versions or self.versions) as session:
            return session.rows(sql)


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path)


def counts(outcome: MergeOutcome) -> tuple[int, int, int, int]:
    return outcome.added, outcome.changed, outcome.unchanged, outcome.outdated


def test_a_first_file_is_added_whole(shelf: Shelf) -> None:
    outcome = shelf.take(a_set("1", organisms=("escherichia-coli",)), a_set("2"))

    assert counts(outcome) == (2, 0, 0, 0)
    assert shelf.rows("select set_id, accession, batch from sets order by 1") == [(1, "1", 1), (2, "2", 1)]
    assert shelf.rows("select set_id, organism_key from isolates") == [(1, "escherichia-coli")]
    assert shelf.rows("select count(*) from bottles") == [(4,)]


def test_an_empty_store_opens_with_empty_tables(shelf: Shelf) -> None:
    assert shelf.rows("select count(*), count(month) from sets") == [(0, 0)]
    assert shelf.rows("select from_at from movements") == []


def test_the_same_content_makes_no_new_version(shelf: Shelf) -> None:
    shelf.take(a_set("1", organisms=("escherichia-coli",)), a_set("2", days=40))
    before = shelf.versions

    outcome = shelf.take(a_set("2", days=40), a_set("1", organisms=("escherichia-coli",)))

    assert counts(outcome) == (0, 0, 2, 0)
    assert outcome.versions == before
    assert outcome.changed_months == ()


def test_a_corrected_set_keeps_its_number_and_the_old_state_stays(shelf: Shelf) -> None:
    shelf.take(a_set("1"), a_set("2", organisms=("bacillus",)))
    before = shelf.versions

    outcome = shelf.take(a_set("2", organisms=("bacillus-cereus",)))

    assert counts(outcome) == (0, 1, 0, 0)
    assert outcome.changed_months == ("2025-10",)
    assert shelf.rows("select set_id, organism_key from isolates") == [(2, "bacillus-cereus")]
    assert shelf.rows("select set_id, organism_key from isolates", before) == [(2, "bacillus")]
    assert shelf.rows("select set_id, batch from sets order by 1") == [(1, 1), (2, 2)]


def test_a_correction_rewrites_its_month_and_no_other(shelf: Shelf) -> None:
    shelf.take(a_set("1"), a_set("2", days=40), a_set("3", days=80))
    before = {file.path for file in shelf.store.table("sets").files(shelf.versions.sets)}

    shelf.take(a_set("2", days=40, unit_key="icu"))

    after = {file.path for file in shelf.store.table("sets").files(shelf.versions.sets)}
    assert {path.split("/")[0] for path in before ^ after} == {"month=2025-11"}


def test_a_further_month_leaves_what_is_stored_untouched(shelf: Shelf) -> None:
    shelf.take(a_set("1"))
    before = set(shelf.store.table("sets").files(shelf.versions.sets))

    outcome = shelf.take(a_set("2", days=40))

    assert before < set(shelf.store.table("sets").files(shelf.versions.sets))
    assert outcome.changed_months == ()


def test_a_late_set_restates_the_month_it_falls_in(shelf: Shelf) -> None:
    shelf.take(a_set("1"), a_set("2", days=40))

    assert shelf.take(a_set("3", days=1)).changed_months == ("2025-10",)


def test_a_final_result_replaces_a_preliminary_one(shelf: Shelf) -> None:
    shelf.take(a_set("1", status="preliminary"))

    outcome = shelf.take(a_set("1", organisms=("escherichia-coli",)))

    assert counts(outcome) == (0, 1, 0, 0)
    assert shelf.rows("select status from sets") == [("final",)]


@pytest.mark.parametrize("settled", ["final", "cancelled", "rejected"])
def test_a_preliminary_result_never_replaces_a_settled_one(shelf: Shelf, settled: str) -> None:
    shelf.take(a_set("1", status=settled))
    before = shelf.versions

    outcome = shelf.take(a_set("1", status="preliminary", organisms=("escherichia-coli",)))

    assert counts(outcome) == (0, 0, 0, 1)
    assert outcome.versions == before
    assert shelf.rows("select status from sets") == [(settled,)]


def test_a_set_whose_day_is_corrected_moves_with_its_parts(shelf: Shelf) -> None:
    shelf.take(a_set("1", organisms=("escherichia-coli",)), a_set("2"), a_set("3", days=40))

    outcome = shelf.take(a_set("1", days=40, organisms=("escherichia-coli",)))

    assert outcome.changed_months == ("2025-10", "2025-11")
    assert shelf.rows("select set_id, month from sets order by 1") == [(1, "2025-11"), (2, "2025-10"), (3, "2025-11")]
    assert shelf.rows("select set_id, count(*) from bottles group by 1 order by 1") == [(1, 2), (2, 2), (3, 2)]
    bottles = shelf.store.table("bottles").files(shelf.versions.bottles)
    assert {file.month: file.rows for file in bottles} == {"2025-10": 2, "2025-11": 4}
    assert {file.month for file in shelf.store.table("isolates").files(shelf.versions.isolates)} == {"2025-11"}


def test_a_file_that_leaves_fields_out_erases_nothing(shelf: Shelf) -> None:
    shelf.take(a_set("1", site="left arm", method="venepuncture"))
    poorer = a_set(
        "1", patient_key=None, age_group="unknown", received_at=None, unit_key="", collector_key=None,
        attribution="none", time_quality="date_only", collected_at=None, collected_local=None, bottles=(),
    )  # fmt: skip

    assert counts(shelf.take(poorer)) == (0, 0, 1, 0)
    assert shelf.rows("select collector_key, attribution, unit_key, site, time_quality from sets") == [
        ("jm", "B", "ed", "left arm", "exact")
    ]


def test_a_reused_accession_of_another_patient_is_another_set(shelf: Shelf) -> None:
    shelf.take(a_set("1", patient_key=7))

    outcome = shelf.take(a_set("1", days=365, patient_key=8))

    assert (outcome.added, outcome.changed, outcome.reused) == (1, 0, 1)
    assert shelf.rows("select set_id, patient_key from sets order by 1") == [(1, 7), (2, 8)]
    assert counts(shelf.take(a_set("1", days=365, patient_key=8, unit_key="icu"))) == (0, 1, 0, 0)
    assert shelf.rows("select set_id, unit_key from sets order by 1") == [(1, "ed"), (2, "icu")]


def test_a_wrong_year_put_right_for_the_same_patient_is_a_correction(shelf: Shelf) -> None:
    shelf.take(a_set("1", days=365))

    assert counts(shelf.take(a_set("1"))) == (0, 1, 0, 0)


def test_the_same_accession_at_another_hospital_is_another_set(shelf: Shelf) -> None:
    shelf.take(a_set("5001"))

    assert counts(shelf.take(a_set("5001", facility="Thistlecombe Community"))) == (1, 0, 0, 0)


def test_sets_without_a_date_are_kept_as_undated(shelf: Shelf) -> None:
    shelf.take(a_set("1", day=None, month="undated", collected_at=None, collected_local=None, time_quality="missing"))

    assert shelf.rows("select month, day from sets") == [("undated", None)]


def test_a_dated_file_gives_an_undated_set_its_day(shelf: Shelf) -> None:
    undated = {"day": None, "month": "undated", "collected_at": None, "collected_local": None}
    shelf.take(a_set("1", **undated, time_quality="missing"))

    shelf.take(a_set("1"))

    assert shelf.rows("select month, collected_at from sets") == [("2025-10", START)]


def test_the_folder_can_be_moved(shelf: Shelf, tmp_path: Path) -> None:
    shelf.take(a_set("1"))
    moved = tmp_path / "elsewhere, with a space é"
    shelf.store.folder.rename(moved)

    with CultureStore(moved).open_snapshot(shelf.versions) as session:
        assert session.rows("select accession from sets") == [("1",)]


def test_any_past_version_can_be_opened(shelf: Shelf) -> None:
    past = []
    for number in range(12):
        shelf.take(a_set(f"late {number}", days=number * 20), a_set("first", organisms=(f"organism-{number}",)))
        past.append(shelf.versions)

    for number, versions in enumerate(past):
        assert shelf.rows("select count(*) from sets", versions) == [(number + 2,)]
        assert shelf.rows("select organism_key from isolates", versions) == [(f"organism-{number}",)]


def test_a_version_that_no_record_names_is_undone(shelf: Shelf) -> None:
    shelf.take(a_set("1"), a_set("2", days=40))
    accepted = shelf.versions
    shelf.take(a_set("1", unit_key="icu"), a_set("3"))  # the record of this batch is never written

    recovered = shelf.store.recover(accepted, last_batch=1, last_compaction=0)

    assert shelf.rows("select accession, unit_key from sets order by 1", accepted) == [("1", "ed"), ("2", "ed")]
    assert shelf.rows("select accession, unit_key from sets order by 1", recovered) == [("1", "ed"), ("2", "ed")]
    assert not list(shelf.store.folder.rglob("b000002*"))


def test_taking_goes_on_after_an_undone_version(shelf: Shelf) -> None:
    shelf.take(a_set("1"))
    accepted = shelf.versions
    shelf.take(a_set("1", unit_key="icu"))
    shelf.versions = shelf.store.recover(accepted, last_batch=1, last_compaction=0)
    shelf.batch = 1

    shelf.take(a_set("2"))

    assert shelf.rows("select set_id, accession, unit_key from sets order by 1") == [(1, "1", "ed"), (2, "2", "ed")]


def test_a_first_batch_that_was_never_accepted_leaves_no_table(shelf: Shelf) -> None:
    shelf.take(a_set("1"))

    assert shelf.store.recover(TableVersions(), last_batch=0, last_compaction=0) == TableVersions()
    assert not list(shelf.store.folder.rglob("*.parquet"))


def test_files_without_a_log_entry_are_swept(shelf: Shelf) -> None:
    shelf.take(a_set("1"))
    left = shelf.store.folder / "sets" / "month=2025-10" / "b000002_left-over.parquet"
    left.write_bytes(b"half a file")

    assert shelf.store.recover(shelf.versions, last_batch=1, last_compaction=0) == shelf.versions
    assert not left.exists()
    assert shelf.rows("select count(*) from sets") == [(1,)]


def test_a_late_log_of_one_table_does_not_show(shelf: Shelf) -> None:
    shelf.take(a_set("1"))
    accepted = shelf.versions
    shelf.take(a_set("2"))

    half = replace(accepted, sets=shelf.versions.sets)
    recovered = shelf.store.recover(accepted, last_batch=1, last_compaction=0)

    assert half != recovered
    assert shelf.rows("select count(*) from bottles", recovered) == [(2,)]


def test_another_reader_of_the_open_table_format_sees_the_same_rows(shelf: Shelf) -> None:
    """Read back by pyarrow through the table's log, which takes the month from the log and not from the file."""
    from deltalake import DeltaTable

    shelf.take(a_set("1"), a_set("2", days=40))
    shelf.take(a_set("2", days=40, unit_key="icu"))

    table = DeltaTable(shelf.store.folder / "sets", version=shelf.versions.sets).to_pyarrow_table()
    rows = sorted(zip(*(table[name].to_pylist() for name in ("set_id", "unit_key", "month")), strict=True))
    assert rows == [(1, "ed", "2025-10"), (2, "icu", "2025-11")]
    assert table["collected_at"].to_pylist()[0].tzinfo is None
    assert START + timedelta(days=40) in table["collected_at"].to_pylist()


def test_a_corrected_result_leaves_the_bottles_alone(shelf: Shelf) -> None:
    shelf.take(a_set("1"), a_set("2"))
    before = shelf.versions

    shelf.take(a_set("2", organisms=("escherichia-coli",)))

    assert shelf.versions.bottles == before.bottles
    assert shelf.versions.sets != before.sets
    assert shelf.rows("select set_id, count(*) from bottles group by 1 order by 1") == [(1, 2), (2, 2)]


def test_bottles_move_with_their_set_to_another_month(shelf: Shelf) -> None:
    shelf.take(a_set("1"), a_set("2"), a_set("3", days=40))

    shelf.take(a_set("2", days=40), a_set("3", days=40, bottles=("aerobic",)), a_set("1", organisms=("bacillus",)))

    files = {file.month: file.rows for file in shelf.store.table("bottles").files(shelf.versions.bottles)}
    assert files == {"2025-10": 2, "2025-11": 3}
    assert shelf.rows("select set_id, count(*) from bottles group by 1 order by 1") == [(1, 2), (2, 2), (3, 1)]
