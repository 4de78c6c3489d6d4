"""On day 40 the laboratory amends T5003: the month is restated, with the old figure, the day and the batch in a note.

The numbers follow from the messy month's: Thistlecombe has 2 of 8 in November before, T5002 and T5003, and 1 of 8
after. The story says "Bacillus cereus, judged significant": the last tests take that. The others use an amendment to an
organism that no list of commensals has.
"""

from __future__ import annotations

import csv

import pytest
from acceptance_shell import FILES, Shell

WORDS = ("--facility", "Thistlecombe Community", "--timezone", "America/Chicago", "--yes")
BEFORE = "Bacillus sp (not anthracis)"
AFTER = "Staphylococcus aureus"
JUDGED = "Bacillus cereus, judged significant"


@pytest.fixture(scope="module")
def amended(tmp_path_factory):
    """The month as taken first, then the same file as the laboratory sends it on day 40."""
    return amend(tmp_path_factory.mktemp("amended"), AFTER)


def amend(folder, words):
    shell = Shell(folder / "workspace")
    shell.json("take", FILES / "thistlecombe.csv", *WORDS)
    first = shell.json("month", "2025-11", "--facility", "Thistlecombe Community")
    text = (FILES / "thistlecombe.csv").read_text(encoding="utf-8")
    assert text.count(BEFORE) == 1
    (folder / "thistlecombe_amended.csv").write_text(text.replace(BEFORE, words), encoding="utf-8")
    report = shell.json("take", folder / "thistlecombe_amended.csv", *WORDS)
    return shell, first, report, folder


def rate(answer):
    figure = next(figure for figure in answer["figures"] if figure["key"] == "contamination")
    return figure["numerator"], figure["denominator"]


def class_of(shell, folder):
    shell.ok("export", "sets", folder / "sets.csv")
    with (folder / "sets.csv").open(encoding="utf-8-sig", newline="") as handle:
        return {row["accession"]: row["class"] for row in csv.DictReader(handle)}["5003"]


def test_one_set_changes_and_none_is_added(amended):
    _shell, _first, report, _folder = amended
    assert (report["added"], report["changed"]) == (0, 1)


def test_the_set_is_no_longer_counted_as_contaminated(amended):
    shell, _first, _report, folder = amended
    assert class_of(shell, folder) != "contaminated"


def test_the_month_is_restated_from_two_to_one(amended):
    shell, first, _report, _folder = amended
    now = shell.json("month", "2025-11", "--facility", "Thistlecombe Community")
    assert rate(first)[0] == 2
    assert rate(now) == (1, rate(first)[1])


def test_the_note_gives_the_old_figure_its_day_and_the_reason(amended):
    shell, first, report, _folder = amended
    now = shell.json("month", "2025-11", "--facility", "Thistlecombe Community")
    notes = [words for words in now["cautions"] if f"2 of {rate(first)[1]}" in words]
    assert len(notes) == 1
    assert f"batch {report['batch']}" in notes[0]
    assert "20" in notes[0]


def test_the_laboratorys_judgement_takes_the_set_out_of_the_contaminated(tmp_path):
    shell, first, report, folder = amend(tmp_path, JUDGED)
    assert (report["added"], report["changed"]) == (0, 1)
    assert class_of(shell, folder) == "pathogen"
    now = shell.json("month", "2025-11", "--facility", "Thistlecombe Community")
    assert (rate(first), rate(now)) == ((2, 8), (1, 8))
