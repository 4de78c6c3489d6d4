"""Is March really worse? The director's message arrives at 13:55, the meeting is at 14:00.

The expected numbers are the story's own (exact binomial; invented data). scipy computes the tail a second time.
"""

from __future__ import annotations

import pytest
from acceptance_shell import FILES, Shell
from scipy.stats import binom

SENTENCE = (
    "March (19 of 498, 3.8 %) is within what this department's own variation produces; we would expect a month this "
    "high about once in sixteen months. No action beyond the current plan; 24 or more would have been a signal."
)


@pytest.fixture(scope="module")
def answer(tmp_path_factory):
    shell = Shell(tmp_path_factory.mktemp("counts") / "workspace")
    return shell.json("signal", "--counts", FILES / "emergency_counts.csv")


@pytest.fixture
def figures(answer):
    return {figure["key"]: figure for figure in answer["figures"]}


def test_the_sentence_can_be_said_in_the_meeting(answer):
    assert answer["sentence"] == SENTENCE
    assert answer["verdict"] == "within_variation"


def test_the_month_stands_with_its_counts_and_interval(figures):
    month = figures["month_rate"]
    assert (month["numerator"], month["denominator"]) == (19, 498)
    assert month["low"] < 19 / 498 < month["high"]


def test_the_baseline_is_the_months_before(figures):
    baseline = figures["baseline_rate"]
    assert (baseline["numerator"], baseline["denominator"]) == (289, 11_142)
    assert baseline["value"] == pytest.approx(0.0259, abs=5e-5)


@pytest.mark.parametrize(
    ("key", "expected", "within"),
    [("lower_limit", 0.005, 5e-4), ("upper_limit", 0.047, 5e-4), ("z", 1.71, 5e-3), ("longest_run", 3, 0),
     ("tail", 0.064, 5e-4), ("any_of_twelve", 0.55, 5e-3), ("first_signal", 24, 0)],
)  # fmt: skip
def test_the_numbers_behind_the_sentence(figures, key, expected, within):
    assert figures[key]["value"] == pytest.approx(expected, abs=within)


def test_the_tail_agrees_with_an_independent_library(figures):
    # scipy.stats.binom, general-purpose reference
    assert figures["tail"]["value"] == pytest.approx(binom.sf(18, 498, 289 / 11_142), rel=1e-9)


def test_the_check_for_doubled_months_is_shown_as_passed(answer):
    check = next(check for check in answer["checks"] if "twice" in check["words"])
    assert check["passed"] is True


def test_the_picture_and_the_table_carry_all_months(answer):
    assert len(answer["table"]["rows"]) == 24
    assert answer["picture"]["$schema"].startswith("https://vega.github.io/schema/vega-lite/")
