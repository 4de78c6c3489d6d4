"""The questions behind "is it real", on the command line: charts with their cost, since when, better, below, gaps.

Numbers are those of the invented Marrowby emergency department; anchors are exact binomial and geometric values.
"""

from __future__ import annotations

import pytest
from acceptance_shell import FILES, Shell

COUNTS = FILES / "emergency_counts.csv"


@pytest.fixture(scope="module")
def shell(tmp_path_factory):
    return Shell(tmp_path_factory.mktemp("signal") / "workspace")


@pytest.mark.parametrize("chart", ["p", "u", "laney", "laney-u", "ewma", "cusum"])
def test_each_chart_agrees_that_march_is_noise_and_says_what_it_costs(shell, chart):
    answer = shell.json("signal", "--counts", COUNTS, "--chart", chart)
    assert answer["verdict"] == "within_variation"
    figures = {figure["key"]: figure for figure in answer["figures"]}
    assert figures["false_alarm_every"]["value"] > 100
    assert 1 <= figures["found_after"]["value"] < 5


def test_the_data_choose_the_proportion_chart_and_say_why(shell):
    answer = shell.json("signal", "--counts", COUNTS, "--chart", "auto")
    assert "each can be judged by itself" in " ".join(answer["cautions"])


@pytest.mark.parametrize("question", ["real", "chart", "since", "better", "below", "gap", "noticed"])
def test_every_question_of_counts_has_a_sentence(shell, question):
    assert shell.json("signal", "--counts", COUNTS, "--ask", question)["sentence"].strip()


def test_two_clean_months_are_eight_point_nine_percent(shell, tmp_path):
    # sixty sets a month at 2 %: 50 months of 49 clean and one contaminated, then 120 clean sets
    rows = [f"{2018 + m // 12}-{m % 12 + 1:02d},50,1" for m in range(50)]
    rows[-1] = "2022-02,25,1"
    rows += ["2022-03,60,0", "2022-04,48,0"]
    path = tmp_path / "rare.csv"
    path.write_text("month,sets,contaminated\n" + "\n".join(rows) + "\n")
    answer = shell.json("signal", "--counts", path, "--ask", "gap")
    figures = {figure["key"]: figure for figure in answer["figures"]}
    assert figures["open_gap"]["value"] == 120
    assert figures["gap_chance"]["value"] == pytest.approx(0.089, abs=0.005)
    assert figures["gap_limit"]["value"] == pytest.approx(327, abs=5)
    assert "too early to celebrate" in answer["sentence"]


def test_a_place_is_not_chosen_in_a_table(shell):
    done = shell.run("signal", "--counts", COUNTS, "--unit", "ED")
    assert done.returncode == 2
    assert "--unit" in done.stderr


def test_questions_that_need_a_workspace_say_so(shell):
    done = shell.run("signal", "--counts", COUNTS, "--ask", "units")
    assert done.returncode != 0
    assert "one place" in done.stderr
