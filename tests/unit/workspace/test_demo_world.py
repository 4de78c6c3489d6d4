"""The invented network: the same for the same seed, with the emergency months as the world fixes them.

The two series of the emergency department are typed here a second time, so that a slip in either place shows.
"""

from __future__ import annotations

import csv
from collections import Counter
from hashlib import sha256

import pytest

from cubital.workspace.demo.draws import CLOCK_BACK, draw_world
from cubital.workspace.demo.files import write_world
from cubital.workspace.demo.mess import spoil
from cubital.workspace.demo.organisms import GROWERS, same_organism
from cubital.workspace.demo.truth import build_truth, write_truth
from cubital.workspace.demo.world import EMERGENCY, HOSPITALS, months_of_the_world

SETS = "472 455 503 481 490 466 512 498 477 489 505 460 468 483 495 474 509 487 492 470 499 481 476 498"
CONTAMINATED = "14 10 9 11 18 15 6 10 10 19 12 9 16 17 11 11 16 10 16 12 14 17 6 19"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    return write_world(tmp_path_factory.mktemp("world"))


@pytest.fixture(scope="module", params=[2, 77])
def emergency(request):
    draws = next(draw_world(request.param))
    spoil(draws, HOSPITALS[0], seed=request.param)
    return [true for true in build_truth(draws) if true.unit == EMERGENCY.label]


def _lines(written, name):
    path = next(file.path for file in written.files if file.path.name == name)
    encoding = "cp1252" if name.startswith("thistle") else "utf-8"
    return path.read_text(encoding=encoding).splitlines()


def test_the_world_runs_twenty_four_months():
    months = months_of_the_world()
    assert (months[0], months[-1], len(months)) == ("2024-04", "2026-03", 24)


def test_emergency_sets_per_month_are_the_fixed_series(emergency):
    counted = Counter(true.month for true in emergency if true.expected not in ("called_off", "shortened"))
    assert [counted[month] for month in months_of_the_world()] == [int(n) for n in SETS.split()]


def test_emergency_contaminations_per_month_are_the_fixed_series(emergency):
    counted = Counter(true.month for true in emergency if true.expected == "contaminated")
    assert [counted[month] for month in months_of_the_world()] == [int(n) for n in CONTAMINATED.split()]


def test_the_same_seed_writes_the_same_files(written, tmp_path):
    again = write_world(tmp_path)
    assert [sha256(f.path.read_bytes()).digest() for f in written.files] == [
        sha256(f.path.read_bytes()).digest() for f in again.files
    ]


def test_another_seed_writes_another_world(written, tmp_path):
    other = write_world(tmp_path, seed=5)
    assert written.files[1].path.read_bytes() != other.files[1].path.read_bytes()


def test_the_network_has_about_sixty_thousand_sets(written):
    assert 58_000 < len(written.truth) < 65_000


def test_accession_and_patient_numbers_collide_across_hospitals(written):
    by_facility = {}
    for true in written.truth:
        by_facility.setdefault(true.facility, set()).add(true.accession)
    marrowby, thistlecombe, orrin_quay = by_facility.values()
    assert len(marrowby & thistlecombe & orrin_quay) > 10_000


def test_marrowby_writes_one_row_per_bottle_and_the_stain_before_the_result(written):
    rows = list(csv.DictReader(_lines(written, "marrowby-2024-04-to-2026-02.csv")))
    per_bottle = Counter((row["ACC_NO"], row["BOTTLE"]) for row in rows)
    stained = [row for row in rows if row["STATUS"] == "P" and row["RESULT"].startswith("GPC")]
    assert Counter(per_bottle.values())[1] > 60_000
    assert len(stained) > 500


def test_thistlecombe_writes_the_day_first_between_semicolons(written):
    rows = list(csv.DictReader(_lines(written, "thistlecombe-2026-03.csv"), delimiter=";"))
    assert max(int(row["Received"][:2]) for row in rows) > 12
    assert {row["Received"][3:5] for row in rows} <= {"01", "02", "03", "04"}


def test_march_files_correct_what_an_earlier_file_said(written):
    rows = list(csv.DictReader(_lines(written, "marrowby-2026-03.csv")))
    corrected = {row["ACC_NO"] for row in rows if row["STATUS"] == "C"}
    history = list(csv.DictReader(_lines(written, "marrowby-2024-04-to-2026-02.csv")))
    before = {row["ACC_NO"] for row in history if row["STATUS"] == "F"}
    assert len(corrected) >= 10
    assert corrected <= before


def test_draws_fall_into_the_hour_that_the_clock_repeats(written):
    del written
    draws = next(draw_world(2))
    for moment in CLOCK_BACK.values():
        near = [draw for draw in draws if abs((draw.collected - moment).total_seconds()) < 1800]
        assert {draw.local.fold for draw in near if draw.local.hour == 1} == {0, 1}


def test_the_renamed_unit_never_uses_a_name_outside_its_days(written):
    rows = csv.DictReader(_lines(written, "marrowby-2024-04-to-2026-02.csv"))
    days = {"5 WEST": set(), "5W-MED ONC": set()}
    for row in rows:
        if row["LOC"] in days and row["COLL_DT"]:
            days[row["LOC"]].add(row["COLL_DT"][:10])
    assert max(days["5 WEST"]) <= "2025-10-15" <= min(days["5W-MED ONC"])


def test_every_wrongly_stated_unit_is_put_right_by_a_stay(written):
    moved = [true for true in written.truth if true.stated_unit not in (true.unit, "5W-MED ONC")]
    stays = list(csv.DictReader(_lines(written, "marrowby-movements.csv")))
    assert len(moved) > 100
    assert len(stays) == 2 * len(moved)


def test_the_truth_is_written_only_when_asked(written, tmp_path):
    folder = written.files[0].path.parent
    assert not [path for path in folder.iterdir() if "truth" in path.name]
    file = write_truth(written.truth, tmp_path / "truth.csv")
    assert len(file.read_text(encoding="utf-8").splitlines()) == len(written.truth) + 1


def test_sets_from_lines_are_contaminated_more_often(written):
    adults = [true for true in written.truth if true.facility == "Marrowby" and true.unit != EMERGENCY.label]

    def share(line):
        chosen = [true.contaminated for true in adults if true.line is line]
        return sum(chosen) / len(chosen)

    assert share(True) > 1.2 * share(False)


@pytest.mark.parametrize("name", sorted(GROWERS))
def test_relatives_of_an_organism_are_mutual(name):
    assert all(same_organism(other, name) for other in GROWERS if same_organism(name, other))
