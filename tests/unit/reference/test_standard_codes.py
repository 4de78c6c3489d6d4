"""The standard codes: what they mean, and that the organisms' codes are those of the published list."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from cubital.reference.organisms import same_organism
from cubital.reference.standard_codes import CodeMeaning, standard_codes
from cubital.reference.tables import read_rows, sources


def test_every_code_names_its_source_and_stands_once() -> None:
    rows = read_rows("standard_codes")
    assert {row["source"] for row in rows} <= set(sources())
    assert len(standard_codes()) == len(rows)


@pytest.mark.parametrize(
    ("system", "code", "meaning"),
    [
        ("loinc", "600-7", CodeMeaning.CULTURE),  # LOINC: Bacteria identified in Blood by Culture
        ("loinc", "60258-1", CodeMeaning.OTHER_CULTURE),  # bone marrow
        ("loinc", "23658-8", CodeMeaning.SUSCEPTIBILITY),  # other antibiotic; often taken for a blood culture
        ("snomed", "368208006", CodeMeaning.SITE),
    ],
)
def test_codes_mean_what_their_systems_say(system: str, code: str, meaning: CodeMeaning) -> None:
    assert standard_codes()[(system, code)].meaning is meaning


def test_the_left_upper_arm_is_no_antecubital_fossa() -> None:
    """Some public code labels SNOMED CT 368208006 as the left antecubital fossa, which is wrong."""
    assert standard_codes()[("snomed", "368208006")].words == "Left upper arm"


def test_snomed_identifiers_have_the_right_check_digit() -> None:
    """Verhoeff's check digit, as the SNOMED CT release file specification defines it for every identifier."""
    wrong = [code for system, code in standard_codes() if system == "snomed" and _verhoeff(code) != 0]
    assert not wrong


def _verhoeff(digits: str) -> int:
    check = 0
    for place, sign in enumerate(reversed(digits)):
        digit = int(sign)
        for _turn in range(place % 8):
            digit = [1, 5, 7, 6, 2, 8, 3, 0, 9, 4][digit]
        check = _dihedral(check, digit)
    return check


def _dihedral(first: int, second: int) -> int:
    if first < 5:
        return (first + second) % 5 if second < 5 else 5 + (first + second - 5) % 5
    return 5 + (first - 5 - second) % 5 if second < 5 else (first - second) % 5


def test_organism_codes_are_those_of_the_published_list(open_data: Callable[[str], Path]) -> None:
    """NHSN Organism List, January 2020 (CDC): each code beside its name."""
    from cubital.intake.results import read_result

    with (open_data("nhsn-organism-list") / "nhsn_organisms_2020.csv").open(encoding="utf-8") as lines:
        published = {row["snomed_code"]: row["snomed_preferred_term"] for row in csv.DictReader(lines)}
    checked = 0
    for (system, code), known in standard_codes().items():
        if system == "snomed" and known.meaning is CodeMeaning.ORGANISM and code in published:
            keys = [o.organism_key for o in read_result(published[code]).organisms if not o.negated and o.organism_key]
            assert any(same_organism(key, known.organism_key) for key in keys), f"{published[code]} read as {keys}"
            checked += 1
    assert checked >= 30
