"""Five people to coach, fairly: fourteen collectors in twelve months, and two people who share the initials JM.

The expected numbers are the story's own (beta-binomial model and simulation; invented data).
"""

from __future__ import annotations

import pytest
from acceptance_shell import FILES, Shell

COUNTS = FILES / "fourteen_collectors.csv"


@pytest.fixture(scope="module")
def shell(tmp_path_factory) -> Shell:
    return Shell(tmp_path_factory.mktemp("people") / "workspace")


@pytest.fixture(scope="module")
def answer(shell):
    return shell.json("people", "--counts", COUNTS)


@pytest.fixture(scope="module")
def rows(answer):
    columns = answer["table"]["columns"]
    return {row[columns.index("Person")]: dict(zip(columns, row, strict=True)) for row in answer["table"]["rows"]}


@pytest.fixture(scope="module")
def figures(answer):
    return {figure["key"]: figure for figure in answer["figures"]}


def test_the_first_line_is_about_the_system(answer):
    assert answer["sentence"].startswith("The system is above target: 44 of 1,000 attributed sets, 4.4 %")


def test_there_is_some_real_difference(figures):
    assert figures["difference_chance"]["value"] == pytest.approx(0.016, abs=0.006)  # simulated, here and there


def test_what_is_usual_and_how_much_it_weighs(figures):
    assert figures["usual_rate"]["value"] == pytest.approx(0.044, abs=5e-4)
    assert "about 71 draws" in figures["usual_rate"]["definition"]


@pytest.mark.parametrize(("key", "estimate"), [("C14", 6.1), ("C03", 6.1), ("C08", 5.5), ("C05", 5.0)])
def test_estimates_of_those_with_draws_enough(rows, key, estimate):
    assert rows[key]["Estimate, %"] == estimate


@pytest.mark.parametrize(("key", "could"), [("C08", 6.0), ("C14", 3.0), ("C05", 2.2), ("C03", 1.9), ("C11", 0.9)])
def test_the_order_of_support_and_what_it_could_prevent(rows, key, could):
    assert rows[key]["Support"] == ["C08", "C14", "C05", "C03", "C11"].index(key) + 1
    assert rows[key]["Could be prevented"] == pytest.approx(could, abs=0.05)


def test_those_whom_raw_percentages_would_have_chosen_are_not(rows):
    assert rows["C06"]["Support"] is None  # 1 of 4
    assert rows["C01"]["Support"] is None  # 2 of 9
    assert rows["C08"]["Draws"] + rows["C05"]["Draws"] == 352


@pytest.mark.parametrize("key", ["C01", "C06", "C11", "C13"])
def test_below_thirty_draws_no_percentage_is_told(rows, key):
    assert [rows[key][name] for name in ("Estimate, %", "From, %", "To, %", "Chance above target, %")] == [None] * 4


def test_the_unattributed_stay_nobodys(figures):
    assert (figures["unattributed"]["numerator"], figures["unattributed"]["denominator"]) == (230, 1230)
    bounds = figures["attributed_bounds"]
    assert bounds["low"] == pytest.approx(44 / 1222)
    assert bounds["high"] == pytest.approx(52 / 1008)


def test_the_printed_answer_says_what_it_is_for(shell):
    done = shell.run("people", "--counts", COUNTS)
    assert "not for pay, discipline or contracts" in done.stderr
    assert "the guard for what leaves was not applied" in done.stderr
    assert "C10: Considered, not chosen" in done.stdout


def test_a_letter_from_counts_is_one_pdf(shell, tmp_path):
    shell.ok("people", "letter", "C08", "--counts", COUNTS, "--out", tmp_path / "letter.pdf")
    assert (tmp_path / "letter.pdf").read_bytes().startswith(b"%PDF")


def test_two_sets_that_were_not_hers_change_her_figures(shell):
    answer = shell.json("people", "dispute", "C11", "--counts", COUNTS, "--without", "2", "2")
    assert answer["sentence"].startswith("Without the 2 disputed sets: 26 of 27 clean, where it was 26 of 29.")
    assert "no support would be offered any more" in answer["sentence"]
