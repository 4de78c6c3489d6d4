"""A file taken into a workspace: once, again, corrected, with questions, beside another run."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from laboratory_files import FACILITY, a_row, first_file, second_file, write_file

from cubital.domain.errors import FileProblem, QuestionsOpen, RequestProblem, WorkspaceProblem
from cubital.workspace.batches import get_batch, list_batches, list_changes, row_fates
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.sources import recall_source, teach_source
from cubital.workspace.taking import TakeReport, preview_file, take_file
from cubital.workspace.writing import hold_workspace

ZONE = "America/Chicago"


@pytest.fixture
def workspace(tmp_path: Path) -> Iterator[Workspace]:
    with open_workspace(tmp_path / "a workspace") as opened:
        yield opened


def take(workspace: Workspace, file: Path, facility: str = FACILITY, **answers: str) -> TakeReport:
    return take_file(workspace, file=file, facility=facility, timezone=ZONE, accept=True, answers=answers)


def test_every_row_is_accounted_for(workspace: Workspace, tmp_path: Path) -> None:
    report = take(workspace, first_file(tmp_path / "october.csv"))

    assert (report.rows, report.sets, report.added, report.batch) == (60, 60, 60, 1)
    assert report.rows == report.sets + sum(loss.count for loss in report.losses)
    assert [fate.fate for fate in row_fates(workspace, 1)] == ["set"] * 60


def test_the_same_file_again_changes_nothing_and_says_so(workspace: Workspace, tmp_path: Path) -> None:
    file = first_file(tmp_path / "october.csv")
    take(workspace, file)
    before = get_batch(workspace, 1)

    again = take(workspace, file)

    assert (again.already_taken, again.batch, again.added, again.changed, again.unchanged) == (True, 1, 0, 0, 60)
    assert "taken before, as batch 1" in again.notes[0]
    assert list_batches(workspace) == (before,)


def test_the_same_file_under_another_name_is_known(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, first_file(tmp_path / "october.csv"))

    assert take(workspace, first_file(tmp_path / "copy of october.csv")).already_taken


def test_the_same_file_is_read_anew_once_its_source_has_learnt(workspace: Workspace, tmp_path: Path) -> None:
    file = write_file(tmp_path / "one.csv", [a_row(1, organism="gargle bug"), a_row(2)])
    take(workspace, file)
    teach_source(workspace, source=FACILITY, organisms={"gargle bug": "escherichia-coli"})

    again = take(workspace, file)

    assert (again.already_taken, again.batch, again.changed, again.unchanged) == (False, 2, 1, 1)
    with open_snapshot(workspace) as session:
        assert session.rows("select organism_key, match from isolates") == [("escherichia-coli", "confirmed")]


def test_a_correction_is_dated_and_the_old_figure_kept(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, first_file(tmp_path / "october.csv"))

    report = take(workspace, second_file(tmp_path / "december.csv"))

    assert (report.added, report.changed, report.unchanged) == (30, 10, 10)
    assert report.changed_months == ("2025-11",)
    assert get_batch(workspace, 2).changed_months == ("2025-11",)
    with open_snapshot(workspace, batch=1) as old, open_snapshot(workspace) as new:
        grown = "select count(distinct set_id) from isolates where organism_key = 'escherichia-coli'"
        assert (old.one(grown), new.one(grown)) == ((0,), (10,))
    assert snapshot_words(workspace, batch=1).startswith("batch 1 (sets 1")


def test_an_older_file_taken_again_does_not_undo_a_correction(workspace: Workspace, tmp_path: Path) -> None:
    october = first_file(tmp_path / "october.csv")
    take(workspace, october)
    take(workspace, second_file(tmp_path / "december.csv"))

    assert take(workspace, october).already_taken


def test_a_new_hospital_needs_a_time_zone(workspace: Workspace, tmp_path: Path) -> None:
    with pytest.raises(QuestionsOpen) as caught:
        take_file(workspace, file=first_file(tmp_path / "october.csv"), facility=FACILITY, accept=True)

    assert [question.key for question in caught.value.questions] == ["timezone"]
    assert list_batches(workspace) == ()


def test_a_second_hospital_may_share_the_time_zone_when_accepted(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, first_file(tmp_path / "october.csv"))
    file = write_file(tmp_path / "other.csv", [a_row(1)])

    with pytest.raises(QuestionsOpen, match="Thistlecombe"):
        take_file(workspace, file=file, facility="Thistlecombe Community")
    assert take_file(workspace, file=file, facility="Thistlecombe Community", accept=True).added == 1


def test_a_known_hospital_keeps_its_time_zone(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, first_file(tmp_path / "october.csv"))

    with pytest.raises(RequestProblem, match="kept in America/Chicago"):
        take_file(workspace, file=first_file(tmp_path / "x.csv"), facility="marrowby general", timezone="Europe/Madrid")


def test_an_unknown_time_zone_is_refused_with_near_ones(workspace: Workspace, tmp_path: Path) -> None:
    with pytest.raises(RequestProblem, match=r"'America/Chicgo' is no time zone.*America/Chicago"):
        take_file(workspace, file=first_file(tmp_path / "x.csv"), facility=FACILITY, timezone="America/Chicgo")


def test_a_missing_file_is_said_to_be_missing(workspace: Workspace, tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"nothing\.csv: the file cannot be found"):
        take(workspace, tmp_path / "nothing.csv")


def test_a_refused_file_leaves_no_trace(workspace: Workspace, tmp_path: Path) -> None:
    empty = tmp_path / "empty.csv"
    empty.write_bytes(b"")

    with pytest.raises(FileProblem):
        take(workspace, empty)

    assert list_batches(workspace) == ()
    assert [line.action for line in list_changes(workspace)] == ["save_policy", "save_charter"]


def test_another_hospitals_file_is_asked_about_before_it_overwrites(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, first_file(tmp_path / "october.csv"))
    others = [[row[0], f"T{row[1]}", *row[2:]] for row in (a_row(n, hours=20 * n) for n in range(40))]
    file = write_file(tmp_path / "thistlecombe.csv", others)

    with pytest.raises(QuestionsOpen, match="40 of the 40 sets") as caught:
        take(workspace, file)

    assert [question.key for question in caught.value.questions] == ["other_patients"]
    assert len(list_batches(workspace)) == 1
    assert take(workspace, file, other_patients="yes").changed == 40
    assert "other_patients" not in recall_source(workspace, FACILITY).answers


def test_the_same_file_for_two_hospitals_is_pointed_out(workspace: Workspace, tmp_path: Path) -> None:
    file = first_file(tmp_path / "october.csv")
    take(workspace, file)

    assert "One of the two may be a slip" in " ".join(take(workspace, file, "Thistlecombe Community").notes)


def test_a_preview_stores_nothing(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, first_file(tmp_path / "october.csv"))

    preview = preview_file(workspace, file=second_file(tmp_path / "december.csv"), facility=FACILITY)

    assert preview.plan
    assert (preview.plan.added, preview.plan.changed, preview.already_taken) == (30, 10, None)
    assert next((m.month, m.arriving, m.stored) for m in preview.months) == ("2025-10", 0, 37)
    assert len(list_batches(workspace)) == 1


def test_a_preview_of_a_taken_file_names_its_batch(workspace: Workspace, tmp_path: Path) -> None:
    file = first_file(tmp_path / "october.csv")
    take(workspace, file)

    assert preview_file(workspace, file=file, facility=FACILITY).already_taken == 1


def test_progress_runs_from_nothing_to_all(workspace: Workspace, tmp_path: Path) -> None:
    seen: list[float] = []

    take_file(
        workspace, file=first_file(tmp_path / "october.csv"), facility=FACILITY, timezone=ZONE, accept=True,
        progress=lambda _step, fraction: seen.append(fraction),
    )  # fmt: skip

    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)


def test_a_writer_at_work_is_named_when_patience_ends(workspace: Workspace) -> None:
    waited: list[bool] = []
    other = open_workspace(workspace.folder)

    with (
        hold_workspace(workspace),
        pytest.raises(WorkspaceProblem, match="another run of Cubital"),
        hold_workspace(other, patience=0.1, waiting=lambda: waited.append(True)),
    ):
        pass

    assert waited == [True]


def test_a_past_batch_that_never_was_is_refused(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, first_file(tmp_path / "october.csv"))

    with pytest.raises(RequestProblem, match="no batch 7"):
        open_snapshot(workspace, batch=7)


def test_a_workspace_without_files_has_nothing_to_open(workspace: Workspace) -> None:
    with pytest.raises(RequestProblem, match="no file has been taken"):
        open_snapshot(workspace)
