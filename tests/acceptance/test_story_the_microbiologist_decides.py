"""The messy month's doubtful sets are listed blind, decided by the laboratory, and the month says that it was restated.

M5003 and M5004 grew the same commensal, M5009 a commensal beside a pathogen; nobody but medical microbiology decides
about them. Rates follow from the messy month: 4 of 18 before.
"""

from __future__ import annotations

import csv

import pytest
from acceptance_shell import FILES, Shell

MARROWBY = ("--facility", "Marrowby General", "--timezone", "America/Chicago", "--yes")
THISTLECOMBE = ("--facility", "Thistlecombe Community", "--timezone", "America/Chicago", "--yes")
SPAN = ("--from", "2025-10", "--to", "2025-11")
WHO = ("--initials", "BR", "--on", "2025-12-01")


@pytest.fixture(scope="module")
def taken(tmp_path_factory):
    shell = Shell(tmp_path_factory.mktemp("doubtful") / "workspace")
    shell.json("take", FILES / "marrowby.csv", *MARROWBY)
    shell.json("take", FILES / "thistlecombe.csv", *THISTLECOMBE)
    return shell


def doubtful(shell):
    return shell.json("doubtful", "list", *SPAN)


def decisions(answer):
    return {row[1]: row[6] for row in answer["table"]["rows"]}


def october(shell):
    return shell.json("month", "2025-10", "--facility", "Marrowby General")


def figure(answer, key):
    return next(one for one in answer["figures"] if one["key"] == key)


def test_three_sets_wait_and_the_sentence_says_how_far_they_reach(taken):
    answer = doubtful(taken)
    assert set(decisions(answer)) == {"5003", "5004", "5009"}
    assert set(decisions(answer).values()) == {"waits"}
    rate = figure(answer, "contamination")
    assert (rate["numerator"], rate["denominator"]) == (4, 18)
    assert "between 4 and 7" in answer["sentence"]


def test_the_list_is_blind(taken, tmp_path):
    taken.ok("doubtful", "export", tmp_path / "list.csv", *SPAN)
    written = (tmp_path / "list.csv").read_text(encoding="utf-8-sig")
    shown = str(doubtful(taken)["table"]) + written
    for told in ("5 WEST", "5W-MED", "ICU", "7731", "08:10", "09:00"):
        assert told not in shown


def test_decisions_come_back_in_the_list_and_restate_the_month(taken, tmp_path):
    before = figure(october(taken), "contamination")
    taken.ok("doubtful", "export", tmp_path / "list.csv", *SPAN)
    with (tmp_path / "list.csv").open(encoding="utf-8-sig", newline="") as handle:
        rows = list(csv.DictReader(handle))
    said = {"5003": "contaminant", "5004": "contaminant", "5009": "significant"}
    with (tmp_path / "filled.csv").open("w", encoding="utf-8", newline="") as handle:
        writer = csv.DictWriter(handle, rows[0].keys())
        writer.writeheader()
        writer.writerows([row | {"decision": said[row["accession"]], "why": "clinical notes"} for row in rows])
    assert len(taken.json("doubtful", "take", tmp_path / "filled.csv", *WHO)) == 3
    now = october(taken)
    after = figure(now, "contamination")
    assert (after["numerator"], after["denominator"]) == (before["numerator"] + 2, before["denominator"])
    notes = [words for words in now["cautions"] if "decisions of medical microbiology" in words]
    assert len(notes) == 1
    assert f"was {before['numerator']} of {before['denominator']}" in notes[0]
    assert "every doubtful set is decided" in doubtful(taken)["sentence"]
    again = taken.json("doubtful", "take", tmp_path / "filled.csv", *WHO)
    assert sorted(one["number"] for one in again) == [1, 2, 3]


def test_a_decision_taken_back_leaves_the_old_figure_and_its_day(taken):
    rows = {row[1]: row[6] for row in doubtful(taken)["table"]["rows"]}
    assert rows["5009"] == "judged significant"
    taken.ok("doubtful", "withdraw", "1", "--why", "wrong set")
    assert "waits" in decisions(doubtful(taken)).values()


def test_what_is_not_doubtful_cannot_be_decided(taken):
    refused = taken.run("doubtful", "decide", "Marrowby General", "5001", "significant", "--why", "no", *WHO)
    assert refused.returncode != 0
    assert "is not doubtful under the charter in force" in refused.stderr
