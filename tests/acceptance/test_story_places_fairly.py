"""Places fairly, as an educator asks at the command line: questions 6, 45, 46 and 47 of the hard ones."""

from __future__ import annotations

from pathlib import Path

import pytest
from acceptance_shell import Shell

from places_world import MARROWBY, sets_of, write_network

YEAR = ("--from", "2025-01", "--to", "2025-12")


@pytest.fixture(scope="module")
def network(tmp_path_factory) -> Shell:
    folder = tmp_path_factory.mktemp("places")
    shell = Shell(folder / "workspace")
    for facility, file in write_network(folder).items():
        shell.json("take", file, "--facility", facility, "--timezone", "America/Chicago", "--yes")
    return shell


def test_the_unit_that_stands_out_is_named_after_the_whole(network):
    said = network.json("places", *YEAR)
    contaminated, sets = sets_of(MARROWBY, "ED")
    assert said["verdict"] == "signal"
    assert said["sentence"].startswith("All together are within target:")
    assert f"({contaminated} of {sets} sets, 6.2 %) stands out above the others" in said["sentence"]
    assert any("Selected because it was worst: some fall is expected anyway" in one for one in said["cautions"])


def test_small_counts_are_hidden_unless_asked_for_and_then_said(network):
    hidden = {row[0]: row for row in network.json("places", *YEAR)["table"]["rows"]}
    private = network.json("places", *YEAR, "--private")
    shown = {row[0]: row for row in private["table"]["rows"]}
    assert next(row for name, row in hidden.items() if name.casefold().startswith("dialysis"))[2] == "hidden"
    assert next(row for name, row in shown.items() if name.casefold().startswith("dialysis"))[1:3] == [240, 2]
    assert any("Small counts are not hidden here" in one for one in private["cautions"])


def test_hidden_counts_cannot_be_subtracted_from_what_is_shown(network):
    """Two places at least are hidden, so that the total gives neither away."""
    answer = network.json("places", *YEAR)
    hidden = [row for row in answer["table"]["rows"] if row[2] == "hidden"]
    assert len(hidden) >= 2
    assert answer["figures"][0]["numerator"] > sum(row[2] for row in answer["table"]["rows"] if row[2] != "hidden")


def test_a_clinic_with_one_collector_has_no_share(network):
    answer = network.json("places", *YEAR, "--private")
    clinic = next(row for row in answer["table"]["rows"] if row[0].casefold().startswith("clinic"))
    assert clinic[3] is None
    assert clinic[-1] == "one person"


def test_the_fall_to_expect_is_said_before_the_improvement(network):
    """Visited in July: before, 40 of 480 sets; afterwards 17 of 400."""
    words = network.json("places", "--visited", "ED", "--on", "2025-07", *YEAR)["sentence"]
    assert words.index("Selected because it was worst") < words.index("Afterwards it had 17 of 400 sets")
    assert "had 40 of 480 sets, 8.3 %" in words
    assert words.endswith("Before and after cannot show what caused it.")


def test_a_visit_without_months_on_both_sides_is_refused(network):
    done = network.run("places", "--visited", "ED", "--on", "2025-12", *YEAR)
    assert done.returncode != 0
    assert "has no month before or none after it" in done.stderr


def test_one_month_on_a_side_is_not_identifiable(network):
    answer = network.json("places", "--visited", "ED", "--on", "2025-11", *YEAR)
    assert answer["verdict"] == "not_identifiable"
    assert "1 month after the visit cannot tell a change from chance" in answer["sentence"]


def test_after_a_merger_both_histories_are_told(network):
    answer = network.json("places", "--merged", "2025-07", *YEAR)
    assert "Marrowby General" in answer["sentence"]
    assert "Thistlecombe Community" in answer["sentence"]
    assert answer["verdict"] == "within_variation"


def test_hours_that_no_other_hospital_shares_are_not_compared(network):
    """Marrowby draws at ten, Thistlecombe at three in the afternoon: not one shift is shared."""
    answer = network.json("places", "--by", "facility", "--standard", *YEAR)
    assert answer["verdict"] == "not_identifiable"
    assert "no two of them drew a set with the same" in answer["sentence"]


def test_counts_alone_are_enough(network, tmp_path):
    table = tmp_path / "places.csv"
    table.write_text("unit,sets,contaminated\nInfant,24,0\nED,1500,57\nWards,1200,31\nClosed,0,0\n", encoding="utf-8")
    said = network.ok("places", "--counts", table)
    assert "none of 24 sets. That is 62 % likely even at a true 2 %" in said
    assert "Without a single set, and therefore left out: Closed." in said


@pytest.mark.parametrize(
    ("rows", "verdict"),
    [("A,30,0\nB,40,0\n", "too_few"), ("A,30,30\nB,40,40\n", "too_few"), ("A,30,2\n", "not_identifiable"),
     ("A,0,0\n", "too_few"), ("A,0,0\nB,0,0\n", "too_few")],
)  # fmt: skip
def test_thin_tables_are_answered_and_never_fail(network, tmp_path: Path, rows, verdict):
    table = tmp_path / "thin.csv"
    table.write_text(f"place,sets,contaminated\n{rows}", encoding="utf-8")
    assert network.json("places", "--counts", table)["verdict"] == verdict


def test_roles_need_the_list_of_people(network):
    done = network.run("places", "--by", "role", *YEAR)
    assert done.returncode != 0
    assert "roles are not known" in done.stderr


def test_two_questions_at_once_are_refused(network):
    done = network.run("places", "--standard", "--merged", "2025-07")
    assert "four different questions" in done.stderr
