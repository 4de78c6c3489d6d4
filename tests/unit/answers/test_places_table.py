"""Counts by place from a small table: read as they stand, or refused with every problem named."""

from __future__ import annotations

import pytest

from cubital.answers.places_table import parse_places_text
from cubital.domain.errors import FileProblem


def test_a_pasted_table_gives_places_and_names_those_without_sets():
    table = parse_places_text("Unit\tSets\tContaminated\nEmergency\t498\t19\nDay clinic\t0\t0\n", where="")
    assert [(one.name, one.sets, one.contaminated) for one in table.counts] == [("Emergency", 498, 19)]
    assert table.empty == ("Day clinic",)


def test_every_problem_is_said_at_once():
    text = "place,sets,contaminated\nED,40,41\ned,30,1\n,20,1\nICU,many,1\n"
    with pytest.raises(FileProblem) as problem:
        parse_places_text(text, where="places.csv")
    said = problem.value.sentence()
    for part in ("41 contaminated of 40 sets is more than all", "'ed' stands already in row 2", "is empty", "'many'"):
        assert part in said


def test_a_table_without_the_columns_says_which_are_wanted():
    with pytest.raises(FileProblem, match="place, sets, contaminated"):
        parse_places_text("month,sets,contaminated\n2026-01,3,1\n", where="x")
