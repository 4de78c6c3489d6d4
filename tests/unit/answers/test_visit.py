"""Question 6: the worst unit improved after a visit. The fall that comes by itself is said before anything else."""

from __future__ import annotations

import json

import numpy as np
import pytest

from cubital.answers.places_reading import PlaceCount, PlacesPolicy
from cubital.answers.visit import build_visit_answer
from cubital.answers.visit_reading import read_visit
from cubital.domain.answer import Verdict, build_answer_dict
from cubital.stats.two_proportions import difference_newcombe

POLICY = PlacesPolicy()


def places_of(pairs):
    return [PlaceCount(key=key, name=key, sets=n, contaminated=x) for key, (x, n) in pairs.items()]


def twelve(worst, others=(3, 120)):
    return places_of({"ed": worst} | {f"u{i}": others for i in range(11)})


def answer_of(before, after, *, months=(6, 6), key="ed"):
    reading = read_visit(before, after, key=key, months=months, policy=POLICY)
    return build_visit_answer(reading, name="Emergency")


def test_the_expected_fall_is_said_before_the_improvement():
    """Twelve units of 120 sets; the worst shows 6 of 120, 5.0 %, where all are 2.7 %: it is expected near 2.7 %."""
    answer = answer_of(twelve((6, 120)), twelve((3, 120)))
    words = answer.sentence
    assert words.startswith("Emergency had 6 of 120 sets, 5.0 %, and was the highest of all. Selected because it was")
    assert "to about 2.7 %, whatever is done" in words
    assert words.index("some fall is expected anyway") < words.index("Afterwards it had 3 of 120 sets, 2.5 %")
    assert "cannot be told from chance" in words
    assert answer.verdict is Verdict.WITHIN_VARIATION


def test_no_answer_claims_a_cause():
    answer = answer_of(twelve((40, 400), (8, 400)), twelve((6, 900), (24, 1200)))
    assert answer.sentence.endswith("Before and after cannot show what caused it.")


def test_a_change_far_beyond_both_is_told_as_left():
    pairs = {f"u{i}": (x, 800) for i, x in enumerate((12, 16, 20, 24, 28, 34, 38, 42))}
    before = places_of(pairs | {"ed": (64, 800)})
    after = places_of(pairs | {"ed": (10, 800)})
    answer = answer_of(before, after)
    assert answer.verdict is Verdict.SIGNAL
    assert answer.figure("left").high < 0
    assert "More is left than that" in answer.sentence


def test_what_all_others_did_too_is_not_called_the_visits():
    """Everybody halves: nothing is left for the visit."""
    pairs = {f"u{i}": (x, 1000) for i, x in enumerate((20, 30, 40, 50, 60, 70, 80, 90))}
    halved = {key: (x // 2, n) for key, (x, n) in pairs.items()}
    answer = answer_of(places_of(pairs | {"ed": (90, 1000)}), places_of(halved | {"ed": (48, 1000)}))
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.figure("others_change").value == pytest.approx(-0.0275)


def test_networks_in_which_nothing_happened_seldom_claim_a_change():
    """Calibration, own recipe, seed 21: the worst of twelve equal units is visited, nothing changes."""
    random = np.random.default_rng(21)
    claimed = 0
    for _network in range(60):
        before, after = (places_of({f"u{i}": (int(random.binomial(240, 0.026)), 240) for i in range(12)})
                         for _side in range(2))  # fmt: skip
        worst = max(before, key=lambda one: one.contaminated).key
        reading = read_visit(before, after, key=worst, months=(6, 6), policy=POLICY)
        claimed += (
            reading.left_interval is not None and not reading.left_interval.low <= 0 <= reading.left_interval.high
        )
    assert claimed / 60 < 0.05 + 3 * (0.05 * 0.95 / 60) ** 0.5


def test_two_joined_shares_give_newcombes_interval():
    """With nothing but two shares the joined interval is the published hybrid score one."""
    from cubital.answers.visit_reading import _joined
    from cubital.stats.proportions import wilson_interval

    left, interval = _joined([(6 / 120, wilson_interval(6, 120), 1), (9 / 300, wilson_interval(9, 300), -1)])
    known = difference_newcombe(6, 120, x2=9, n2=300)
    assert left == pytest.approx(known.estimate)
    assert (interval.low, interval.high) == pytest.approx((known.interval.low, known.interval.high))


@pytest.mark.parametrize(
    ("before", "after", "months", "verdict", "said"),
    [
        (places_of({"ed": (6, 120)}), places_of({"ed": (3, 120)}), (6, 6), Verdict.NOT_IDENTIFIABLE, "nobody knows"),
        (twelve((6, 120)), twelve((3, 120)), (1, 6), Verdict.NOT_IDENTIFIABLE, "1 month before and 6 months after"),
        (twelve((1, 9)), twelve((0, 7)), (6, 6), Verdict.TOO_FEW, "9 sets before and 7 after the visit: too few"),
        (twelve((6, 120)), twelve((3, 120))[1:], (6, 6), Verdict.TOO_FEW, "0 after the visit"),
        (twelve((0, 120), (0, 120)), twelve((3, 120)), (6, 6), Verdict.TOO_FEW, "nothing to fall"),
        (twelve((9, 9), (9, 9)), twelve((3, 120)), (6, 6), Verdict.TOO_FEW, "too few to say"),
        (twelve((6, 120)), [], (6, 6), Verdict.NOT_IDENTIFIABLE, "nobody knows what is usual"),
    ],
)
def test_what_cannot_be_told_is_refused_with_what_is_needed(before, after, months, verdict, said):
    answer = answer_of(before, after, months=months)
    assert answer.verdict is verdict
    assert said in answer.sentence
    json.dumps(build_answer_dict(answer), allow_nan=False)


def test_a_place_that_was_below_the_usual_is_not_promised_a_fall():
    answer = answer_of(twelve((1, 120), (4, 120)), twelve((3, 120), (4, 120)))
    assert "was not expected to fall by itself" in answer.sentence
    assert not any("worst" in one for one in answer.cautions)


def test_no_place_stands_twice_on_a_side():
    with pytest.raises(ValueError, match="twice"):
        answer_of([*twelve((6, 120)), *twelve((6, 120))], twelve((3, 120)))
