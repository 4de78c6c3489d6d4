"""Practice files: written into an empty folder, explained, and never over something that is there."""

from __future__ import annotations

import shlex

import pytest

from cubital.domain.errors import RequestProblem
from cubital.workspace.demo import write_practice_files
from cubital.workspace.demo.files import world_file_names
from cubital.workspace.demo.practising import NOTE


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("practice") / "new"
    write_practice_files(place)
    return place


def test_every_file_and_a_note_are_written(folder):
    assert sorted(path.name for path in folder.iterdir()) == sorted([NOTE, *world_file_names()])


def test_the_note_has_a_command_for_every_file_in_order(folder):
    lines = (folder / NOTE).read_text(encoding="utf-8").splitlines()
    commands = [shlex.split(line) for line in lines if line.startswith("  cubital ")]
    assert [words[4] for words in commands] == list(world_file_names())
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
