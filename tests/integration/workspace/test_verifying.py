"""Verifying names every file that is no longer what was accepted, and the months that it touches."""

from __future__ import annotations

import random
import shutil
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest
from kept_answers import TODAY, corrected_workspace
from laboratory_files import FACILITY, a_row, write_file

from cubital.workspace.compacting import compact_workspace
from cubital.workspace.freezing import export_month_snapshot
from cubital.workspace.keeping import kept_files
from cubital.workspace.opening import RECORDS, SECRET, open_workspace
from cubital.workspace.taking import take_file
from cubital.workspace.vacuuming import vacuum_workspace
from cubital.workspace.verifying import VerifyReport, verify_workspace
from postgres_server import own_file_only

pytestmark = own_file_only
SEED = 20251125


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("original")
    corrected_workspace(folder / "w", folder).close()
    return folder / "w"


@pytest.fixture
def folder(original: Path, tmp_path: Path) -> Path:
    shutil.copytree(original, tmp_path / "w")
    return tmp_path / "w"


def looked_at(folder: Path) -> VerifyReport:
    with open_workspace(folder, create=False) as workspace:
        return verify_workspace(workspace)


def flip(path: Path, place: int) -> None:
    content = bytearray(path.read_bytes())
    content[place % len(content)] ^= 1
    path.write_bytes(content)


def sql(folder: Path, statement: str) -> None:
    connection = sqlite3.connect(folder / RECORDS)
    connection.execute(statement)
    connection.commit()
    connection.close()


def test_a_sound_workspace_has_no_findings_and_all_its_rows(folder: Path) -> None:
    report = looked_at(folder)

    assert report.findings == ()
    assert report.rows == {"sets": 90, "bottles": 0, "isolates": 10, "movements": 0}
    assert report.records["batch"] == 2
    assert report.unsealed == 0


def test_one_flipped_bit_in_any_file_is_found_by_its_name(folder: Path) -> None:
    choose = random.Random(SEED)
    with open_workspace(folder) as workspace:
        names = [file.name for file in kept_files(workspace) if file.name != SECRET]
    assert len(names) > 15
    for name in names:
        whole = (folder / name).read_bytes()
        flip(folder / name, choose.randrange(len(whole)))
        assert name in [finding.where for finding in looked_at(folder).findings]
        (folder / name).write_bytes(whole)
    assert looked_at(folder).findings == ()


def test_every_missing_file_is_found_by_its_name(folder: Path) -> None:
    with open_workspace(folder) as workspace:
        names = [file.name for file in kept_files(workspace) if file.name != SECRET]
    for name in names:
        (folder / name).rename(folder / "away")
        found = {finding.where: finding.sentence() for finding in looked_at(folder).findings}
        assert "it is missing." in found[name]
        (folder / "away").rename(folder / name)


def test_a_damaged_month_is_named(folder: Path) -> None:
    (path,) = (folder / "cultures/sets/month=2025-12").glob("*.parquet")
    flip(path, 300)
    (finding,) = looked_at(folder).findings
    assert finding.months == ("2025-12",)
    assert finding.sentence().endswith("it is damaged: not what was accepted. It touches: December 2025.")


def test_a_damaged_log_touches_every_month_of_its_table(folder: Path) -> None:
    flip(folder / "cultures/sets/_delta_log/00000000000000000001.json", 40)
    (finding,) = looked_at(folder).findings
    assert finding.months == ("2025-10", "2025-11", "2025-12")


def test_a_missing_table_is_said(folder: Path) -> None:
    shutil.rmtree(folder / "cultures/isolates")
    assert "cultures/isolates: this table is missing." in looked_at(folder).findings[0].sentence()


def test_without_noted_fingerprints_every_value_is_read(folder: Path) -> None:
    """As in a workspace of an older Cubital: damage inside a page of values is found by reading them."""
    shutil.rmtree(folder / "fingerprints")
    assert looked_at(folder).unsealed > 15
    (path,) = (folder / "cultures/sets/month=2025-12").glob("*.parquet")
    content = path.read_bytes()
    path.write_bytes(content[:40] + bytes(60) + content[100:])
    (finding,) = looked_at(folder).findings
    assert "its rows cannot be read" in finding.what


def test_an_account_that_does_not_add_up_is_found(folder: Path) -> None:
    sql(folder, "update records_batch set reconciliation = replace(reconciliation, '\"sets\": 50', '\"sets\": 49')")
    (finding,) = looked_at(folder).findings
    assert finding.what == "the rows of batch 2 do not add up to its account."


def test_a_lost_batch_record_is_found(folder: Path) -> None:
    sql(folder, "delete from records_batch where number = 1")
    assert "the numbers of the batches have a gap." in [finding.what for finding in looked_at(folder).findings]


def test_a_version_that_the_records_name_but_nobody_has_is_found(folder: Path) -> None:
    sql(folder, "update records_batch set sets_version = 9 where number = 2")
    assert ("cultures/sets", "version 9 cannot be opened.") in [(f.where, f.what) for f in looked_at(folder).findings]


def test_a_charter_changed_behind_its_fingerprint_is_found(folder: Path) -> None:
    sql(folder, "update records_charterrecord set fingerprint = '0000000000000000'")
    assert "charter 1" in looked_at(folder).findings[0].what


def test_a_damaged_list_of_fingerprints_is_found(folder: Path) -> None:
    flip(folder / "fingerprints/b000002.txt", 3)
    report = looked_at(folder)
    assert [finding.where for finding in report.findings] != []


def test_compaction_and_vacuum_leave_a_workspace_that_verifies(folder: Path) -> None:
    later = write_file(folder.parent / "later.csv", [a_row(n, hours=20 * n) for n in range(90, 100)])
    with open_workspace(folder) as workspace:
        take_file(workspace, file=later, facility=FACILITY, accept=True)
        assert compact_workspace(workspace, at_least=2).number == 1
        assert verify_workspace(workspace).findings == ()
        assert vacuum_workspace(workspace, grace=timedelta(0)).files > 0
        report = verify_workspace(workspace)
    assert (report.findings, report.unsealed) == ((), 0)


def test_a_frozen_month_in_the_folder_is_looked_at_too(folder: Path) -> None:
    with open_workspace(folder) as workspace:
        export_month_snapshot(workspace, month="2025-11", out=folder / "November", today=TODAY)
        assert verify_workspace(workspace).findings == ()
    flip(folder / "November" / "answer.json", 50)
    assert [finding.where for finding in looked_at(folder).findings] == ["November/answer.json"]
