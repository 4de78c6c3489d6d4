"""Figures in words."""

from __future__ import annotations

import pytest

from cubital.domain.answer import Figure
from cubital.papers.figure_words import count_words, interval_words, unbroken, value_words


def figure(value, unit, **more):
    return Figure(key="k", label="l", value=value, unit=unit, **more)


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [(0.038, "proportion", "3.8 %"), (41.0, "minutes", "41 min"), (41.5, "minutes", "41.5 min"), (None, "ml", "–"),
     (3.0, "sets", "3"), (12.34, "per_1000", "12.3 per 1,000"), (8.0, "ml", "8 ml")],
)  # fmt: skip
def test_a_value_is_said_with_its_unit(value, unit, words):
    assert value_words(figure(value, unit)) == words


def test_counts_are_said_only_for_ratios_of_counts():
    assert count_words(figure(0.5, "proportion", numerator=5571, denominator=11142)) == "5,571 of 11,142"
    assert count_words(figure(41, "minutes", denominator=30)) == ""


def test_an_interval_names_its_unit_once():
    assert interval_words(figure(0.038, "proportion", low=0.0244, high=0.0589)) == "2.4 to 5.9 %"
    assert interval_words(figure(4.0, "minutes", low=3.5, high=5.0)) == "3.5 to 5"
    assert interval_words(figure(4.0, "minutes", low=3.5)) == ""


def test_a_number_is_never_parted_from_its_unit():
    assert unbroken("3.8 % in 24 h, 41 min, 5 minutes") == "3.8\u00a0% in 24\u00a0h, 41\u00a0min, 5 minutes"
