"""Fair comparisons, hours, and what watching does not show, from counts alone by the command line.

Phlebotomists 1.4 %, nurses 3.6 %, a fifth of the sets nobody's: possible are 2.7 to 4.9 and 0.8 to 4.4 %. The counts
that give these printed shares are derived beside the test of the bounds.
"""

from __future__ import annotations

import pytest
from acceptance_shell import FILES, Shell


@pytest.fixture(scope="module")
def shell(tmp_path_factory):
    return Shell(tmp_path_factory.mktemp("fair") / "workspace")


def write(path, head, rows):
    path.write_text("\n".join([head, *rows]) + "\n")
    return path


def test_phlebotomists_by_day_and_nurses_by_night_are_not_comparable(shell, tmp_path):
    rows = [f"phlebotomist,{hour},200,3" for hour in range(7, 19)]
    rows += [f"nurse,{hour},400,14" for hour in (*range(19, 24), *range(7))]
    file = write(tmp_path / "roles.csv", "role,hour,sets,contaminated", rows)
    answer = shell.json("compare", "--by", "role", "--counts", file)
    assert answer["verdict"] == "not_identifiable"
    assert answer["sentence"].startswith("Not comparable: phlebotomist drew 07–19 only")


def test_a_fifth_unattributed_leaves_a_wide_range_possible(shell, tmp_path):
    rows = ["nurse,9,5570,201", "phlebotomist,9,2430,34", ",9,2000,76"]
    file = write(tmp_path / "roles.csv", "role,hour,sets,contaminated", rows)
    figures = {one["key"]: one for one in shell.json("compare", "--by", "role", "--counts", file)["figures"]}
    assert [round(100 * figures["possible_0"][end], 1) for end in ("low", "high")] == [2.7, 4.9]
    assert [round(100 * figures["possible_1"][end], 1) for end in ("low", "high")] == [0.8, 4.4]


def test_nights_are_said_of_a_hundred_sets(shell, tmp_path):
    rows = [f"{unit},{hour},3000,{bad}" for unit in "AB" for hour, bad in ((9, 60), (21, 90))]
    file = write(tmp_path / "shifts.csv", "unit,hour,sets,contaminated", rows)
    said = shell.ok("compare", "--by", "shift", "--counts", file)
    assert "of 100 sets drawn at night instead of by day, about 1.0 more are contaminated" in said
    assert "links hours with contamination, not draws" in said


def test_twelve_hours_cover_two_thirds_and_the_queue_is_named(shell, tmp_path):
    rows = [f"{d},{h},100,{4 if h >= 19 or h < 7 else 2}" for d in range(1, 8) for h in range(24)]
    file = write(tmp_path / "hours.csv", "weekday,hour,sets,contaminated", rows)
    answer = shell.json("hours", "--counts", file, "--weeks", "8")
    assert answer["sentence"].startswith("19:00 to 07:00 every day: 336 of 504 contaminated sets fall there (67 %)")
    assert any("In the busiest hour 12.5 sets come" in said for said in answer["cautions"])
    weekdays = shell.json("hours", "--counts", file, "--days", "mon-fri")
    assert "07:00 Monday to Friday: 240 of 504" in weekdays["sentence"]


def test_perfect_when_watched_says_nothing_of_a_cause(shell):
    answer = shell.json("steps", FILES / "watched_draws.csv", "--outcome", "51", "1240")
    assert answer["verdict"] == "refused"
    assert answer["sentence"].startswith("Steps were done in 160 of 207 readable boxes (77 %) of 26 watched draws")
    assert "that the one makes the other is not shown by it" in answer["sentence"]


@pytest.mark.parametrize("words", [
    ("compare", "--by", "role"), ("compare", "--by", "star"), ("hours",), ("hours", "--days", "someday"),
    ("steps", FILES / "marrowby.csv"), ("steps", FILES / "watched_draws.csv", "--outcome", "5", "4"),
])  # fmt: skip
def test_what_cannot_be_answered_is_a_sentence_and_no_trace(shell, words):
    done = shell.run(*words)
    assert done.returncode != 0
    assert "Traceback" not in done.stderr
    assert done.stderr.strip()
