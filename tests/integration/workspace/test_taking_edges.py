"""The rarer ways of a file: left-aside results, reused numbers, open questions, slips of the hand."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from laboratory_files import FACILITY, a_row, first_file, write_file

from cubital.domain.errors import CubitalError, FileProblem, PolicyProblem, RequestProblem
from cubital.workspace import records
from cubital.workspace.batches import get_batch, list_batches, row_doubts
from cubital.workspace.moving import take_movements
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.policies import approve_policy
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.sources import teach_source
from cubital.workspace.taking import TakeReport, preview_file, take_file
from cubital.workspace.units import find_unit, list_units, name_unit
from cubital.workspace.writing import one_transaction, said_plainly


@pytest.fixture
def workspace(tmp_path: Path) -> Iterator[Workspace]:
    with open_workspace(tmp_path / "w") as opened:
        yield opened


def take(workspace: Workspace, file: Path) -> TakeReport:
    return take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


def test_preliminary_results_of_final_sets_are_left_aside_and_said(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, write_file(tmp_path / "final.csv", [a_row(1), a_row(2)]))

    report = take(workspace, write_file(tmp_path / "early.csv", [a_row(1, organism="GPC clusters", status="P")]))

    assert (report.outdated, report.changed) == (1, 0)
    assert "1 preliminary result was left aside" in " ".join(report.notes)


def test_numbers_used_again_a_year_later_are_said(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, write_file(tmp_path / "last.csv", [a_row(1), a_row(2)]))
    later = [[row[0], "P90000", *row[2:]] for row in (a_row(1, hours=24 * 365), a_row(2, hours=24 * 365))]

    report = take(workspace, write_file(tmp_path / "this.csv", later))

    assert (report.added, report.changed) == (2, 0)
    assert "2 sets carry an accession number that an older set has" in " ".join(report.notes)


def test_a_file_read_anew_without_effect_is_the_batch_it_was(workspace: Workspace, tmp_path: Path) -> None:
    file = first_file(tmp_path / "october.csv")
    take(workspace, file)
    teach_source(workspace, source=FACILITY, organisms={"never seen": "bacillus"})

    again = take(workspace, file)

    assert (again.already_taken, again.batch, len(list_batches(workspace))) == (True, 1, 1)


def test_a_file_read_anew_does_not_undo_what_a_later_one_corrected(workspace: Workspace, tmp_path: Path) -> None:
    first = write_file(tmp_path / "first.csv", [a_row(1), a_row(2, organism="gargle bug")])
    take(workspace, first)
    take(workspace, write_file(tmp_path / "second.csv", [a_row(1, organism="E.coli")]))
    teach_source(workspace, source=FACILITY, organisms={"gargle bug": "bacillus"})

    again = take(workspace, first)

    assert (again.changed, again.unchanged) == (1, 1)
    with open_snapshot(workspace) as session:
        found = session.rows("select accession, organism_key from isolates join sets using (set_id) order by 1")
    assert found == [("A000001", "escherichia-coli"), ("A000002", "bacillus")]


def test_movements_read_anew_without_effect_are_the_batch_they_were(workspace: Workspace, tmp_path: Path) -> None:
    stays = tmp_path / "stays.csv"
    stays.write_text("Patient No,Unit,From,To\nP00001,Emergency,2025-10-01 06:00,2025-10-01 14:00\n")
    zone = {"facility": FACILITY, "timezone": "America/Chicago", "accept": True}
    take_movements(workspace, file=stays, **zone)
    teach_source(workspace, source=f"{FACILITY}: movements", answers={"something": "else"})

    assert take_movements(workspace, file=stays, **zone).already_taken
    assert len(list_batches(workspace)) == 1


def test_a_preview_brings_open_questions_back_instead_of_raising_them(workspace: Workspace, tmp_path: Path) -> None:
    rows = [[*a_row(n)[:4], f"0{n}/02/2026 08:00", f"0{n}/02/2026 09:00", *a_row(n)[6:]] for n in (3, 4)]
    rows = [[*row[:2], "", *row[3:]] for row in rows]  # no birth date that would settle the order
    file = write_file(tmp_path / "either.csv", rows)

    preview = preview_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago")

    assert preview.questions
    assert (preview.plan, preview.reconciliation, preview.months) == (None, None, ())
    assert preview.inspection.rows == 2


def test_a_folder_in_place_of_a_file_is_refused(workspace: Workspace, tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match="this is a folder"):
        take(workspace, tmp_path)


def test_a_facility_needs_a_name(workspace: Workspace, tmp_path: Path) -> None:
    with pytest.raises(RequestProblem, match="has no name"):
        take_file(workspace, file=first_file(tmp_path / "o.csv"), facility="  ", timezone="America/Chicago")


def test_doubts_are_kept_by_row(workspace: Workspace, tmp_path: Path) -> None:
    row = a_row(1)
    row[4], row[5] = row[5], row[4]  # received before it was collected
    take(workspace, write_file(tmp_path / "swapped.csv", [row, a_row(2)]))

    reasons = {doubt.reason for doubt in row_doubts(workspace, 1)}
    assert reasons == {tally.reason for tally in get_batch(workspace, 1).reconciliation.doubts}
    assert reasons


def test_a_workspace_without_files_has_no_snapshot_to_name(workspace: Workspace) -> None:
    assert snapshot_words(workspace) == ""


def test_unknown_numbers_and_units_end_in_sentences(workspace: Workspace, tmp_path: Path) -> None:
    take(workspace, write_file(tmp_path / "nowhere.csv", [a_row(1, ward="")]))

    with pytest.raises(RequestProblem, match="no batch 5"):
        get_batch(workspace, 5)
    with pytest.raises(RequestProblem, match="there is no unit '5 west'"):
        find_unit(workspace, facility=FACILITY, unit="5 west")
    with pytest.raises(RequestProblem, match="name is empty"):
        name_unit(workspace, facility=FACILITY, unit=list_units(workspace)[0].unit_name, name=" ")
    with pytest.raises(PolicyProblem, match="no policy version 9"):
        approve_policy(workspace, version=9, approved_by="C", on=date(2025, 1, 1), review_by=date(2026, 1, 1))


def test_an_error_of_another_kind_passes_unchanged(tmp_path: Path) -> None:
    with pytest.raises(ZeroDivisionError), said_plainly(tmp_path):
        _ = 1 / 0


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), "the disk is full"),
        (OSError(errno.EROFS, "Read-only file system"), "this folder cannot be written"),
        (OSError("IO Error: Could not write file: No space left on device"), "the disk is full"),
        (MemoryError(), "too little free memory"),
        (RuntimeError("Out of Memory Error: failed to pin block"), "too little free memory"),
        (RuntimeError("database is locked"), "another run of Cubital"),
    ],
)
def test_trouble_of_the_machine_becomes_a_sentence(tmp_path: Path, error: Exception, sentence: str) -> None:
    with pytest.raises(CubitalError, match=sentence) as caught, said_plainly(tmp_path):
        raise error

    assert caught.value.__cause__ is error


def test_a_change_that_fails_halfway_is_no_change(workspace: Workspace) -> None:
    def fail_halfway() -> None:
        with one_transaction(workspace) as database:
            records.LastPlace.objects.using(database).create(place={"month": "2025-10"})
            raise RuntimeError("halfway")

    with pytest.raises(RuntimeError, match="halfway"):
        fail_halfway()

    assert not records.LastPlace.objects.using(workspace.alias).exists()


def test_a_query_that_names_no_workspace_reaches_none(workspace: Workspace) -> None:
    from django.core.exceptions import ImproperlyConfigured

    with pytest.raises(ImproperlyConfigured):
        records.Batch.objects.count()


def test_records_say_what_they_are() -> None:
    named = [
        records.Facility(name="Marrowby General"), records.Batch(number=3), records.SourceMemory(source="ward file"),
        records.UnitRename(old_key="a", new_key="b", on=date(2025, 1, 2)), records.UnitName(name="Emergency"),
        records.CharterRecord(version=2), records.PolicyRecord(version=4), records.LastPlace(),
        records.AuditLine(action="take_file", subject="batch 3"),
    ]  # fmt: skip

    assert [str(record) for record in named] == [
        "Marrowby General", "batch 3", "ward file", "a became b on 2025-01-02", "Emergency", "charter 2", "policy 4",
        "last place", "take_file batch 3",
    ]  # fmt: skip
