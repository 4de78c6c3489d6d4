"""A laboratory's own codes, brought as a small file."""

from __future__ import annotations

import pytest

from cubital.domain.errors import FileProblem
from cubital.reference.code_maps import find_organism, read_code_map


def test_codes_lead_to_keys_by_name_old_name_abbreviation_or_key():
    lines = ["Code,Organism", "0017,Escherichia coli", "a,Propionibacterium acnes", "b,CNS", "c,bacillus-cereus"]
    assert dict(read_code_map(lines)) == {
        "0017": "escherichia-coli",
        "a": "cutibacterium-acnes",
        "b": "staphylococcus-coagulase-negative",
        "c": "bacillus-cereus",
    }


def test_every_line_that_cannot_be_used_is_named_at_once():
    lines = ["code,organism", "1,Escherichia coli", "2,Foobarella", ",CNS", "1,Bacillus"]
    with pytest.raises(FileProblem) as caught:
        read_code_map(lines, where="codes.csv")
    sentence = caught.value.sentence()
    for part in (
        "codes.csv",
        "line 3 names no organism",
        "line 4 has no code",
        "line 5 gives a code a second organism",
    ):
        assert part in sentence


def test_a_file_without_the_two_columns_is_refused():
    with pytest.raises(FileProblem, match="'code' and 'organism'"):
        read_code_map(["code;organism", "1;CNS"])


def test_nothing_is_guessed_in_a_code_map():
    assert find_organism("Escherichia colli") == ""
    assert find_organism("  escherichia   COLI ") == "escherichia-coli"
