"""Two laboratories, one messy month: every number the story expects, from the two files as they came.

The expected numbers are the story's own, worked out by hand from the printed rows (invented data).
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

ZONE = ("--timezone", "America/Chicago", "--yes")


def test_nineteen_sets_come_out_of_twenty_nine_rows(shell, files):
    marrowby = shell.json("take", files / "marrowby.csv", "--facility", "Marrowby General", *ZONE)
    thistlecombe = shell.json("take", files / "thistlecombe.csv", "--facility", "Thistlecombe Community", *ZONE)
    assert (marrowby["rows"], marrowby["sets"]) == (21, 11)
    assert (thistlecombe["rows"], thistlecombe["sets"]) == (8, 8)


@pytest.mark.parametrize("name", ["marrowby.csv", "thistlecombe.csv"])
def test_every_row_is_a_set_or_a_loss_with_a_reason(shell, files, name):
    report = shell.json("take", files / name, "--facility", "Marrowby General", *ZONE)
    assert report["rows"] == report["sets"] + sum(loss["count"] for loss in report["losses"])
    assert all(loss["words"] for loss in report["losses"])


@pytest.mark.parametrize(
    ("key", "numerator", "denominator"),
    [
        ("a_one_of_several_all_sets", 4, 18),
        ("b_one_of_several_eligible_sets", 4, 14),
        ("c_with_solitary", 6, 18),
        ("d_any_commensal", 9, 18),
    ],
)
def test_the_bench_gives_the_four_rates(two_hospitals, key, numerator, denominator):
    found = {line["key"]: line for line in two_hospitals.json("bench", "--adults")["definitions"]}[key]
    assert (found["numerator"], found["denominator"]) == (numerator, denominator)
    assert found["rate"] == pytest.approx(numerator / denominator)
    assert found["low"] < found["rate"] < found["high"]


@pytest.fixture(scope="module")
def every_set(two_hospitals, tmp_path_factory) -> dict[str, dict[str, str]]:
    """The exported sets by a short name: M5001 or T5001."""
    out: Path = tmp_path_factory.mktemp("export") / "sets.csv"
    two_hospitals.ok("charter", "set", "--start-from", "a_one_of_several_all_sets", "population=adults")
    two_hospitals.ok("export", "sets", out)
    with out.open(encoding="utf-8-sig", newline="") as handle:
        return {row["facility"][0] + row["accession"]: row for row in csv.DictReader(handle)}


def test_contaminated_sets_are_the_four_of_the_story(every_set):
    found = {name for name, row in every_set.items() if row["class"] == "contaminated"}
    assert found == {"M5001", "M5007", "T5002", "T5003"}


def test_sets_for_the_microbiologist_are_the_three_of_the_story(every_set):
    found = {name for name, row in every_set.items() if row["class"] == "adjudicate"}
    assert found == {"M5003", "M5004", "M5009"}


def test_commensals_without_a_partner_stand_apart(every_set):
    found = {name for name, row in every_set.items() if row["class"] == "solitary_commensal"}
    assert found == {"M5005", "T5007"}


def test_the_child_is_outside_an_adult_charter(every_set):
    assert [name for name, row in every_set.items() if row["class"] == "outside"] == ["M5010"]


def test_bacteroides_stays_bacteroides(every_set):
    assert "bacteroides-fragilis" in every_set["T5005"]["organisms"]
    assert every_set["T5005"]["class"] == "pathogen"


@pytest.mark.parametrize(("name", "minutes"), [("M5006", 30), ("M5007", 43)])
def test_the_repeated_hour_is_settled_by_accession_order(every_set, name, minutes):
    assert every_set[name]["time_quality"] == "ambiguous_hour"
    assert float(every_set[name]["minutes_to_receipt"]) == minutes


def test_no_set_is_received_before_it_was_collected(every_set):
    delays = [float(row["minutes_to_receipt"]) for row in every_set.values() if row["minutes_to_receipt"]]
    assert len(delays) == 19
    assert min(delays) > 0


def test_the_renamed_ward_is_one_unit(every_set):
    assert every_set["M5003"]["unit_name"] == every_set["M5005"]["unit_name"] == "5W-MED ONC"


def test_eight_sets_have_a_usable_collector(every_set):
    known = [name for name, row in every_set.items() if row["attribution"] in {"A", "B"}]
    assert len(known) == 8


def figures_of(shell, *words):
    return {figure["key"]: figure for figure in shell.json(*words)["figures"]}


def test_solitary_sets_are_counted_by_set_and_by_episode(two_hospitals):
    october = figures_of(two_hospitals, "month", "2025-10")
    november = figures_of(two_hospitals, "month", "2025-11")
    by_set = [(m["solitary_by_set"]["numerator"], m["solitary_by_set"]["denominator"]) for m in (october, november)]
    by_episode = [
        (m["solitary_by_episode"]["numerator"], m["solitary_by_episode"]["denominator"]) for m in (october, november)
    ]
    assert tuple(map(sum, zip(*by_set, strict=True))) == (4, 18)
    assert tuple(map(sum, zip(*by_episode, strict=True))) == (4, 11)


def test_only_one_set_lacks_its_anaerobic_bottle(every_set):
    lacking = [name for name, row in every_set.items() if row["bottles_complete"] == "no" and row["class"] != "outside"]
    assert lacking == ["M5005"]


def test_bottles_cannot_be_measured_where_rows_are_sets(every_set):
    at_thistlecombe = {row["bottles_complete"] for name, row in every_set.items() if name.startswith("T")}
    assert at_thistlecombe == {"not measurable"}


def test_taking_the_same_file_again_changes_nothing(shell, files):
    words = ("take", files / "marrowby.csv", "--facility", "Marrowby General", *ZONE)
    first, second = shell.json(*words), shell.json(*words)
    assert second["already_taken"] is True
    assert second["batch"] == first["batch"]


def test_a_file_without_a_time_zone_asks_and_takes_nothing(shell, files):
    done = shell.run("take", files / "marrowby.csv", "--facility", "Marrowby General", "--yes", "--json")
    assert done.returncode != 0
    assert "time zone" in done.stderr
    assert done.stdout == ""
