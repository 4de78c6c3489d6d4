"""The commands that keep a workspace small say what they would do, and then what they did."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from laboratory_files import FACILITY, a_row, write_file

from built_folders import BuiltOnce
from cubital.cli.root import cubital
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file

Run = Callable[..., Result]


def three_files(folder: Path) -> None:
    with open_workspace(folder / "w") as workspace:
        for number in range(3):
            rows = [a_row(10 * number + n, hours=n, organism="E.coli") for n in range(5)]
            file = write_file(folder / f"{number}.csv", rows)
            take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)


@pytest.fixture
def run(built_once: BuiltOnce, tmp_path: Path) -> Run:
    """Runs a command on a workspace of three files that all speak of October."""
    folder = built_once(three_files, tmp_path) / "w"

    def call(*words: str) -> Result:
        return CliRunner().invoke(cubital, ["--workspace", str(folder), *words])

    return call


def test_compact_plans_joins_and_then_finds_nothing(run: Run) -> None:
    assert run("compact", "--plan").output == "6 files would become 2.\n"
    assert run("compact").output == "6 files became 2.\n"
    assert run("compact").output == "Nothing to join: every month lies in one file already.\n"


def test_compact_gives_json_alone(run: Run) -> None:
    report = json.loads(run("compact", "--json").output)

    assert report == {"number": 1, "months": ["2025-10"], "files_before": 6, "files_after": 2}


def test_keep_says_and_sets_the_keep_time(run: Run) -> None:
    always = "Every state that a file ever left can be opened again, always.\n"
    assert run("keep").output == always
    assert run("keep", "400").output.startswith("An old state can be opened again for 400 days")
    assert run("keep", "always").output == always


@pytest.mark.parametrize("word", ["soon", "-3", "1.5"])
def test_keep_refuses_what_is_no_keep_time(run: Run, word: str) -> None:
    result = run("keep", "--", word)

    assert result.exit_code == 2
    assert f"'{word}' is no keep time. Write a number of days" in result.output


def test_keep_refuses_no_days_at_all(run: Run) -> None:
    result = run("keep", "0")

    assert result.exit_code == 16
    assert "a keep time of 0 days is too short. Give one day or more." in result.output


def test_vacuum_has_nothing_to_do_where_everything_is_promised(run: Run) -> None:
    assert run("vacuum", "--yes").output.startswith("Nothing to let go")


def test_vacuum_says_first_what_would_go_and_when(run: Run) -> None:
    run("compact")

    output = run("vacuum").output

    assert "Would be deleted: 0 files, 0.0 MB." in output
    assert "Not before an hour has passed, because they may be being read: 2 files" in output
    assert "Nothing was changed. To do it: cubital vacuum --yes" in output
    assert "Nothing was changed" not in run("vacuum", "--yes").output
