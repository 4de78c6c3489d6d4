"""Story S1 of the invented network: two laboratories, one messy month, read from the files as printed there."""

from __future__ import annotations

from pathlib import Path

import pytest

from cubital.domain.places import Facility
from intake_help import Options, read_file

FILES = Path(__file__).resolve().parents[2] / "acceptance" / "files"
THISTLECOMBE = Options(facility=Facility(name="Thistlecombe Community", timezone="America/Chicago"))


@pytest.fixture(scope="module")
def marrowby():
    with read_file(FILES / "marrowby.csv") as read:
        yield read


@pytest.fixture(scope="module")
def thistlecombe():
    with read_file(FILES / "thistlecombe.csv", THISTLECOMBE) as read:
        yield read


def test_twenty_one_bottle_rows_make_eleven_sets(marrowby):
    account = marrowby.intake.reconciliation
    assert (account.rows, account.sets) == (21, 11)
    assert marrowby.losses == {"further_bottle": 9, "superseded": 1}


def test_eight_set_rows_make_eight_sets(thistlecombe):
    account = thistlecombe.intake.reconciliation
    assert (account.rows, account.sets, account.losses) == (8, 8, ())


def test_the_preliminary_row_is_the_one_replaced(marrowby):
    assert [row for row, fate in marrowby.fates() if fate == "superseded"] == [6]


def test_the_repeated_hour_is_settled_by_accession_order(marrowby):
    delays = {}
    for accession in ("5006", "5007"):
        one = marrowby.set_of(accession)
        assert one["time_quality"] == "ambiguous_hour"
        delays[accession] = (one["received_at"] - one["collected_at"]).total_seconds() / 60
    assert delays == {"5006": 30, "5007": 43}
    assert str(marrowby.set_of("5007")["received_at"]) == "2025-11-02 07:58:00", (
        "received after 5006, as its number says"
    )


def test_no_delay_is_ever_negative(marrowby):
    (negative,) = marrowby.session.one(
        "select count(*) from new_sets where received_at < collected_at and time_quality <> 'after_receipt'"
    )
    assert negative == 0


def test_other_sets_of_the_night_are_exact(marrowby):
    one = marrowby.set_of("5001")
    assert (str(one["collected_at"]), str(one["collected_local"])) == ("2025-11-02 03:10:00", "2025-11-01 22:10:00")
    assert one["time_quality"] == "exact"


def test_eight_of_nineteen_collectors_are_usable(marrowby, thistlecombe):
    usable = [key for read in (marrowby, thistlecombe) for key in read.column("collector_key") if key]
    assert len(usable) == 8
    assert "lab" not in usable


def test_badge_numbers_are_grade_a_and_initials_grade_b(marrowby):
    assert marrowby.set_of("5008")["attribution"] == "A"
    assert marrowby.set_of("5001")["attribution"] == "B"
    assert marrowby.set_of("5005")["attribution"] == "none"


def test_the_child_is_known_by_age_group_only(marrowby):
    assert marrowby.set_of("5010")["age_group"] == "1_to_17"
    columns = {row[0] for row in marrowby.session.rows("describe new_sets")}
    assert "birth" not in columns


def test_one_set_has_no_anaerobic_bottle_and_thistlecombe_cannot_say(marrowby, thistlecombe):
    kinds = marrowby.session.rows(
        "select accession from new_sets join new_bottles using (row_set) group by 1 having count(*) = 1 order by 1"
    )
    assert kinds == [("5005",), ("5010",)]
    assert thistlecombe.session.one("select count(*) from new_bottles") == (0,)


def test_the_negated_organism_is_kept_and_marked(thistlecombe):
    found = thistlecombe.session.rows(
        "select organism_key, negated from new_isolates join new_sets using (row_set)"
        " where accession = '5002' order by 1"
    )
    assert found == [("corynebacterium", False), ("staphylococcus-aureus", True)]


def test_bacteroides_stays_bacteroides(thistlecombe):
    found = thistlecombe.session.rows(
        "select organism_key from new_isolates join new_sets using (row_set) where accession = '5005'"
    )
    assert found == [("bacteroides-fragilis",)]


def test_equal_numbers_at_two_hospitals_are_two_patients(marrowby, thistlecombe):
    assert marrowby.set_of("5001")["patient_key"] != thistlecombe.set_of("5001")["patient_key"]


def test_the_day_first_reading_is_explained(thistlecombe):
    assert any("'Collected' is read day first" in note and "'Birth'" in note for note in thistlecombe.intake.notes)
    assert str(thistlecombe.set_of("5003")["collected_local"]) == "2025-11-04 23:50:00"
