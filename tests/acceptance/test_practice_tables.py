"""Learning a step, sign-offs and refreshers by the command line. Anchors of our own; derivations beside each.

The attempts are the check-value series of thirty (scheme of Biau and Porcher, computed). The register and the months
since are invented and worked out by hand.
"""

from __future__ import annotations

import pytest

from cubital.answers.learning import LearningPolicy, build_learning_answer, parse_attempts
from cubital.answers.refresher import SinceMonth, build_refresher_answer, read_decay
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem

FAILED = {1, 3, 7, 13, 23}
REGISTER = """person,assessor,signed,until
A1,A2,2025-01-10,2026-01-09
A2,A1,2025-02-01,2025-08-01
N1,A1,2025-06-01,2026-06-01
N2,A2,2025-07-31,2026-07-31
N3,A2,2025-09-15,2026-09-15
N4,A2,2025-10-01,2026-10-01
N5,A2,2025-08-20,2026-03-20
N6,A1,2025-02-01,2026-02-01
"""


def table(folder, name, text):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def attempts():
    return "attempt,done\n" + "".join(f"{n},{'no' if n in FAILED else 'yes'}\n" for n in range(1, 31))


def test_the_starter_is_signed_off_at_the_twentieth_attempt(shell, tmp_path):
    answer = shell.json("learning", table(tmp_path, "a.csv", attempts()), "--limit", "0.8")
    assert answer["verdict"] == "signal"
    assert answer["sentence"].startswith("25 of 30 watched attempts were done well. At attempt 20 the limit")
    assert answer["table"]["rows"][19] == [20, "yes", 0.82]


def test_a_starter_who_fails_is_drawn_with_again():
    """By hand: step .1452, bad 2.7095: after failures only the score is 0.8548 n, so the fourth of four reaches it."""
    answer = build_learning_answer([False] * 4)
    assert "At attempt 4 the limit for too many" in answer.sentence


def test_nothing_reached_says_how_long_it_takes():
    """Good enough at 10 % takes 20.3 attempts on average (check-value file, computed exactly)."""
    answer = build_learning_answer([True, False, True])
    assert answer.verdict is Verdict.TOO_FEW
    assert "about 20 attempts on average" in answer.sentence


def test_learning_never_reads_contamination():
    with pytest.raises(FileProblem, match="attempt"):
        parse_attempts([["draws", "contaminated"], ["9", "1"]], where="counts")


def test_three_records_of_the_lapsed_assessor_are_flagged_and_not_void(shell, tmp_path):
    """A2's own sign-off ran from 1 February to 1 August 2025; N3, N4 and N5 were signed after it, A1 before it."""
    answer = shell.json("signed-off", table(tmp_path, "r.csv", REGISTER), "--on", "2026-03-01")
    rows = {row[0]: row for row in answer["table"]["rows"]}
    review = {person for person, row in rows.items() if "review" in row[5]}
    assert review == {"A1", "N3", "N4", "N5"}
    assert "4 records are to be reviewed, not void" in answer["sentence"]
    assert {person for person, row in rows.items() if row[4] == "lapsed"} == {"A1", "A2", "N6"}
    assert rows["N5"][4] == "running out soon"


def test_a_register_with_impossible_rows_is_sent_back(shell, tmp_path):
    wrong = "person,assessor,signed,until\nA,A,2025-01-01,2026-01-01\nB,C,2026-01-01,2025-01-01\nD,E,03/04/2025,\n"
    ended = shell.run("signed-off", table(tmp_path, "w.csv", wrong))
    told = " ".join(ended.stderr.split())
    assert ended.returncode != 0
    assert all(words in told for words in ("nobody signs for oneself", "runs out before it begins", "2026-03-05"))


def test_a_refresher_that_wears_off_is_found():
    """Counts made from odds that rise by a tenth a month from 2 %: the interval holds 1.1."""
    odds = [0.02 / 0.98 * 1.1**m for m in range(12)]
    since = [SinceMonth(months=m, sets=4000, contaminated=round(4000 * o / (1 + o))) for m, o in enumerate(odds)]
    decay = read_decay(since)
    assert decay.interval.low < 1.1 < decay.interval.high
    assert build_refresher_answer(since).verdict is Verdict.SIGNAL


def test_the_usual_refresher_cannot_be_told(shell, tmp_path):
    rows = "months,sets,contaminated\n0,310,6\n1,295,9\n2,301,5\n3,288,8\n4,305,7\n"
    answer = shell.json("refresher", table(tmp_path, "s.csv", rows))
    assert answer["verdict"] == "estimate"
    assert "whether it wears off cannot be told" in answer["sentence"]


@pytest.mark.parametrize("since", [[], [SinceMonth(months=0, sets=100, contaminated=3)],
                                   [SinceMonth(months=m, sets=100, contaminated=0) for m in range(8)],
                                   [SinceMonth(months=m, sets=0, contaminated=0) for m in range(8)]])  # fmt: skip
def test_too_little_after_a_refresher_is_said(since):
    assert build_refresher_answer(since).verdict is Verdict.TOO_FEW


def test_the_policy_of_limits_is_used():
    assert LearningPolicy(adequate=0.05, inadequate=0.3).adequate == 0.05
    strict = build_learning_answer([True] * 30, policy=LearningPolicy(adequate=0.05, inadequate=0.1, limit=3.0))
    assert strict.verdict is Verdict.TOO_FEW
