"""A workspace folder: made once, moved freely, several at a time, refused with a reason."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from laboratory_files import FACILITY, first_file
from whole_state import whole_state

from cubital.domain.errors import WorkspaceProblem
from cubital.workspace.batches import list_batches
from cubital.workspace.charters import current_charter
from cubital.workspace.facilities import list_facilities
from cubital.workspace.opening import RECORDS, SECRET, Workspace, open_workspace
from cubital.workspace.taking import take_file
from postgres_server import ON_SERVER, own_file_only


def filled(folder: Path) -> Workspace:
    workspace = open_workspace(folder)
    take_file(
        workspace, file=first_file(folder.parent / "october.csv"), facility=FACILITY, timezone="America/Chicago",
        accept=True,
    )  # fmt: skip
    return workspace


def test_the_secret_is_made_once_and_for_its_owner_only(tmp_path: Path) -> None:
    with open_workspace(tmp_path / "w") as first:
        secret = first.secret
    with open_workspace(tmp_path / "w") as second:
        assert second.secret == secret
    assert len(secret) == 32
    assert stat.S_IMODE((tmp_path / "w" / SECRET).stat().st_mode) == 0o600


@pytest.mark.skipif(os.name != "posix", reason="permissions are written differently here")
def test_a_new_workspace_is_closed_to_everybody_else(tmp_path: Path) -> None:
    open_workspace(tmp_path / "desk")
    assert stat.S_IMODE((tmp_path / "desk").stat().st_mode) == 0o700


@pytest.mark.skipif(os.name != "posix", reason="permissions are written differently here")
def test_a_folder_that_was_there_keeps_its_permissions(tmp_path: Path) -> None:
    (tmp_path / "desk").mkdir(mode=0o750)
    open_workspace(tmp_path / "desk")
    assert stat.S_IMODE((tmp_path / "desk").stat().st_mode) == 0o750


def test_two_workspaces_have_two_secrets(tmp_path: Path) -> None:
    with open_workspace(tmp_path / "one") as one, open_workspace(tmp_path / "two") as two:
        assert one.secret != two.secret


def test_two_workspaces_of_one_process_do_not_mix(tmp_path: Path) -> None:
    with filled(tmp_path / "one") as one, open_workspace(tmp_path / "two") as two:
        assert len(list_batches(one)) == 1
        assert list_batches(two) == ()
        assert list_facilities(two) == ()


def test_a_moved_workspace_is_the_same_workspace(tmp_path: Path) -> None:
    with filled(tmp_path / "w") as workspace:
        before = whole_state(workspace)
    (tmp_path / "w").rename(tmp_path / "año nuevo, moved")

    with open_workspace(tmp_path / "año nuevo, moved") as moved:
        assert whole_state(moved) == before
        assert take_file(moved, file=tmp_path / "october.csv", facility=FACILITY).already_taken


def test_nothing_inside_knows_where_the_folder_lay(tmp_path: Path) -> None:
    """Neither the records nor the tables' logs, nor a file's name, nor what the files hold."""
    folder = tmp_path / "a-telling-name"
    filled(folder).close()

    told = {path.name for path in folder.rglob("*") if path.is_file() and b"a-telling-name" in path.read_bytes()}
    assert len(list(folder.rglob("*.json"))) >= 6
    assert told == set()


def test_no_patient_number_and_no_birth_date_is_kept(tmp_path: Path) -> None:
    folder = tmp_path / "w"
    filled(folder).close()

    kept = b"".join(path.read_bytes() for path in folder.rglob("*") if path.is_file())
    assert b"P00007" in (tmp_path / "october.csv").read_bytes()
    assert b"P00007" not in kept
    assert b"1957" not in kept


def test_no_workspace_is_made_where_none_is_wanted(tmp_path: Path) -> None:
    with pytest.raises(WorkspaceProblem, match="there is no workspace here"):
        open_workspace(tmp_path / "w", create=False)

    assert not (tmp_path / "w").exists()


def test_a_file_is_no_workspace(tmp_path: Path) -> None:
    (tmp_path / "w").write_text("a file")

    with pytest.raises(WorkspaceProblem, match="this is a file"):
        open_workspace(tmp_path / "w")


def test_a_folder_inside_a_file_is_refused_in_words(tmp_path: Path) -> None:
    (tmp_path / "w").write_text("a file")

    with pytest.raises(WorkspaceProblem, match="cannot be"):
        open_workspace(tmp_path / "w" / "inside")


def test_a_name_that_the_tables_cannot_bear_is_refused(tmp_path: Path) -> None:
    with pytest.raises(WorkspaceProblem, match="%20"):
        open_workspace(tmp_path / "año %20 w")

    assert not (tmp_path / "año %20 w").exists()


@own_file_only
def test_a_workspace_of_a_newer_cubital_is_left_alone(tmp_path: Path) -> None:
    open_workspace(tmp_path / "w").close()
    with sqlite3.connect(tmp_path / "w" / RECORDS) as records:
        records.execute("pragma user_version = 999")
    records.close()

    with pytest.raises(WorkspaceProblem, match="newer Cubital"):
        open_workspace(tmp_path / "w")


@own_file_only
def test_damaged_records_are_said_to_be_damaged(tmp_path: Path) -> None:
    open_workspace(tmp_path / "w").close()
    (tmp_path / "w" / RECORDS).write_bytes(b"this is no database at all" * 100)

    with pytest.raises(WorkspaceProblem, match="cannot be read"):
        open_workspace(tmp_path / "w")


@pytest.mark.parametrize("content", [None, b"short"])
def test_a_lost_or_damaged_secret_is_never_replaced(tmp_path: Path, content: bytes | None) -> None:
    filled(tmp_path / "w").close()
    (tmp_path / "w" / SECRET).unlink()
    if content is not None:
        (tmp_path / "w" / SECRET).write_bytes(content)

    with pytest.raises(WorkspaceProblem, match="secret"):
        open_workspace(tmp_path / "w")

    assert (tmp_path / "w" / SECRET).exists() == (content is not None)


def test_opening_is_quick_to_import() -> None:
    """Neither the engine nor the web framework is loaded before a workspace is opened."""
    heavy = ("django", "duckdb", "deltalake", "numpy")
    code = f"import sys, cubital.workspace.opening; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"


READ_ONLY = """
import os, sys
from pathlib import Path
from cubital.domain.errors import CubitalError
from cubital.workspace.opening import open_workspace
from cubital.workspace.places import list_places, remember_place
from cubital.workspace.taking import take_file

