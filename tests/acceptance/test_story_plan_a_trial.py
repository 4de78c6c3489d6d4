"""A kit trial as an educator and value analysis go through it: size, plan, seal, looks, result, papers.

Question 18 of the hard ones and the task "kit or technique trial": 4.2 to 2.6 % takes 2 013 sets in each arm, 6.5
months each at 310 a month; a trial that starts with a staffing change on one side cannot be told from it.
"""

from __future__ import annotations

import json

import pytest
from acceptance_shell import Shell
from pypdf import PdfReader

from places_world import MARROWBY
from trial_world import UNITS, write_half

PLAN = ("trial", "plan", "--facility", MARROWBY, *(word for unit in UNITS for word in ("--unit", unit)),
        "--start", "2025-07-07", "--weeks", "20", "--relative-risk", "0.6", "--seed", "7")  # fmt: skip
WORDS = ("--name", "Kit trial", "--new", "kit", "--decides", "value analysis")


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("trial story")
    shell = Shell(folder / "workspace")
    take(shell, write_half(folder / "files", "before.csv", keep=lambda day: day < "2025-07-01"))
    return shell


def take(shell, file):
    shell.json("take", file, "--facility", MARROWBY, "--timezone", "America/Chicago", "--yes")


def test_question_18_at_the_command_line(tmp_path):
    shell = Shell(tmp_path / "none")
    said = shell.json("trial", "size", "--now", "4.2", "--hoped", "2.6", "--per-month", "310")
    assert "2,013 sets are needed in each arm" in said["sentence"]
    assert "that is 6.5 months for each arm, 13 months for both" in said["sentence"]
    figures = {figure["key"]: figure["value"] for figure in said["figures"]}
    assert (figures["uncorrected"], figures["corrected"], figures["exact"]) == (2013, 2136, 2112)
    assert (
        shell.json("trial", "size", "--now", "4", "--hoped", "2", "--per-month", "310")["figures"][0]["value"] == 1141
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--now", "4", "--relative-risk", "1.2", "--per-month", "310"), "is no benefit (a relative risk of 1.20)"),
        (("--now", "0", "--hoped", "2", "--per-month", "310"), "neither of them 0 or 100"),
        (("--now", "4", "--hoped", "4", "--per-month", "310"), "is no benefit"),
        (("--now", "4", "--hoped", "2", "--per-month", "-5"), "cannot be right"),
    ],
)
def test_what_is_no_trial_is_refused_in_words(tmp_path, words, said):
    answer = Shell(tmp_path / "none").json("trial", "size", *words)
    assert answer["verdict"] == "refused"
    assert said in answer["sentence"]


def test_slips_of_the_pen_are_told_where_they_are(tmp_path):
    shell = Shell(tmp_path / "none")
    for words in (("--now", "four", "--hoped", "2"), ("--now", "4", "--hoped", "2", "--relative-risk", "0.5")):
        done = shell.run("trial", "size", *words, "--per-month", "310")
        assert done.returncode == 2
        assert "Traceback" not in done.stderr


def test_from_plan_to_result(desk, tmp_path):
    plan = tmp_path / "plan.json"
    shown = desk.ok(*PLAN, *WORDS, "--out", plan)
    assert "Order drawn with seed 7" in shown
    assert "ED: " in shown
    desk.ok("trial", "draft", plan, tmp_path / "draft.pdf")
    draft = " ".join(PdfReader(tmp_path / "draft.pdf").pages[0].extract_text().split())
    assert "Not sealed yet: nothing binds anybody." in draft
    sealed = desk.ok("trial", "seal", plan, "--by", "A. Educator", "--role", "practice educator")
    assert "data up to 28 June 2025 were in" in sealed
    (listed,) = desk.json("trial", "list")
    assert listed["fingerprint"] in sealed
    assert not listed["late"]
    assert desk.run("trial", "result", "1").returncode == 16

    take(desk, write_half(tmp_path / "files", "after.csv", keep=lambda day: day >= "2025-07-01"))
    said = desk.json("trial", "look", "1")
    assert said["sentence"].startswith("Kit: ")
    again = desk.run("trial", "look", "1")
    assert again.returncode == 16
    assert "ended with look 1" in again.stderr
    assert desk.json("trial", "result", "1")["sentence"] == said["sentence"]
    assert any("written were" in check["words"] for check in said["checks"])


def test_papers_of_both_halves(desk, tmp_path):
    for words, told in (((), "Protocol, written before the data"), (("--own",), "The trial's own page")):
        out = tmp_path / "page.pdf"
        desk.ok("trial", "paper", "1", out, *words, "--paper", "letter")
        reader = PdfReader(out)
        assert len(reader.pages) == 1
        assert told in " ".join(reader.pages[0].extract_text().split())


def test_a_result_for_others_shows_no_small_count(desk, tmp_path):
    """About ten contaminated sets in an arm: whether they may leave the guard decides, and nothing is half done."""
    out = tmp_path / "result.pdf"
    done = desk.run("trial", "paper", "1", out, "--result")
    assert (done.returncode == 0) == out.exists()
    if done.returncode:
        assert "may not leave" in done.stderr


def test_a_plan_after_its_data_is_refused_and_a_broken_one_too(desk, tmp_path):
    plan = tmp_path / "late.json"
    desk.ok(*PLAN, "--name", "Second", "--new", "kit", "--decides", "director", "--out", plan)
    sign = ("--by", "A. Educator", "--role", "practice educator")
    refused = desk.run("trial", "seal", plan, *sign)
    assert refused.returncode == 16
    assert "can no longer be written beforehand" in refused.stderr
    assert "Written after data were there" in desk.ok("trial", "seal", plan, *sign, "--late")
    changed = {**json.loads(plan.read_text()), "baseline": 7}
    plan.write_text(json.dumps(changed))
    assert "late.json: this plan cannot be used" in desk.run("trial", "seal", plan, *sign).stderr
    plan.write_text("{")
    assert desk.run("trial", "seal", plan, *sign).returncode == 10
