"""Old states are let go after the keep time, and only what no promise needs is deleted."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from laboratory_files import FACILITY, a_row, write_file
from whole_state import whole_state

from built_folders import BuiltOnce
from cubital.domain.errors import RequestProblem, WorkspaceProblem
from cubital.domain.snapshots import TableVersions
from cubital.workspace.batches import list_batches, list_changes
from cubital.workspace.compacting import compact_workspace
from cubital.workspace.freezing import export_month_snapshot
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.taking import take_file
from cubital.workspace.vacuuming import (
    State,
    VacuumReport,
    keep_days,
    kept_states,
    list_states,
    plan_vacuum,
    promise_state,
    set_keep_days,
    states_in_reading,
    states_to_release,
    vacuum_workspace,
)

NOON = datetime(2026, 3, 1, 12, tzinfo=UTC)
DAY = timedelta(days=1)
SOON = datetime.now(UTC) + timedelta(minutes=5)
NEXT_WEEK = datetime.now(UTC) + timedelta(days=7)


def a_state(batch: int, *, since: float, until: float | None, compaction: int | None = None, **more: datetime) -> State:
    """A state current between two points, in days before or after noon."""
    return State(
        batch=batch, compaction=compaction, versions=TableVersions(sets=10 * batch + (compaction or 0)),
        since=NOON + since * DAY, until=None if until is None else NOON + until * DAY,
        released_at=more.get("released_at"),
    )  # fmt: skip


STATES = (
    a_state(1, since=-30, until=-20),
    a_state(2, since=-20, until=-10),
    a_state(2, since=-10, until=-4, compaction=1),
    a_state(3, since=-4, until=None),
)


def test_without_a_keep_time_nothing_is_ever_let_go() -> None:
    assert states_to_release(STATES, promised=frozenset(), keep=None, now=NOON) == ()


@pytest.mark.parametrize(("days", "released"), [(21, ()), (19, (1,)), (5, (1,)), (3, (1, 2)), (0, (1, 2))])
def test_a_state_is_let_go_when_it_has_not_been_current_for_the_keep_time(days: int, released: tuple[int, ...]) -> None:
    assert states_to_release(STATES, promised=frozenset(), keep=days * DAY, now=NOON) == released


def test_a_promised_state_and_the_last_one_are_never_let_go() -> None:
    assert states_to_release(STATES, promised=frozenset({1}), keep=DAY, now=NOON) == (2,)


def test_of_each_promised_batch_the_newest_form_is_kept() -> None:
    assert [state.versions.sets for state in kept_states(STATES, going=(1,))] == [21, 30]


def test_what_was_current_an_hour_ago_may_still_be_being_read() -> None:
    grace = timedelta(hours=1)
    states = (
        a_state(1, since=-9, until=-8),
        a_state(2, since=-8, until=-0.01),
        a_state(3, since=-0.01, until=None),
    )
    assert [one.batch for one in states_in_reading(states, going=(), now=NOON, grace=grace)] == [2, 3]
    assert [one.batch for one in states_in_reading(states, going=(1,), now=NOON, grace=grace)] == [1, 2, 3]


def test_a_state_let_go_an_hour_ago_may_still_be_being_read() -> None:
    old, new = a_state(1, since=-9, until=-8, released_at=NOON - 0.01 * DAY), a_state(2, since=-8, until=None)
    assert states_in_reading((old, new), going=(), now=NOON, grace=timedelta(hours=1)) == (old, new)
    assert states_in_reading((old, new), going=(), now=NOON + DAY, grace=timedelta(hours=1)) == (new,)


def three_batches(folder: Path) -> None:
    with open_workspace(folder / "w") as workspace:
        for number, organism in enumerate(("No growth", "E.coli", "Staphylococcus aureus")):
            rows = [a_row(n, hours=20 * n, organism=organism if n == 3 else "Candida albicans") for n in range(10)]
            file = write_file(folder / f"{number}.csv", rows)
            take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


@pytest.fixture
def corrected(built_once: BuiltOnce, tmp_path: Path) -> Workspace:
    """Three batches: ten sets, then two corrections of one of them."""
    return open_workspace(built_once(three_batches, tmp_path) / "w")


def sets_of(workspace: Workspace, batch: int) -> int:
    with open_snapshot(workspace, batch=batch) as session:
        (count,) = session.one("select count(*) from sets")
        return int(count)


def stored_names(workspace: Workspace) -> set[str]:
    return {path.name for path in workspace.cultures.folder.rglob("*.parquet")}


def test_by_default_everything_ever_promised_stays(corrected: Workspace) -> None:
    before = stored_names(corrected)

    report = vacuum_workspace(corrected, now=NEXT_WEEK)

    assert (report.batches, report.files, report.later_files) == ((), 0, 0)
    assert stored_names(corrected) == before
    assert [sets_of(corrected, batch) for batch in (1, 2, 3)] == [10, 10, 10]


def test_a_plan_says_what_goes_and_deletes_nothing(corrected: Workspace) -> None:
    set_keep_days(corrected, 1)
    before = stored_names(corrected)

    plan = plan_vacuum(corrected, now=NEXT_WEEK, grace=timedelta(0))

    assert plan.batches == (1, 2)
    assert plan.files == 4  # one file of sets and one of isolates for each state
    assert plan.bytes > 0
    assert stored_names(corrected) == before
    assert [batch.released_at for batch in list_batches(corrected)] == [None, None, None]


def test_after_the_keep_time_old_states_go_and_the_last_one_stays(corrected: Workspace) -> None:
    before = whole_state(corrected)
    set_keep_days(corrected, 1)

    plan = plan_vacuum(corrected, now=NEXT_WEEK, grace=timedelta(0))
    report = vacuum_workspace(corrected, now=NEXT_WEEK, grace=timedelta(0))

    assert report == plan
    assert list_changes(corrected)[0].detail == {"batches": [1, 2], "files": 4, "bytes": report.bytes}
    after = whole_state(corrected)
    assert {name: after[name] for name in before if name != "batches"} == {
        name: before[name] for name in before if name != "batches"
    }
    assert [batch.released_at for batch in list_batches(corrected)] == [NEXT_WEEK, NEXT_WEEK, None]


def test_asking_for_a_state_that_was_let_go_says_so_in_a_sentence(corrected: Workspace) -> None:
    set_keep_days(corrected, 1)
    vacuum_workspace(corrected, now=NEXT_WEEK, grace=timedelta(0))

    with pytest.raises(RequestProblem, match=rf"what batch 1 left was let go on {NEXT_WEEK:%Y-%m-%d}: the keep time"):
        open_snapshot(corrected, batch=1)


def test_files_that_may_be_being_read_go_the_next_time(corrected: Workspace) -> None:
    set_keep_days(corrected, 1)

    first = vacuum_workspace(corrected, now=NEXT_WEEK)
    second = vacuum_workspace(corrected, now=NEXT_WEEK + timedelta(minutes=30))
    third = vacuum_workspace(corrected, now=NEXT_WEEK + timedelta(minutes=90))

    assert (first.batches, first.files, first.later_files) == ((1, 2), 0, 4)
    assert (second.files, second.later_files) == (0, 4)
    assert (third.files, third.later_files) == (4, 0)


def test_a_compaction_frees_the_small_files_once_nobody_can_be_reading_them(
    corrected: Workspace, tmp_path: Path
) -> None:
    file = write_file(tmp_path / "further.csv", [a_row(n, hours=20 * n, organism="E.coli") for n in range(20, 25)])
    take_file(corrected, file=file, facility=FACILITY, accept=True)
    set_keep_days(corrected, 1)
    compact_workspace(corrected)
    before = whole_state(corrected)

    assert vacuum_workspace(corrected, now=SOON).files == 0
    report = vacuum_workspace(corrected, now=NEXT_WEEK, grace=timedelta(hours=1))
    vacuum_workspace(corrected, now=NEXT_WEEK + DAY)

    assert report.batches == (1, 2, 3)
    assert len(stored_names(corrected)) == 2  # one of sets and one of isolates
    assert whole_state(corrected)["sets"] == before["sets"]
    assert sets_of(corrected, 4) == 15


def test_a_frozen_month_keeps_its_state_whatever_the_keep_time(corrected: Workspace, tmp_path: Path) -> None:
    export_month_snapshot(corrected, month="2025-10", out=tmp_path / "frozen")
    file = write_file(tmp_path / "late.csv", [a_row(3, hours=60, organism="No growth")])
    take_file(corrected, file=file, facility=FACILITY, accept=True)
    set_keep_days(corrected, 1)

    assert vacuum_workspace(corrected, now=NEXT_WEEK, grace=timedelta(0)).batches == ()

    assert sets_of(corrected, 3) == 10
    # Its receipt says what the restated month was before, so that what it is compared with stays too.
    assert sets_of(corrected, 1) == 10


def test_only_a_batch_that_is_still_there_can_be_promised(corrected: Workspace) -> None:
    promise_state(corrected, batch=2, reason="board report")
    set_keep_days(corrected, 1)
    assert vacuum_workspace(corrected, now=NEXT_WEEK).batches == (1,)

    with pytest.raises(RequestProblem, match="no batch 1 whose state could be kept"):
        promise_state(corrected, batch=1, reason="board report")


def test_the_keep_time_is_remembered_and_must_be_a_day_or_more(corrected: Workspace) -> None:
    assert keep_days(corrected) is None
    set_keep_days(corrected, 400)
    assert keep_days(corrected) == 400
    set_keep_days(corrected, None)
    assert keep_days(corrected) is None
    with pytest.raises(RequestProblem, match="0 days is too short"):
        set_keep_days(corrected, 0)


def test_files_of_an_interrupted_vacuum_go_with_the_next_one(
    corrected: Workspace, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_keep_days(corrected, 1)
    monkeypatch.setattr(Path, "unlink", lambda *_a, **_k: None)
    vacuum_workspace(corrected, now=NEXT_WEEK, grace=timedelta(0))
    monkeypatch.undo()

    report = vacuum_workspace(corrected, now=NEXT_WEEK + DAY)

    assert (report.batches, report.files) == ((), 4)


def test_a_file_that_is_simply_missing_is_named(corrected: Workspace) -> None:
    lost = next(iter(corrected.cultures.folder.glob("sets/month=*/b000003_*.parquet")))
    lost.unlink()

    with pytest.raises(WorkspaceProblem, match=r"b000003_.*a file of the table sets is missing"):
        open_snapshot(corrected)


def test_an_empty_workspace_has_nothing_to_let_go(tmp_path: Path) -> None:
    with open_workspace(tmp_path / "w") as workspace:
        assert list_states(workspace) == ()
        assert vacuum_workspace(workspace, now=NEXT_WEEK) == VacuumReport(
            batches=(), files=0, bytes=0, later_files=0, later_bytes=0
        )
