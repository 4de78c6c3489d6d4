"""Is it dry time? Twenty-six coffee-stained sheets, ten draws seen by both observers, one box ticked twice.

The expected numbers are the story's own; statsmodels computes the intervals and the agreement a second time.
"""

from __future__ import annotations

import pytest
from acceptance_shell import FILES, Shell
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint

SHEETS = FILES / "watched_draws.csv"
YES = {
    "two identifiers": 26, "hand hygiene": 23, "friction time": 22, "full dry time": 14, "not touched after prep": 17,
    "bottle tops": 19, "fill level checked": 15, "labelled at bedside": 24,
}  # fmt: skip


@pytest.fixture(scope="module")
def shell(tmp_path_factory):
    return Shell(tmp_path_factory.mktemp("steps") / "workspace")


@pytest.fixture(scope="module")
def answer(shell):
    return shell.json("steps", SHEETS)


@pytest.fixture
def figures(answer):
    return {figure["label"]: figure for figure in answer["figures"]}


def test_the_sentence_says_what_can_and_what_cannot_be_said(answer):
    assert answer["sentence"] == (
        "full dry time: done in 14 of 26 watched draws, 53.8 % (35 % to 71 %). We can say that full dry time is below "
        "80 %. We cannot say that it causes contamination; showing a halving from 4 % to 2 % would need about 1,141 "
        "sets in each group."
    )


@pytest.mark.parametrize(("step", "yes"), YES.items())
def test_each_step_has_its_counts_and_wilson_interval(figures, step, yes):
    seen = 25 if step == "labelled at bedside" else 26
    low, high = proportion_confint(yes, seen, method="wilson")
    assert (figures[step]["numerator"], figures[step]["denominator"]) == (yes, seen)
    assert (figures[step]["low"], figures[step]["high"]) == pytest.approx((low, high), abs=1e-9)


def test_only_dry_time_stands_after_asking_about_eight_steps(answer):
    below = {row[0] for row in answer["table"]["rows"] if row[8] == "yes"}
    by_holm = multipletests([0.0023, 0.0079, *[0.06] * 6], method="holm")[0]
    assert below == {"full dry time"}
    assert list(by_holm[:2]) == [True, False]


def test_the_chance_of_being_the_lowest_is_said(answer):
    lowest = {row[0]: row[9] for row in answer["table"]["rows"]}
    assert lowest["full dry time"] == pytest.approx(53, abs=0.5)
    assert lowest["fill level checked"] == pytest.approx(33, abs=0.5)


def test_two_observers_agree_on_eight_of_ten_and_the_item_is_reworded(answer, figures):
    kappa = figures["Agreement beyond chance: full dry time"]
    assert (kappa["numerator"], kappa["denominator"]) == (8, 10)
    assert kappa["value"] == pytest.approx(cohens_kappa([[6, 1], [1, 2]]).kappa)
    assert kappa["value"] == pytest.approx(0.52, abs=0.005)
    assert any("reword the item before comparing observers" in words for words in answer["cautions"])


def test_the_double_tick_is_unreadable_and_nights_and_versions_are_missed(answer):
    row = next(row for row in answer["table"]["rows"] if row[0] == "labelled at bedside")
    said = {check["key"]: check["words"] for check in answer["checks"]}
    assert row[1:5] == [24, 25, 0, 1]
    assert said["readable"].startswith("1 box cannot be read")
    assert "nights 2 of 26" in said["nights"]
    assert "weekday mornings 18" in said["nights"]
    assert said["policy_named"].startswith("3 draws do not say")


def test_the_next_round_plans_for_twelve_night_observations(shell):
    found = shell.json("steps", SHEETS, "--next")
    assert found["sentence"].startswith("Plan for 12 night observations: 2 watched, 10 more to go.")
    assert sum(row[5] for row in found["table"]["rows"] if row[0] == "night") == 10


def test_the_next_round_says_how_many_draws_say_what(shell):
    needed = {figure["key"]: figure["value"] for figure in shell.json("steps", SHEETS, "--next")["figures"]}
    assert (needed["needed_60_90"], needed["needed_60_80"], needed["needed_70_80"]) == (53, 38, 141)
    assert needed["within_60"] in (92, 93)


def test_a_sheet_that_names_the_patient_is_refused(shell, tmp_path):
    file = tmp_path / "sheets.csv"
    file.write_text("draw,MRN,dry time\n1,4401233,yes\n")
    done = shell.run("steps", file)
    assert done.returncode != 0
    assert "'MRN' looks like a name or a number of a patient" in done.stderr
