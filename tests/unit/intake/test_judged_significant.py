"""What a laboratory says about significance in the text of a result. The wordings are common practice, no source."""

from __future__ import annotations

import pytest

from cubital.domain.decisions import Decision, bare_key, decided_key, decision_of
from cubital.intake.results import read_result


def significant(text):
    return {one.organism_key: one.significant for one in read_result(text).organisms if not one.negated}


@pytest.mark.parametrize(
    "text",
    [
        "Bacillus cereus, judged significant",
        "BACILLUS CEREUS - CONSIDERED CLINICALLY SIGNIFICANT",
        "Bacillus cereus (regarded as significant)",
        "Judged to be significant: Bacillus cereus",
    ],
)
def test_a_judgement_in_the_text_is_read(text):
    assert significant(text) == {"bacillus-cereus": True}


@pytest.mark.parametrize(
    "text",
    [
        "Bacillus cereus",
        "Bacillus cereus, not judged significant",
        "Bacillus cereus, if judged significant please call",
        "Bacillus cereus, of uncertain significance",
        "Bacillus cereus, significant growth",
        "Bacillus cereus, not clinically significant",
    ],
)
def test_what_is_no_judgement_is_not_read_as_one(text):
    assert not any(significant(text).values())


def test_the_judgement_is_about_the_names_of_its_sentence():
    found = significant("Escherichia coli; Staphylococcus hominis, judged significant")
    assert found == {"escherichia-coli": False, "staphylococcus-hominis": True}


def test_what_did_not_grow_cannot_be_significant():
    one = read_result("No Staphylococcus aureus isolated. Bacillus cereus, judged significant").organisms
    assert {(o.organism_key, o.negated, o.significant) for o in one} == {
        ("staphylococcus-aureus", True, False),
        ("bacillus-cereus", False, True),
    }


def test_a_key_carries_the_decision_and_gives_it_back():
    key = decided_key("bacillus-cereus", Decision.SIGNIFICANT)
    assert (bare_key(key), decision_of(key)) == ("bacillus-cereus", Decision.SIGNIFICANT)
    assert decided_key(key, Decision.CONTAMINANT) == decided_key("bacillus-cereus", Decision.CONTAMINANT)
    assert decision_of("bacillus-cereus") is None
    assert decided_key("", Decision.SIGNIFICANT) == ""
