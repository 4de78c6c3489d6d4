"""A site map: a laboratory's own codes as answers."""

from __future__ import annotations

import pytest

from cubital.domain.errors import FileProblem
from cubital.reference.site_codes import read_site_codes


def test_every_kind_of_code_becomes_the_answer_to_its_question():
    lines = [
        "Kind,Code,Meaning",
        "test,MB7,blood-culture",
        "specimen,07,blood",
        "bottle,Q1,Anaerobic",
        "organism,S1,CNS",
    ]
    assert dict(read_site_codes(lines, where="map.csv")) == {
        "test_code.MB7": "blood-culture",
        "specimen_code.07": "blood",
        "bottle_code.Q1": "anaerobic",
        "organism_code.S1": "staphylococcus-coagulase-negative",
    }


@pytest.mark.parametrize("line", ["test,MB7,perhaps", "test,,other", "ward,5W,blood", "organism,S1,xyzzy"])
def test_a_line_that_cannot_be_used_is_named(line):
    with pytest.raises(FileProblem, match="lines 3 "):
        read_site_codes(["kind,code,meaning", "test,A,other", line], where="map.csv")


def test_a_second_meaning_of_a_code_is_refused_and_the_same_again_is_not():
    same = ["kind,code,meaning", "test,A,other", "test,A,other"]
    assert len(read_site_codes(same, where="map.csv")) == 1
    with pytest.raises(FileProblem, match="lines 4 "):
        read_site_codes([*same, "test,A,blood-culture"], where="map.csv")


def test_missing_headings_are_said():
    with pytest.raises(FileProblem, match="'kind', 'code' and 'meaning'"):
        read_site_codes(["code,organism", "1,CNS"], where="map.csv")
