"""Weighing the bottles and what may be missed: the story's numbers by the command line.

The expected numbers are the story's own: 216 infections found a year with 22.4 mL where 36 mL are wanted for an
episode (invented), put through the published models, each computed by hand in ``tests/unit/stats``.
"""

from __future__ import annotations

import csv

import pytest

SCENARIO = ("missed", "--detected", "216", "--mean-ml", "22.4", "--target-ml", "36", "--example-policy")
TARES = ("--tare-aerobic", "62.4", "--tare-anaerobic", "61.9")
BALANCE = [
    ("5101", "AER", "71.6"), ("5101", "ANA", "67.1"), ("5102", "AER", "66.3"), ("5102", "ANA", "64.0"),
    ("5103", "AER", "72.9"), ("5104", "AER", "70.1"), ("5104", "ANA", "70.3"), ("5105", "AER", "65.2"),
    ("5105", "ANA", "62.0"), ("5106", "AER", "74.5"), ("5106", "ANA", "69.2"),
]  # fmt: skip


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "balance.csv"
    with path.open("w", newline="", encoding="utf-8") as handle:
        csv.writer(handle).writerows([("accession", "bottle", "gross g"), *BALANCE])
    return path


def figures(answer):
    return {figure["key"]: figure["value"] for figure in answer["figures"]}


def test_the_models_stand_side_by_side_and_two_are_struck_through(shell):
    answer = shell.json(*SCENARIO)
    found = figures(answer)
    assert {key: round(value) for key, value in found.items() if key.startswith("model_")} == {
        "model_campaign": 22, "model_odds_101": 28, "model_curve": 33, "model_odds_102": 59, "model_line_3": 149,
        "model_odds_113": 606, "model_curve_other": 34,
    }  # fmt: skip
    assert "about 20–60" in answer["sentence"]
    assert "model-dependent" in answer["sentence"]
    struck = {row[0]: row[1] for row in answer["table"]["rows"] if "struck through" in row[2]}
    assert sorted(struck.values()) == [149, 606]


def test_where_no_model_is_counted_its_number_is_struck_in_plain_words_too(shell):
    said = shell.ok(*SCENARIO)
    assert "about 20–60" in said
    lines = [line for line in said.splitlines() if "149" in line or "606" in line]
    assert lines
    assert all("struck through" in line for line in lines)


def test_the_sheet_is_mostly_short_draws_and_one_bad_split(shell, sheet):
    answer = shell.json("weigh", sheet, *TARES, "--example-policy", "--ask", "split")
    totals = {row[0]: row[1] for row in answer["table"]["rows"]}
    assert totals == {"5101": 13.6, "5102": 5.7, "5103": 10.0, "5104": 15.3, "5105": 2.7, "5106": 18.4}
    split = {row[0]: (row[2], row[3]) for row in answer["table"]["rows"]}
    assert split["5101"] == (8.7, 4.9)
    assert split["5104"] == (7.3, 8.0)
    evenness = {row[0]: row[5] for row in answer["table"]["rows"]}
    assert evenness["5104"] == "even"
    assert evenness["5101"] == "uneven"
    assert "7 of 8" in answer["sentence"]


def test_six_weighed_sets_are_too_few_for_the_models(shell, sheet):
    answer = shell.json(
        "missed", "--detected", "216", "--weights", sheet, *TARES, "--single-share", "20", "--example-policy"
    )
    assert answer["verdict"] == "too_few"
    assert "24 more" in answer["sentence"]


def test_without_weights_nothing_is_said(shell):
    answer = shell.json("missed", "--detected", "216", "--example-policy")
    assert answer["verdict"] == "refused"
    assert "weigh" in answer["sentence"].casefold()


def test_without_an_approved_policy_there_is_no_number(shell):
    answer = shell.json("missed", "--detected", "216", "--mean-ml", "22.4")
    assert answer["verdict"] == "refused"
    assert not [one for one in answer["figures"] if one["value"] is not None]


def test_more_blood_than_policy_allows_is_never_assumed(shell):
    answer = shell.json("missed", "--detected", "216", "--mean-ml", "22.4", "--target-ml", "80", "--example-policy")
    assert figures(answer)["target_ml"] == 40
    assert any("40 mL" in caution for caution in answer["cautions"])


def test_enough_blood_leaves_nothing_to_gain(shell):
    answer = shell.json("missed", "--detected", "216", "--mean-ml", "38", "--target-ml", "36", "--example-policy")
    assert "nothing to gain" in answer["sentence"].casefold()


def test_single_sets_are_a_range_too(shell):
    answer = shell.json(
        "missed", "--question", "single-sets", "--detected", "216", "--single-share", "20", "--example-policy"
    )
    assert answer["verdict"] == "estimate"
    assert "model-dependent" in answer["sentence"]
    assert "73" in str(answer["cautions"]) + str(answer["table"])


def test_the_tare_makes_one_bottle_doubtful_and_a_mean_sure(shell):
    found = figures(shell.json("tare", "--sd", "1.8", "--bottles", "40"))
    assert found["one_bottle_sd_ml"] == pytest.approx(1.7, abs=0.05)
    assert found["mean_sd_ml"] == pytest.approx(0.27, abs=0.005)


def test_overfilling_is_counted_in_bottles_and_in_blood(shell, sheet):
    answer = shell.json("weigh", sheet, *TARES, "--example-policy", "--ask", "overfill")
    found = figures(answer)
    assert found["over_share"] == pytest.approx(1 / 11)
    assert found["lost_ml_per_100_sets"] == pytest.approx(100 * (12.1 / 1.055 - 10) / 6)


def test_a_receipt_gives_the_same_range_again(shell, sheet):
    words = ("missed", "--detected", "216", "--weights", sheet, *TARES, "--single-share", "20", "--example-policy")
    for asked in (SCENARIO, words):
        first = shell.json(*asked, "--receipt")
        again = shell.json("again", first["receipt_code"])
        assert again["sameness"] == "same"
        assert again["answer"]["sentence"] == first["sentence"]
