"""Quarter close: the table of units may be published, and nobody can be found in it by subtraction.

Three hospitals; Orrin Quay's infant unit 0 of 24, its step-down unit 2 of 18, the children's total 2 of 42 in the same
table. The attack reads the file that was written and does every sum, as whole numbers, exactly.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from acceptance_shell import Shell
from printed_counts import attack_printed, read_counts_file
from quarter_files import write_laboratory_file

MARCH = "2026-03"
HOSPITALS = {
    "Orrin Quay Children's": {("INFANT", MARCH): (0, 24), ("STEP-DOWN", MARCH): (2, 18)},
    "Marrowby General": {("ED", MARCH): (12, 120), ("ICU", MARCH): (8, 60), ("WARDS", MARCH): (9, 90)},
    "Thistlecombe Community": {("MED", MARCH): (11, 80)},
}
TRUTH = {("contaminated", name, unit.casefold(), month): count
         for name, units in HOSPITALS.items() for (unit, month), (count, _sets) in units.items()}  # fmt: skip


@pytest.fixture(scope="module")
def quarter(tmp_path_factory: pytest.TempPathFactory) -> Shell:
    folder = tmp_path_factory.mktemp("quarter")
    shell = Shell(folder / "workspace")
    for place, (name, units) in enumerate(HOSPITALS.items()):
        file = write_laboratory_file(folder / f"laboratory-{place}.csv", units, first=1000 * (place + 1))
        shell.json("take", file, "--facility", name, "--timezone", "America/Chicago", "--yes")
    return shell


def test_the_step_down_units_two_is_hidden_and_cannot_be_worked_out(quarter: Shell, tmp_path: Path) -> None:
    said = quarter.ok("export", "counts", tmp_path / "march.csv")
    assert "hidden" in said
    printed = read_counts_file(tmp_path / "march.csv")
    step_down = ("contaminated", "Orrin Quay Children's", "step-down", MARCH)
    assert printed.counts[step_down] is None
    known = attack_printed([printed], truth=TRUTH)
    assert known[step_down].least <= 1
    assert known[step_down].most >= 4


def test_hiding_the_two_alone_would_have_given_it_away(quarter: Shell, tmp_path: Path) -> None:
    """The proof can fail: with everything but the one small cell shown, the attack finds the 2."""
    quarter.ok("export", "counts", tmp_path / "march.csv")
    printed = read_counts_file(tmp_path / "march.csv")
    step_down = ("contaminated", "Orrin Quay Children's", "step-down", MARCH)
    known = attack_printed([printed.showing_all_but({step_down}, truth=TRUTH)], truth=TRUTH)
    assert (known[step_down].least, known[step_down].most) == (2, 2)


def test_a_workbook_says_the_same_as_the_text_file(quarter: Shell, tmp_path: Path) -> None:
    quarter.ok("export", "counts", tmp_path / "march.csv")
    quarter.ok("export", "counts", tmp_path / "march.xlsx")
    assert read_counts_file(tmp_path / "march.xlsx") == read_counts_file(tmp_path / "march.csv")


def test_hidden_cells_are_empty_and_do_not_say_which_kind_they_are(quarter: Shell, tmp_path: Path) -> None:
    quarter.ok("export", "counts", tmp_path / "march.csv")
    with (tmp_path / "march.csv").open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.DictReader(stream))
    hidden = [row for row in rows if "contaminated" in row["hidden"]]
    assert len(hidden) >= 3  # the step-down unit, the children's total, and at least one shield
    assert all(row["contaminated"] == "" for row in hidden)
    codebook = (tmp_path / "march.codebook.csv").read_text(encoding="utf-8-sig")
    assert "which of the two is not said" in codebook


def test_none_of_24_says_how_little_that_means(quarter: Shell) -> None:
    """0.98 to the power of 24 is 0.6158: at a true 2 % the infant unit has no contaminated set in 62 % of months."""
    answer = quarter.json("month", MARCH, "--facility", "Orrin Quay Children's", "--unit", "INFANT")
    assert "62 %" in answer["sentence"] + " ".join(answer["cautions"])
