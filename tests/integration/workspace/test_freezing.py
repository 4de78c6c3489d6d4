"""A frozen month can be read and checked without Cubital: SHA-256 is recomputed here with the system's own tool."""

from __future__ import annotations

import json
import shutil
import subprocess
from datetime import date
from pathlib import Path

import pandas
import pytest

from cubital.domain.errors import FileProblem, RequestProblem
from cubital.workspace.freezing import changed_files, export_month_snapshot
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file

FILES = Path(__file__).parents[2] / "acceptance" / "files"
TODAY = date(2025, 12, 1)


@pytest.fixture(scope="module")
def workspace(tmp_path_factory):
    """One hospital's file of one messy month, taken. Read only."""
    with open_workspace(tmp_path_factory.mktemp("freezing") / "workspace") as opened:
        take_file(
            opened, file=FILES / "marrowby.csv", facility="Marrowby General", timezone="America/Chicago", accept=True
        )
        yield opened


@pytest.fixture
def frozen(workspace, tmp_path):
    return export_month_snapshot(workspace, month="2025-11", out=tmp_path / "2025-11", today=TODAY)


def test_it_holds_the_answer_the_sets_and_the_definition(frozen):
    answer = json.loads((frozen.folder / "answer.json").read_text(encoding="utf-8"))
    charter = json.loads((frozen.folder / "charter.json").read_text(encoding="utf-8"))
    sets = pandas.read_csv(frozen.folder / "sets.csv", dtype=str)
    assert answer["sentence"]
    assert charter["fingerprint"] in answer["receipt"]["charter"]
    assert frozen.sets == len(sets) == 5


def test_the_same_month_frozen_again_has_the_same_fingerprint(workspace, frozen, tmp_path):
    again = export_month_snapshot(workspace, month="2025-11", out=tmp_path / "again", today=TODAY)
    assert again.fingerprint == frozen.fingerprint


def test_the_systems_own_tool_confirms_the_fingerprints(frozen):
    tool = shutil.which("sha256sum")
    if tool is None:
        pytest.skip("this machine has no sha256sum")
    checked = subprocess.run([tool, "-c", "fingerprints.txt"], cwd=frozen.folder, capture_output=True, check=False)
    assert checked.returncode == 0, checked.stderr


def test_a_changed_a_missing_and_an_added_file_are_named(frozen):
    assert changed_files(frozen.folder) == ()
    (frozen.folder / "sets.csv").write_text("x")
    (frozen.folder / "README.txt").unlink()
    (frozen.folder / "new.txt").write_text("x")
    assert changed_files(frozen.folder) == ("README.txt", "new.txt", "sets.csv")


def test_what_is_frozen_is_never_overwritten(workspace, frozen):
    with pytest.raises(RequestProblem, match="what is frozen stays"):
        export_month_snapshot(workspace, month="2025-11", out=frozen.folder, today=TODAY)
    assert changed_files(frozen.folder) == ()


def test_a_failure_leaves_no_folder(workspace, tmp_path):
    with pytest.raises(RequestProblem):
        export_month_snapshot(workspace, month="2025-11", facility="Nowhere", out=tmp_path / "x", today=TODAY)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_without_fingerprints_is_no_frozen_month(tmp_path):
    with pytest.raises(FileProblem, match="no fingerprints"):
        changed_files(tmp_path)
