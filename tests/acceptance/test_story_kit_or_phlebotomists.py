"""The kit or the phlebotomists? Ten rows of counts, by the command line.

Counts, odds ratios, the split of the fall and the words are those of the story in the job map, computed there; the odds
ratios are those of a logistic model with an effect per unit, period, kit and collector.
"""

from __future__ import annotations

import pytest

from cubital.answers.did_wording import CAUSAL_WORDS
from kit_story import HEAD, ROWS


@pytest.fixture
def whole(tmp_path):
    path = tmp_path / "kit.csv"
    path.write_text("\n".join([HEAD, *ROWS]) + "\n", encoding="utf-8")
    return path


@pytest.fixture
def alone(tmp_path):
    path = tmp_path / "alone.csv"
    path.write_text("\n".join([HEAD, *ROWS[:3]]) + "\n", encoding="utf-8")
    return path


def figures(answer):
    return {one["key"]: one for one in answer["figures"]}


def test_before_and_after_alone_is_shown_as_naive(shell, whole):
    answer = shell.json("did", whole)
    found = figures(answer)
    assert round(100 * found["naive_before"]["value"], 2) == 4.41
    assert round(100 * found["naive_after"]["value"], 2) == 2.73
    assert round(found["naive_ratio"]["value"], 2) == 0.62
    assert "before and after alone" in found["naive_ratio"]["label"]


def test_the_emergency_department_alone_cannot_say_and_says_why(shell, alone):
    answer = shell.json("did", alone)
    assert answer["verdict"] == "not_identifiable"
    assert "three rows, four unknowns" in answer["sentence"]
    assert "kit and period begin together" in answer["sentence"]
    assert not any(word in answer["sentence"].casefold() for word in CAUSAL_WORDS)


def test_four_units_tell_the_phlebotomists_and_leave_the_kit_open(shell, whole):
    answer = shell.json("did", whole)
    found = figures(answer)

    def odds(key):
        return tuple(round(found[key][part], 2) for part in ("value", "low", "high"))

    assert odds("odds_kit_yes") == (0.94, 0.62, 1.42)
    assert odds("odds_collector_phlebotomist") == (0.40, 0.28, 0.59)
    assert round(found["odds_period"]["value"], 2) == 0.97
    alone = next(check for check in answer["checks"] if check["key"] == "alone")
    assert alone["passed"] is False
    assert "three rows, four unknowns" in alone["words"]


def test_three_quarters_of_the_fall_is_who_draws(shell, whole):
    found = figures(shell.json("did", whole))
    assert round(100 * found["fall"]["value"], 2) == 1.68
    assert round(100 * found["fall_within"]["value"], 2) == 0.46
    assert round(100 * found["fall_mix"]["value"], 2) == 1.22
    assert "73 %" in found["fall_mix"]["note"]


def test_the_words_decide_and_claim_no_cause(shell, whole):
    answer = shell.json("did", whole, "--asks", "kit")
    sentence = answer["sentence"]
    assert answer["verdict"] == "within_variation"
    assert "do not renew kit on this evidence" in sentence.casefold()
    assert any("Not “kit does nothing”: the interval includes a 38 % reduction" in c for c in answer["cautions"])
    assert not any(word in sentence.casefold() for word in CAUSAL_WORDS)
    kept = shell.json("did", whole, "--asks", "collector")
    assert kept["verdict"] == "signal"
    assert "phlebotomist instead of nurse" in kept["sentence"]
    assert not any(word in kept["sentence"].casefold() for word in CAUSAL_WORDS)


def test_hours_are_not_in_a_table_and_that_is_said(shell, whole):
    answer = shell.json("did", whole)
    hours = next(check for check in answer["checks"] if check["key"] == "hours")
    assert hours["passed"] is None
    assert "hour" in hours["words"]


def test_a_person_reads_the_checks_first(shell, whole):
    said = shell.ok("did", whole)
    assert said.index("M emergency alone") < said.index("M emergency went from 4.4 %")


@pytest.mark.parametrize(("row", "words"), [
    ("M emergency,before,nurse,no,100,119", "119 contaminated of 100 sets is more than all"),
    ("M emergency,before,nurse,no,-100,1", "got '-100'"),
    ("M emergency,sometime,nurse,no,100,1", "got 'sometime', expected before or after"),
    ("M emergency,before,,no,100,1", "column 'collector': is empty"),
])  # fmt: skip
def test_rows_that_cannot_be_are_sent_back_together(shell, tmp_path, row, words):
    path = tmp_path / "wrong.csv"
    path.write_text("\n".join([HEAD, row, "X,never,nurse,no,5,6", *ROWS[1:]]), encoding="utf-8")
    done = shell.run("did", path)
    assert done.returncode != 0
    told = " ".join(done.stderr.split())
    assert words in told
    assert "got 'never'" in told
