"""Practice files: written into an empty folder, explained, and never over something that is there."""

from __future__ import annotations

import shlex

import pytest

from cubital.domain.errors import RequestProblem
from cubital.workspace.demo import write_practice_files
from cubital.workspace.demo.files import world_file_names
from cubital.workspace.demo.messages import FOLDER, message_file_names
from cubital.workspace.demo.practising import NOTE
from cubital.workspace.demo.staff import staff_file_names
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("practice") / "new"
    write_practice_files(place)
    return place


def test_every_file_and_a_note_are_written(folder):
    assert sorted(path.name for path in folder.iterdir()) == sorted(
        [NOTE, FOLDER, *world_file_names(), *staff_file_names()]
    )
    assert sorted(path.name for path in (folder / FOLDER).iterdir()) == sorted(message_file_names())


def test_the_note_has_a_command_for_every_file_in_order(folder):
    lines = (folder / NOTE).read_text(encoding="utf-8").splitlines()
    commands = [shlex.split(line) for line in lines if line.startswith("  cubital ")]
    lists = [words for words in commands if words[3] == "people"]
    assert [words[5] for words in lists] == list(staff_file_names())
    commands = [words for words in commands if words not in lists]
    assert [words[4] for words in commands] == [
        *world_file_names(), *(f"{FOLDER}/{name}" for name in message_file_names()),
    ]  # fmt: skip
    assert all((folder / words[4]).exists() for words in commands)
    assert {words[3] for words in commands} == {"take", "movements"}


def test_the_note_says_that_everything_is_invented(folder):
    assert "do not exist" in (folder / NOTE).read_text(encoding="utf-8")


def test_a_folder_with_something_in_it_is_refused_and_left_alone(tmp_path):
    (tmp_path / "ours.csv").write_text("ours", encoding="utf-8")
    with pytest.raises(RequestProblem, match="something here already"):
        write_practice_files(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["ours.csv"]


def test_a_file_in_place_of_the_folder_is_refused(tmp_path):
    place = tmp_path / "practice"
    place.write_text("a file", encoding="utf-8")
    with pytest.raises(RequestProblem, match="empty folder"):
        write_practice_files(place)


def test_march_as_messages_says_what_the_tables_of_march_say(folder, tmp_path):
    """In a workspace that has the tables, the messages change nothing but what a workbook cannot say."""
    facility, zone = "Thistlecombe", "America/Chicago"
    with open_workspace(tmp_path / "w") as workspace:
        table = folder / "thistlecombe-2026-03.csv"
        first = take_file(workspace, file=table, facility=facility, timezone=zone, accept=True)
        again = take_file(
            workspace, file=folder / FOLDER / "thistlecombe-2026-03.ndjson", facility=facility, accept=True
        )
    assert (again.sets, again.added, again.changed) == (first.sets, 0, 0)
    assert again.unchanged > 500
