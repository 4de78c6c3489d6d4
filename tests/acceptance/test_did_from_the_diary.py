"""Did it work, of an entry in the diary: an invented network by the command line.

ED has 40 of 480 sets before July 2025 and 20 of 480 since; six other units stay as they were (written so).
"""

from __future__ import annotations

import pytest
from acceptance_shell import Shell

from cubital.answers.did_wording import CAUSAL_WORDS
from places_world import MARROWBY, THISTLECOMBE, write_network

KEYS = ["identifiable", "meanwhile", "worst", "long", "counting", "inside"]


@pytest.fixture(scope="module")
def shell(tmp_path_factory):
    folder = tmp_path_factory.mktemp("did")
    shell = Shell(folder / "workspace")
    for facility, file in write_network(folder).items():
        shell.json("take", file, "--facility", facility, "--timezone", "America/Chicago", "--yes")
    place = ("--facility", MARROWBY, "--unit", "ED")
    shell.ok("diary", "add", "2025-07-01", "collection kit in use", "--kind", "kit", *place)
    shell.ok("diary", "add", "2025-11-25", "night shift halved", "--kind", "staffing", "--facility", MARROWBY,
             "--unit", "ICU")  # fmt: skip
    return shell


def figures(answer):
    return {one["key"]: one for one in answer["figures"]}


def test_the_design_is_checked_before_anything_is_said(shell):
    answer = shell.json("did", "--entry", "1")
    assert [check["key"] for check in answer["checks"]] == KEYS
    found = figures(answer)
    assert (found["before"]["numerator"], found["before"]["denominator"]) == (40, 480)
    assert (found["after"]["numerator"], found["after"]["denominator"]) == (20, 480)
    assert next(check for check in answer["checks"] if check["key"] == "worst")["passed"] is False
    assert "private" in answer


def test_what_is_left_beyond_the_others_is_said_with_its_doubt(shell):
    """The peers stay as they were: (20/460) / (40/440) = 0.48 by hand, near what the model must give."""
    answer = shell.json("did", "--entry", "1")
    ratio = figures(answer)["ratio"]
    assert 0.35 < ratio["value"] < 0.6
    assert ratio["low"] < ratio["value"] < ratio["high"]
    assert not any(word in answer["sentence"].casefold() for word in CAUSAL_WORDS)
    assert "some fall is expected anyway" in answer["sentence"]


def test_a_day_and_a_place_ask_the_same(shell):
    by_day = shell.json("did", "--on", "2025-07-01", "--unit", "ED", "--facility", MARROWBY)
    assert by_day["sentence"] == shell.json("did", "--entry", "1")["sentence"]
    again = shell.json("did", "--on", "2025-07-01", "--unit", "Medical", "--facility", THISTLECOMBE)
    assert again["verdict"] == "within_variation"
    assert {check["key"] for check in again["checks"]} == set(KEYS)


def test_a_receipt_computes_it_again(shell):
    kept = shell.json("did", "--entry", "1", "--receipt")
    again = shell.ok("again", kept["receipt_code"])
    assert "0.52 times as often" in again


def test_five_weeks_since_are_too_short(shell):
    answer = shell.json("did", "--entry", "2")
    assert answer["verdict"] == "too_few"
    assert "Ask again when there are sets up to" in answer["sentence"]


def test_a_day_outside_the_data_is_refused(shell):
    answer = shell.json("did", "--on", "2027-01-01", "--unit", "ED")
    assert answer["verdict"] == "refused"


@pytest.mark.parametrize("words", [
    (), ("--entry", "99"), ("--entry", "1", "--on", "2025-07-01"), ("--on", "2025-07-01", "--unit", "Star ward"),
])  # fmt: skip
def test_what_cannot_be_asked_is_a_sentence(shell, words):
    done = shell.run("did", *words)
    assert done.returncode != 0
    assert "Traceback" not in done.stderr
    assert done.stderr.strip()
