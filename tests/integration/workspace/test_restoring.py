"""A backup put back onto an empty machine answers as before; a damaged, forged or newer one is not put back at all."""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from kept_answers import answers_of, corrected_workspace
from laboratory_files import FACILITY, a_row, write_file
from whole_state import whole_state

from cubital.domain.errors import CubitalError, FileProblem, RequestProblem
from cubital.workspace.archive import DIGITS, MANIFEST, SEAL, ArchiveReader, archive_draft
from cubital.workspace.backing_up import back_up
from cubital.workspace.opening import open_workspace
from cubital.workspace.restoring import restore
from cubital.workspace.taking import take_file
from cubital.workspace.verifying import verify_backup, verify_workspace
from postgres_server import own_file_only

pytestmark = own_file_only
SEED = 20251125


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("original")
    corrected_workspace(folder / "w", folder).close()
    return folder / "w"


@pytest.fixture(scope="module")
def backup(original: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    with open_workspace(original) as workspace:
        return back_up(workspace, to=tmp_path_factory.mktemp("backups") / "kept.zip").path


def on_an_empty_machine(folder: Path, *command: str) -> str:
    """Runs a command in a new process whose home, temporary and current folders are new and empty."""
    for name in ("home", "tmp"):
        (folder / name).mkdir(exist_ok=True)
    environment = {
        "HOME": str(folder / "home"), "TMPDIR": str(folder / "tmp"), "PATH": os.environ["PATH"], "LANG": "C.UTF-8",
    }  # fmt: skip
    return subprocess.run(
        [sys.executable, *command], cwd=folder / "home", env=environment, capture_output=True, check=True, text=True
    ).stdout


def test_on_an_empty_machine_every_answer_is_as_before(original: Path, backup: Path, tmp_path: Path) -> None:
    with open_workspace(original) as workspace:
        before = json.loads(json.dumps(answers_of(workspace, tmp_path / "before"), default=str))
    machine = tmp_path / "machine"
    machine.mkdir()

    told = on_an_empty_machine(machine, "-m", "cubital", "restore", str(backup), "new place")
    script = Path(__file__).with_name("kept_answers.py")
    after = json.loads(on_an_empty_machine(machine, str(script), str(machine / "home/new place"), str(machine / "s")))

    assert "restored to" in told
    assert after == before
    assert sorted(path.name for path in (machine / "home").iterdir()) == ["new place"]


def test_what_was_restored_verifies_and_goes_on(original: Path, backup: Path, tmp_path: Path) -> None:
    restore(backup, to=tmp_path / "r")
    later = write_file(tmp_path / "january.csv", [a_row(n, hours=20 * n) for n in range(80, 110)])

    with open_workspace(original) as before, open_workspace(tmp_path / "r") as after:
        assert whole_state(after) == whole_state(before)
        assert verify_workspace(after).unsealed == 0
        assert take_file(after, file=later, facility=FACILITY, accept=True).added == 20
        assert verify_workspace(after).findings == ()


def test_a_folder_that_holds_something_is_left_alone(backup: Path, tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")

    with pytest.raises(RequestProblem, match="this folder is not empty"):
        restore(backup, to=tmp_path)

    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_an_empty_folder_is_filled(backup: Path, tmp_path: Path) -> None:
    (tmp_path / "r").mkdir()
    assert restore(backup, to=tmp_path / "r").batch == 2
    assert [path.name for path in tmp_path.iterdir()] == ["r"]


def test_two_hundred_flipped_bits_are_all_seen_and_named(backup: Path, tmp_path: Path) -> None:
    choose = random.Random(SEED)
    whole = backup.read_bytes()
    for _time in range(200):
        place, bit = choose.randrange(len(whole)), choose.randrange(8)
        damaged = bytearray(whole)
        damaged[place] ^= 1 << bit
        (tmp_path / "b.zip").write_bytes(damaged)
        with pytest.raises(FileProblem, match=r"is damaged: |no backup of Cubital") as caught:
            verify_backup(tmp_path / "b.zip")
        inside = part_at(backup, place)
        assert inside is None or inside in str(caught.value), f"bit {bit} of byte {place}"


def part_at(backup: Path, place: int) -> str | None:
    """The name of the file in the archive whose content holds this byte; none for the archive's own words."""
    with zipfile.ZipFile(backup) as archive:
        for entry in archive.infolist():
            start = entry.header_offset + 30 + len(entry.filename.encode())
            if start <= place < start + entry.file_size:
                return entry.filename
    return None


def test_no_cut_restores_anything(backup: Path, tmp_path: Path) -> None:
    choose = random.Random(SEED)
    whole = backup.read_bytes()
    for length in [0, 1, len(whole) - 1, *(choose.randrange(len(whole)) for _time in range(60))]:
        (tmp_path / "b.zip").write_bytes(whole[:length])
        with pytest.raises(FileProblem, match=r"its end is missing|is damaged"):
            restore(tmp_path / "b.zip", to=tmp_path / "r")
        assert [path.name for path in tmp_path.iterdir()] == ["b.zip"]


def sealed_again(backup: Path, out: Path, change: Callable[[dict[str, Any], dict[str, bytes]], None]) -> Path:
    """A forged backup: its list and its files changed, every fingerprint and the seal made anew to fit."""
    with ArchiveReader(backup) as reader, zipfile.ZipFile(backup) as archive:
        plain = json.loads(archive.read(MANIFEST))
        files = {file.name: reader.read(file.name) for file in reader.manifest.files}
        manifest = reader.manifest
    change(plain, files)
    with archive_draft(out) as writer:
        for name, content in files.items():
            writer.add(name, [content], size=len(content))
        forged = {**plain, "files": tuple(writer.files), "states": manifest.states}
        writer.close(type(manifest)(**forged))
    return out


@pytest.mark.parametrize(
    "name",
    [
        "../out.txt",
        "/etc/out.txt",
        "cultures/../../out.txt",
        "C:/out.txt",
        "a\\..\\..\\out.txt",
        "nul",
        "x/\x00y",
        "a//b",
    ],
)
def test_a_name_that_leads_out_of_the_folder_is_refused(backup: Path, tmp_path: Path, name: str) -> None:
    forged = sealed_again(backup, tmp_path / "b.zip", lambda _plain, files: files.update({name: b"x"}))

    with pytest.raises(FileProblem, match=r"leads out of the folder|is damaged"):
        restore(forged, to=tmp_path / "deep" / "r")

    assert not list(tmp_path.rglob("out.txt"))
    assert not (tmp_path / "deep" / "r").exists()


def test_two_names_that_fall_together_are_refused(backup: Path, tmp_path: Path) -> None:
    forged = sealed_again(backup, tmp_path / "b.zip", lambda _plain, files: files.update({"SECRET.KEY": b"x" * 32}))
    with pytest.raises(FileProblem, match="is damaged: its list of contents"):
        restore(forged, to=tmp_path / "r")


@pytest.mark.parametrize("newer", [{"format": 99}, {"schema": 999}, {"migration": "0999_unheard_of"}])
def test_a_backup_of_a_newer_cubital_is_refused(backup: Path, tmp_path: Path, newer: dict[str, Any]) -> None:
    forged = sealed_again(backup, tmp_path / "b.zip", lambda plain, _files: plain.update(newer))

    with pytest.raises(FileProblem, match="newer Cubital"):
        restore(forged, to=tmp_path / "r")

    assert not (tmp_path / "r").exists()


@pytest.mark.parametrize("line", [b"no json\n", b'{"id": 9, "unknown": 1}\n', b'{"id": "x"}\n', b"[1]\n"])
def test_records_that_do_not_fit_are_refused(backup: Path, tmp_path: Path, line: bytes) -> None:
    def forge(plain: dict[str, Any], files: dict[str, bytes]) -> None:
        files["records/lastplace.jsonl"] = line
        plain["records"]["lastplace"] = 1

    forged = sealed_again(backup, tmp_path / "b.zip", forge)
    with pytest.raises(CubitalError, match="do not fit their tables"):
        restore(forged, to=tmp_path / "r")
    assert [path.name for path in tmp_path.iterdir()] == ["b.zip"]


def test_files_that_do_not_fit_the_records_are_not_restored(backup: Path, tmp_path: Path) -> None:
    """A forger who drops a table's file and seals the archive again is found when the whole is verified."""

    def forge(_plain: dict[str, Any], files: dict[str, bytes]) -> None:
        del files[next(name for name in files if "sets/month=" in name)]

    forged = sealed_again(backup, tmp_path / "b.zip", forge)
    with pytest.raises(CubitalError, match=r"does not verify: cultures/sets/month=.* missing"):
        restore(forged, to=tmp_path / "r")
    assert not (tmp_path / "r").exists()


def test_what_a_killed_restoring_left_goes_with_the_next(backup: Path, tmp_path: Path) -> None:
    (tmp_path / ".r.restoring" / "cultures").mkdir(parents=True)
    restore(backup, to=tmp_path / "r")
    assert [path.name for path in tmp_path.iterdir()] == ["r"]


def test_the_archive_is_a_zip_that_any_system_opens(backup: Path) -> None:
    with zipfile.ZipFile(backup) as archive:
        assert archive.testzip() is None
        assert archive.comment[:-DIGITS] == SEAL
        assert b"cubital restore" in archive.read("README.txt")
    if shutil.which("unzip"):
        subprocess.run(["unzip", "-tqq", str(backup)], check=True)
