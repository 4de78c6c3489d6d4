"""Joining the small files of a month changes files and nothing else."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

import pytest
from culture_rows import a_set, add_new_movements, add_new_sets
from hypothesis import given, settings
from hypothesis import strategies as st
from laboratory_files import FACILITY, a_row, write_file
from whole_state import stray_files, whole_state

from built_folders import BuiltOnce
from cubital.domain.snapshots import TableVersions
from cubital.engine import open_session
from cubital.store.cultures import CultureStore
from cubital.store.shapes import STORED
from cubital.workspace.batches import list_changes
from cubital.workspace.compacting import CROWDED, compact_workspace, plan_compaction
from cubital.workspace.months import month_answer
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.snapshots import committed_versions, open_snapshot, snapshot_words
from cubital.workspace.taking import take_file

EXAMPLES = max(10, settings().max_examples // 100)  # each one writes a few dozen tables


def take_night(workspace: Workspace, folder: Path, *nights: int) -> None:
    """One file of five sets per night, all of them in October."""
    for night in nights:
        rows = [a_row(5 * night + n, hours=24 * night + n, organism="E.coli") for n in range(5)]
        file = write_file(folder / f"night {night}.csv", rows)
        take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


def four_nights(folder: Path) -> None:
    with open_workspace(folder / "w") as workspace:
        take_night(workspace, folder, 1, 2, 3, 4)


@pytest.fixture
def nightly(built_once: BuiltOnce, tmp_path: Path) -> Workspace:
    return open_workspace(built_once(four_nights, tmp_path) / "w")


def file_counts(workspace: Workspace) -> dict[str, int]:
    versions = committed_versions(workspace)
    return {name: len(workspace.cultures.table(name).files(getattr(versions, name))) for name in STORED}


def test_compaction_leaves_one_file_per_month_and_the_same_rows(nightly: Workspace) -> None:
    before = whole_state(nightly)
    assert file_counts(nightly) == {"sets": 4, "bottles": 0, "isolates": 4, "movements": 0}

    report = compact_workspace(nightly)

    assert (report.number, report.months, report.files_before, report.files_after) == (1, ("2025-10",), 8, 2)
    assert file_counts(nightly) == {"sets": 1, "bottles": 0, "isolates": 1, "movements": 0}
    assert whole_state(nightly) == before
    assert stray_files(nightly) == set()
    assert list_changes(nightly)[0].action == "compact"


def test_a_month_answers_the_same_before_and_after(nightly: Workspace) -> None:
    before = month_answer(nightly, month="2025-10")
    words = snapshot_words(nightly)

    compact_workspace(nightly)

    assert month_answer(nightly, month="2025-10") == before
    assert snapshot_words(nightly) == words


def test_a_plan_says_what_would_be_joined_and_changes_nothing(nightly: Workspace) -> None:
    versions = committed_versions(nightly)

    plan = plan_compaction(nightly)

    assert (plan.number, plan.files_before, plan.files_after) == (None, 8, 2)
    assert committed_versions(nightly) == versions


def test_a_second_compaction_finds_nothing_to_do(nightly: Workspace) -> None:
    compact_workspace(nightly)
    versions = committed_versions(nightly)

    report = compact_workspace(nightly)

    assert (report.number, report.months, report.files_before) == (None, (), 0)
    assert committed_versions(nightly) == versions


def test_earlier_states_still_open_after_a_compaction(nightly: Workspace) -> None:
    compact_workspace(nightly)

    for batch, sets in ((1, 5), (2, 10), (4, 20)):
        with open_snapshot(nightly, batch=batch) as session:
            assert session.one("select count(*) from sets") == (sets,)


def test_files_taken_after_a_compaction_build_on_it(nightly: Workspace, tmp_path: Path) -> None:
    compact_workspace(nightly)

    take_night(nightly, tmp_path, 4, 5)

    with open_snapshot(nightly) as session:
        assert session.one("select count(*), max(set_id), count(distinct set_id) from sets") == (25, 25, 25)
    assert file_counts(nightly)["sets"] == 2


def test_many_small_files_are_joined_without_being_asked(tmp_path: Path) -> None:
    workspace = open_workspace(tmp_path / "w")

    take_night(workspace, tmp_path, *range(1, CROWDED))
    assert file_counts(workspace)["sets"] == CROWDED - 1
    take_night(workspace, tmp_path, CROWDED)

    assert file_counts(workspace)["sets"] == 1
    with open_snapshot(workspace) as session:
        assert session.one("select count(*) from sets") == (5 * CROWDED,)


def test_a_full_disk_while_joining_leaves_the_file_taken_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    workspace = open_workspace(tmp_path / "w")
    take_night(workspace, tmp_path, *range(1, CROWDED))

    def no_room(*_arguments: Any, **_named: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(CultureStore, "compact", no_room)
    file = write_file(tmp_path / "last.csv", [a_row(900, hours=300, organism="E.coli")])
    report = take_file(workspace, file=file, facility=FACILITY, accept=True)

    assert report.added == 1
    assert any("put off" in note and "disk is full" in note for note in report.notes)
    monkeypatch.undo()
    assert compact_workspace(workspace).files_before == 2 * CROWDED


def test_what_an_interrupted_compaction_left_is_undone(nightly: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    before = whole_state(nightly)
    versions = committed_versions(nightly)
    crowded = nightly.cultures.crowded_months(versions, at_least=2)
    nightly.cultures.compact(crowded, versions=versions, number=1)
    assert whole_state(nightly) == before
    assert len(stray_files(nightly)) == 2

    report = compact_workspace(nightly)

    assert (report.number, report.files_before, report.files_after) == (1, 8, 2)
    assert stray_files(nightly) == set()
    assert whole_state(nightly) == before


steps = st.lists(
    st.dictionaries(
        st.sampled_from([str(n) for n in range(6)]),
        st.tuples(st.sampled_from([0.0, 20.0, 40.0]), st.sampled_from(["ed", "icu"]), st.booleans()),
        min_size=1,
        max_size=4,
    ),
    min_size=1,
    max_size=4,
)


def run(sequence: list[dict[str, tuple[float, str, bool]]], *, compact_after: set[int]) -> dict[str, list[Any]]:
    """The stored rows after these files, joined after some of them; then one file of ward movements."""
    with tempfile.TemporaryDirectory() as folder:
        store, versions = CultureStore(Path(folder)), TableVersions()
        for number, file in enumerate(sequence, start=1):
            with open_session(folders=[store.folder]) as session:
                sets = [
                    a_set(key, days=days, unit_key=unit, organisms=("bacillus",) if grown else ())
                    for key, (days, unit, grown) in file.items()
                ]
                add_new_sets(session, sets)
                versions = store.merge(session, versions=versions, batch=number).versions
            if number in compact_after:
                crowded = store.crowded_months(versions, at_least=2)
                versions = store.compact(crowded, versions=versions, number=number).versions
        with open_session(folders=[store.folder]) as session:
            add_new_movements(session, [(7, "hall", 10.0, 30.0)])
            versions = store.merge_movements(session, versions=versions, batch=99).versions
        with open_session(folders=[store.folder]) as session:
            store.add_stored_views(session, versions)
            return {name: session.rows(f"select * from stored_{name} order by all") for name in STORED}


@settings(max_examples=EXAMPLES)
@given(steps, st.sets(st.integers(1, 4)))
def test_joined_between_any_two_files_the_rows_are_the_same(
    sequence: list[dict[str, tuple[float, str, bool]]], compact_after: set[int]
) -> None:
    assert run(sequence, compact_after=compact_after) == run(sequence, compact_after=set())
