"""Five environmental Bacillus in nine days, two units, one gauze lot: what is said, and whose decision it is.

The story expects a probability of about 0.0002 against a baseline of 0.4 a week; dates and sets are invented.
"""

from __future__ import annotations

import csv
from datetime import date, timedelta

import pytest
from acceptance_shell import FILES, Shell

HEADERS = ("ACC_NO", "MRN", "DOB", "LOC", "COLL_DT", "RECV_DT", "BOTTLE", "COLLECTOR", "STATUS", "RESULT")
FIRST, DAYS = date(2025, 3, 1), 365 + 14
ODD = {369: "ED", 371: "ICU", 373: "ED", 376: "ICU", 377: "ED"}  # five in nine days after a year
USUAL = {1 + 17 * n: n % 4 for n in range(20)}  # 20 in 50 weeks: 0.4 a week, in turn in every unit


def write_year(path):
    """A year with four sets a day; a Bacillus every seventeen days somewhere, then five in nine days."""
    with path.open("w", newline="") as handle:
        out = csv.writer(handle)
        out.writerow(HEADERS)
        for number in range(DAYS):
            day = FIRST + timedelta(days=number)
            for place, unit in enumerate(("ED", "ICU", "5 WEST", "ED")):
                odd = USUAL.get(number) == place or (place < 2 and ODD.get(number) == unit)
                when = f"{day.isoformat()} {8 + 2 * place:02d}:00"
                out.writerow((
                    f"A{number:04d}{place}", f"P{number:04d}{place}", "1950-01-01", unit, when,
                    f"{day.isoformat()} {8 + 2 * place:02d}:40", "AER", "", "F",
                    "Bacillus sp" if odd else "NO GROWTH AT 5 DAYS",
                ))  # fmt: skip


LOTS = """item,lot,facility,unit,from,to
gauze,G-114,Marrowby General,ED,2026-03-01,
gauze,G-114,Marrowby General,ICU,2026-03-01,
gauze,G-101,Marrowby General,5 WEST,2026-01-01,
antiseptic,C-7,Marrowby General,,2026-01-01,
"""


@pytest.fixture(scope="module")
def gauze(tmp_path_factory):
    folder = tmp_path_factory.mktemp("gauze")
    shell = Shell(folder / "workspace")
    write_year(folder / "year.csv")
    words = ("--facility", "Marrowby General", "--timezone", "America/Chicago", "--yes")
    shell.json("take", folder / "year.csv", *words)
    (folder / "lots.csv").write_text(LOTS)
    assert shell.json("lots", "take", folder / "lots.csv")["added"] == 4
    return shell


def test_a_short_list_and_the_usual_number_are_enough_for_the_probability():
    shell = Shell(FILES / "no workspace is made")
    answer = shell.json("cluster", "--list", FILES / "odd_growths.csv", "--per-week", "0.4", "--organism", "Bacillus")
    figures = {figure["key"]: figure["value"] for figure in answer["figures"]}
    assert round(figures["chance"], 4) == 0.0002
    assert answer["verdict"] == "signal"
    assert not shell.folder.exists()


def test_the_workspace_finds_the_cluster_and_says_whom_to_tell(gauze):
    answer = gauze.json("cluster")
    assert answer["verdict"] == "signal"
    assert "Five sets grew Bacillus within nine days" in answer["sentence"]
    assert "0.4 a week" in answer["sentence"]
    assert "about 2 times in 10,000" in answer["sentence"]
    assert "Tell infection prevention and the laboratory today" in answer["sentence"]
    assert "quarantine anything is their decision" in answer["sentence"]


def test_the_lot_of_the_two_units_stands_out_as_exposure_not_cause(gauze):
    answer = gauze.json("lots", "exposure")
    top = answer["table"]["rows"][0]
    assert top[:3] == ["gauze", "G-114", 5]
    assert "exposure, not cause" in answer["sentence"]


def test_the_lots_are_said_beside_the_cluster(gauze):
    assert any("gauze lot G-114" in words for words in gauze.json("cluster")["cautions"])


def test_before_the_five_days_nothing_was_called(gauze):
    assert gauze.json("cluster", "--until", "2026-03-01")["verdict"] == "within_variation"


def test_taking_the_same_lots_again_adds_nothing(gauze, tmp_path):
    (tmp_path / "lots.csv").write_text(LOTS)
    assert gauze.json("lots", "take", tmp_path / "lots.csv")["added"] == 0


def test_a_lot_list_with_wrong_rows_names_each_and_keeps_nothing(gauze, tmp_path):
    (tmp_path / "lots.csv").write_text(
        "item,lot,facility,unit,from,to\n"
        "gauze,G-9,Marrowby General,Attic,2026-03-01,\n"
        "gauze,G-9,Nowhere,ED,03/04/2026,\n"
        "gauze,,Marrowby General,ED,2026-03-05,2026-03-01\n"
    )
    before = gauze.json("lots", "list")
    done = gauze.run("lots", "take", tmp_path / "lots.csv")
    assert done.returncode == 10
    for words in ("row 2", "Attic", "row 3", "03/04/2026", "row 4", "column 'lot'", "before it begins"):
        assert words in done.stderr
    assert gauze.json("lots", "list") == before
