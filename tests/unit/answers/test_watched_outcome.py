"""They are perfect when I watch: 207 of 208 boxes ticked, and 51 of 1,240 sets contaminated (invented counts)."""

from __future__ import annotations

import pytest

from cubital.answers.observation_sheets import parse_sheets
from cubital.answers.steps_reading import StepsPolicy, read_steps
from cubital.answers.watched_outcome import build_outcome_answer, read_outcome
from cubital.domain.answer import Verdict
from cubital.stats.proportions import wilson_interval


def steps_of(done, draws=26):
    rows = [["draw", "hygiene", "dry time"], *([str(n), "yes", "yes" if n < done else "no"] for n in range(draws))]
    return read_steps(parse_sheets(rows, where="sheets"), policy=StepsPolicy())


def test_perfect_when_watched_and_contaminated_all_the_same():
    answer = build_outcome_answer(read_outcome(steps_of(26), contaminated=51, sets=1_240))
    limits = wilson_interval(51, 1_240)
    assert answer.verdict is Verdict.REFUSED
    assert answer.sentence == (
        "Steps were done in 52 of 52 readable boxes (100 %) of 26 watched draws; 51 of 1,240 sets of the same time "
        f"are contaminated (4.1 %, {100 * limits.low:.1f} % to {100 * limits.high:.1f} %). Watched were 2.1 % of "
        "the sets at most. Both can be true: what happens unwatched, and what no sheet asks about, decides most sets."
    )
    assert any("minutes from collection to label" in said for said in answer.cautions)


@pytest.mark.parametrize(("done", "contaminated", "ending"), [
    (26, 36, "the two do not contradict each other."),
    (26, 5, "Both are good; that the one makes the other is not shown"),
    (10, 80, "Both leave room; that the one makes the other is not shown"),
])  # fmt: skip
def test_no_sentence_says_that_one_makes_the_other(done, contaminated, ending):
    sentence = build_outcome_answer(read_outcome(steps_of(done), contaminated=contaminated, sets=1_240)).sentence
    assert ending in sentence
    assert "because" not in sentence


def test_nothing_seen_and_no_set_are_no_trouble():
    nothing = read_steps(parse_sheets([["draw", "a"], ["1", ""]], where="sheets"), policy=StepsPolicy())
    assert build_outcome_answer(read_outcome(nothing, contaminated=1, sets=10)).verdict is Verdict.TOO_FEW
    with pytest.raises(ValueError, match="impossible"):
        read_outcome(nothing, contaminated=0, sets=0)
