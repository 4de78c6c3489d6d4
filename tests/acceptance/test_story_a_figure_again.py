"""A figure stood in a pack a year ago and somebody asks whether it was made up: its receipt answers.

Outside check: the counts of the files were chosen here, so that 12 of 120 and, restated, 10 of 120 can be said by hand.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from acceptance_shell import Shell
from quarter_files import write_laboratory_file

MARROWBY = "Marrowby General"
MARCH = "2026-03"


@pytest.fixture(scope="module")
def marrowby(tmp_path_factory: pytest.TempPathFactory) -> Shell:
    folder = tmp_path_factory.mktemp("again")
    shell = Shell(folder / "workspace")
    take(shell, folder / "first.csv", contaminated=12)
    return shell


def take(shell: Shell, path: Path, *, contaminated: int) -> None:
    file = write_laboratory_file(path, {("ED", MARCH): (contaminated, 120), ("ICU", MARCH): (8, 60)}, first=1000)
    shell.json("take", file, "--facility", MARROWBY, "--timezone", "America/Chicago", "--yes")


def test_the_story_of_a_restated_figure(marrowby: Shell, tmp_path: Path) -> None:
    left = marrowby.json("month", MARCH, "--unit", "ED", "--receipt")
    code = left.pop("receipt_code")
    private = left.pop("private")
    assert private
    figure = next(one for one in left["figures"] if one["key"] == "contamination")
    assert (figure["numerator"], figure["denominator"]) == (12, 120)
    assert "the same to the last digit" in marrowby.ok("again", code)

    take(marrowby, tmp_path / "later.csv", contaminated=10)
    said = marrowby.ok("again", code.lower())
    assert said.startswith(f"{code} is the same to the last digit.")
    assert "12 of 120" in said
    assert "another value" in said
    assert "10.0 % left, now 8.3 %" in said
    assert "Restated by batch 2 on" in said
    assert "March 2026" in said

    again = marrowby.json("again", code)
    assert (again["sameness"], again["answer"]) == ("same", left)
    assert next(one for one in again["today"]["figures"] if one["key"] == "contamination")["numerator"] == 10
    assert [line.split()[0] for line in marrowby.ok("again").splitlines()] == [code]


def test_months_of_counts_need_no_file_afterwards(marrowby: Shell, tmp_path: Path) -> None:
    table = tmp_path / "months.csv"
    table.write_text("month,sets,contaminated\n" + "".join(f"2025-{m:02d},400,{8 + m % 3}\n" for m in range(1, 13)))
    left = marrowby.json("signal", "--counts", table, "--ask", "since", "--receipt")
    table.unlink()
    again = marrowby.json("again", left["receipt_code"])
    assert again["sameness"] == "same"
    assert again["answer"]["sentence"] == left["sentence"]


@pytest.mark.parametrize(
    ("typed", "words"),
    [("ten percent", "is no receipt"), ("R-0000-0000-0001", "a letter or digit of it is wrong"),
     ("R-0000-0000-0000", "is not kept in this workspace")],
)  # fmt: skip
def test_what_is_no_receipt_of_this_workspace_is_said(marrowby: Shell, typed: str, words: str) -> None:
    done = marrowby.run("again", typed)
    assert (done.returncode, done.stdout) == (16, "")
    assert words in done.stderr


def test_a_forged_receipt_ends_with_a_code_of_its_own(marrowby: Shell) -> None:
    import sqlite3

    code = marrowby.json("month", MARCH, "--unit", "ICU", "--receipt")["receipt_code"]
    with sqlite3.connect(marrowby.folder / "records.sqlite3") as records:
        changed = "update records_keptreceipt set said = replace(said, '60', '90') where code = ?"
        assert records.execute(changed, (code,)).rowcount == 1
    records.close()
    done = marrowby.run("again", code)
    assert (done.returncode, done.stdout) == (17, "")
    assert "was changed since it was made, so it proves nothing" in done.stderr