folder, file = map(Path, sys.argv[1:])
if os.getuid() == 0:  # permissions do not bind root; another user may not be able to load what is not loaded by now
    with open_workspace(folder.parent / "warm") as warm:
        take_file(warm, file=file, facility="Marrowby General", timezone="America/Chicago", accept=True)
        remember_place(warm, month=list_places(warm).months[0])
    os.setgid(65534)
    os.setuid(65534)
workspace = open_workspace(folder)
print(list_places(workspace).months)
for change in (
    lambda: take_file(workspace, file=file, facility="Marrowby General", accept=True),
    lambda: remember_place(workspace, month="2025-10"),
):
    try:
        change()
    except CubitalError as error:
        print(type(error).__name__, error)
"""


def test_a_folder_that_cannot_be_written_can_be_read_and_says_so(tmp_path: Path) -> None:
    filled(tmp_path / "w").close()
    readable = tmp_path
    while readable != readable.parent and readable.stat().st_uid == os.getuid() and readable.name != "tmp":
        readable.chmod(0o755)
        readable = readable.parent
    for path in [tmp_path / "w", *(tmp_path / "w").rglob("*")]:
        path.chmod(0o555 if path.is_dir() else 0o444)
    other = first_file(tmp_path / "w2.csv")
    other.write_text(
        other.read_text() + "A999999,P9,1957-04-09,ED,2025-12-01 08:00,2025-12-01 09:00,R.OKO,F,No growth\n"
    )

    done = subprocess.run(
        [sys.executable, "-c", READ_ONLY, str(tmp_path / "w"), str(other)], capture_output=True, check=False, text=True
    )

    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0] == "('2025-10', '2025-11')"
    refused = 1 if ON_SERVER else 2  # what a server keeps does not need the folder
    assert [line.startswith("WorkspaceProblem") for line in lines[1:]] == [True] * refused
    assert all("cannot be written. Nothing was changed." in line for line in lines[1:])


@own_file_only
def test_records_whose_making_was_killed_are_begun_anew(tmp_path):
    # What a kill leaves between a migration's tables and the note that it ran: tables, no note, the mark still 0.
    folder = tmp_path / "killed while being made"
    folder.mkdir()
    connection = sqlite3.connect(folder / RECORDS)
    connection.execute("create table records_auditline (id integer primary key)")
    connection.commit()
    connection.close()
    with open_workspace(folder) as workspace:
        assert current_charter(workspace).charter.version == 1
    assert (folder / f"unfinished-{RECORDS}").exists()
