"""The policy as a file: in and out without loss, and every fault named with its place."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.bedside.policy_file import (
    changed_policy_values,
    example_policy,
    policy_fingerprint,
    read_policy,
    write_policy,
)
from cubital.domain.errors import PolicyProblem
from cubital.domain.policy import PolicyState

TEXT = write_policy(example_policy())


def test_writing_and_reading_gives_the_same_policy():
    assert read_policy(TEXT) == example_policy()


def test_the_shipped_example_is_a_draft_and_says_what_it_is():
    assert example_policy().state(date(2026, 3, 1)) is PolicyState.DRAFT
    assert example_policy().example
    assert "EXAMPLE" in example_policy().name


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('format = "cubital-policy/1"', 'format = "other"', "format"),
        ("value = 12.8, unit = \"kg\"", "value = 13.8, unit = \"kg\"", "weight bands"),
        ("value = 8.0, unit = \"mL\"", "value = 11.0, unit = \"mL\"", "wrong way round"),
        ('kind = "paediatric"', 'kind = "neonatal"', "unknown"),
        ('aerobic = "adult_aerobic"', 'aerobic = "blue"', "unknown bottle"),
        ("version = 7", 'version = "seven"', "whole number"),
        ("version = 7", "version = 7\ncolour = 1", "unknown: colour"),
        ("[adult]", "[adult", "not readable as TOML"),
        ("value = 0.025", "value = nan", "not a number"),
        ("value = 0.025", "value = 0.5", "more than a whole day"),
    ],
)  # fmt: skip
def test_a_faulty_file_is_refused_with_its_place(old, new, said):
    assert old in TEXT
    with pytest.raises(PolicyProblem, match=said):
        read_policy(TEXT.replace(old, new, 1))


def test_two_versions_are_compared_value_by_value():
    newer = read_policy(TEXT.replace("minimum_ml = { value = 8.0", "minimum_ml = { value = 9.0", 1))
    assert changed_policy_values(example_policy(), newer) == [("bottles[adult_aerobic].minimum_ml.value", 8.0, 9.0)]


def test_the_fingerprint_ignores_the_approval_and_sees_every_value():
    newer = read_policy(TEXT.replace("minimum_ml = { value = 8.0", "minimum_ml = { value = 9.0", 1))
    assert policy_fingerprint(newer) != policy_fingerprint(example_policy())
