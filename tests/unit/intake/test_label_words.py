"""Bottles, statuses, ages, collectors, sites and specimens as they are written."""

from __future__ import annotations

import pytest

from cubital.domain.cultures import AgeGroup, Attribution, BottleKind, Method
from cubital.intake.age_words import age_in_years, read_age
from cubital.intake.bottle_words import read_bottle
from cubital.intake.collection_words import read_collector, read_method
from cubital.intake.specimen_words import routine_tests, specimens_in_scope
from cubital.intake.status_words import Standing, read_status


@pytest.mark.parametrize(
    ("label", "kind", "number"),
    [
        ("AER", BottleKind.AEROBIC, 1), ("ANA", BottleKind.ANAEROBIC, 2), ("PED", BottleKind.PAEDIATRIC, 3),
        ("Aerobic bottle", BottleKind.AEROBIC, 1),
        ("ANAEROBIC", BottleKind.ANAEROBIC, 2), ("AER 2", BottleKind.AEROBIC, 11),
        ("Paediatric aerobic", BottleKind.PAEDIATRIC, 3), ("bottle", BottleKind.OTHER, 4),
        ("anaerobia", BottleKind.ANAEROBIC, 2),
    ],
)  # fmt: skip
def test_bottle_labels_are_read(label, kind, number):
    read = read_bottle(label)
    assert (read.kind, read.number) == (kind, number)


@pytest.mark.parametrize(
    ("word", "standing"),
    [
        ("P", Standing.PRELIMINARY), ("F", Standing.FINAL), ("C", Standing.CORRECTED), ("Final Report", Standing.FINAL),
        ("AMENDED", Standing.CORRECTED), ("X", Standing.CANCELLED), ("Cancelled", Standing.CANCELLED),
        ("REJ", Standing.REJECTED), ("zzz", None),
    ],
)  # fmt: skip
def test_status_words_are_read(word, standing):
    assert read_status(word) is standing


def test_a_correction_outweighs_a_final_and_that_a_preliminary_result():
    assert Standing.CORRECTED > Standing.FINAL > Standing.CANCELLED > Standing.PRELIMINARY


@pytest.mark.parametrize(
    ("text", "group"),
    [
        ("45", AgeGroup.FROM_18_TO_64), ("3 M", AgeGroup.UNDER_1), ("10 days", AgeGroup.UNDER_1),
        ("14 months", AgeGroup.FROM_1_TO_17),
        (">89", AgeGroup.FROM_80), ("17", AgeGroup.FROM_1_TO_17), ("18", AgeGroup.FROM_18_TO_64),
        ("64.9", AgeGroup.FROM_18_TO_64),
        ("65", AgeGroup.FROM_65_TO_79), ("80", AgeGroup.FROM_80), ("0", AgeGroup.UNDER_1), ("130", AgeGroup.UNKNOWN),
        ("adult", AgeGroup.UNKNOWN), ("45Y", AgeGroup.FROM_18_TO_64),
    ],
)  # fmt: skip
def test_ages_become_groups(text, group):
    assert read_age(text) is group


def test_years_and_months_add_up():
    assert age_in_years("5y3m") == pytest.approx(5.25)


@pytest.mark.parametrize(("text", "grade"), [("7731", Attribution.BADGE), ("JM", Attribution.ROSTER_OR_INITIALS)])
def test_collectors_are_graded(text, grade):
    assert read_collector(text).attribution is grade


@pytest.mark.parametrize("text", ["LAB", "", "Unknown", "N/A", "nurse", "000", "Phlebotomy", "-"])
def test_nobody_in_particular_is_no_collector(text):
    assert read_collector(text).key is None


def test_initials_are_compared_without_dots_and_case():
    assert read_collector("R.OKO").key == read_collector("r oko").key


@pytest.mark.parametrize(
    ("text", "method"),
    [
        ("PICC purple", Method.CENTRAL_LINE), ("Art line", Method.ARTERIAL), ("L AC", Method.VENEPUNCTURE),
        ("New cannula", Method.NEW_CANNULA), ("Venipuncture", Method.VENEPUNCTURE), ("BLOOD", Method.UNKNOWN),
        ("VENOUS", Method.UNKNOWN), ("", Method.UNKNOWN),
    ],
)  # fmt: skip
def test_sites_tell_the_method_where_they_do(text, method):
    assert read_method(text) is method


def test_look_alike_specimens_stay_out():
    texts = ["BLOOD CULTURE", "Blood (Toxo)", "BLOOD CULTURE ( MYCO/F LYTIC BOTTLE)", "SEROLOGY/BLOOD", "URINE",
             "FLUID RECEIVED IN BLOOD CULTURE BOTTLES", "Stem Cell - Blood Culture"]  # fmt: skip
    assert specimens_in_scope(texts) == {"BLOOD CULTURE"}


def test_plain_blood_counts_where_nothing_says_culture():
    assert specimens_in_scope(["BLOOD", "URINE", "CSF"]) == {"BLOOD"}


def test_microscopy_and_other_cultures_are_other_tests():
    texts = ["Blood Culture, Routine", "Aerobic Bottle Gram Stain", "BRUCELLA BLOOD CULTURE", "FUNGAL CULTURE"]
    assert routine_tests(texts) == {"Blood Culture, Routine"}
