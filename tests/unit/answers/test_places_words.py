"""Places side by side in words: the whole first, who stands out, what is withheld, and what cannot be compared."""

from __future__ import annotations

import json

import pytest

from cubital.answers.places import PlacesSetting, build_places_answer
from cubital.answers.places_reading import PlaceCount, PlacesPolicy, read_places
from cubital.domain.answer import Verdict, build_answer_dict
from cubital.stats.assurance import trials_until_likely

SETTING = PlacesSetting(heading="Unit")
ALIKE = {f"u{i}": (9, 400) for i in range(9)}
FAR = ALIKE | {"far": (38, 400)}


def answer_of(pairs, *, setting=SETTING, policy=None, **more):
    counts = [PlaceCount(key=key, name=f"Unit {key}", sets=n, contaminated=x, **more) for key, (x, n) in pairs.items()]
    return build_places_answer(read_places(counts, policy=policy or PlacesPolicy()), setting=setting)


def test_the_whole_is_said_before_the_place_that_stands_out():
    answer = answer_of(FAR)
    assert answer.verdict is Verdict.SIGNAL
    assert answer.sentence.startswith("All together are within target: 119 of 4,000 sets, 3.0 %")
    assert "Unit far (38 of 400 sets, 9.5 %) stands out above the others" in answer.sentence


def test_a_network_above_target_hears_of_itself_first():
    answer = answer_of({f"u{i}": (22 + i % 2, 400) for i in range(8)})
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.sentence.startswith("All together are above target: 180 of 3,200 sets, 5.6 %")
    assert "cannot be told apart. Work on what all places share" in answer.sentence


def test_the_worst_is_expected_to_fall_by_itself():
    """Question 6: selected for being worst, the fall comes first: from its own share to the drawn-together one."""
    answer = answer_of(FAR)
    raw, drawn = answer.figure("worst_now"), answer.figure("worst_expected")
    assert (raw.numerator, raw.denominator) == (38, 400)
    assert drawn.value < raw.value
    words = next(one for one in answer.cautions if "Selected because it was worst" in one)
    assert f"from 9.5 % to about {100 * drawn.value:.1f} %" in words


def test_none_of_twenty_four_is_told_to_be_no_proof():
    """Question 47: 62 % chance of zero at a true 2 %."""
    answer = answer_of({"infant": (0, 24), "emergency": (57, 1500), "wards": (31, 1200)})
    assert any("none of 24 sets. That is 62 % likely even at a true 2 %" in one for one in answer.cautions)


def test_a_place_below_the_minimum_has_counts_and_no_share():
    row = {row[0]: row for row in answer_of(FAR | {"tiny": (2, 9)}).table.rows}["Unit tiny"]
    assert row[1:3] == (9, 2)
    assert row[3:9] == (None,) * 6
    assert row[9] == "too few to say"


def test_a_unit_with_one_collector_has_no_share_of_its_own():
    """Its share would be one person's: whatever it is, it is not shown nor called different."""
    counts = [PlaceCount(key=key, name=key, sets=400, contaminated=9, collectors=7) for key in "abcdefgh"]
    counts.append(PlaceCount(key="z", name="z", sets=200, contaminated=40, collectors=1))
    answer = build_places_answer(read_places(counts, policy=PlacesPolicy()), setting=SETTING)
    row = {row[0]: row for row in answer.table.rows}["z"]
    assert row[3] is None
    assert row[9] == "one person"
    assert "z (" not in answer.sentence
    assert any("one person drew everything" in one for one in answer.cautions)


@pytest.mark.parametrize(
    ("pairs", "verdict", "said"),
    [
        ({}, Verdict.TOO_FEW, "No place has a set"),
        ({"one": (3, 90)}, Verdict.NOT_IDENTIFIABLE, "Only one place has sets, Unit one; 3 of 90 sets"),
        ({"a": (0, 50), "b": (0, 70)}, Verdict.TOO_FEW, "a place needs 99 sets before at least one is likely"),
        ({"a": (5, 5), "b": (2, 2)}, Verdict.TOO_FEW, "All 7 sets in 2 places are contaminated: look at the charter"),
        ({"a": (1, 5), "b": (0, 2)}, Verdict.TOO_FEW, "too few to tell places apart"),
    ],
)
def test_what_cannot_be_compared_says_what_is_needed(pairs, verdict, said):
    answer = answer_of(pairs)
    assert answer.verdict is verdict
    assert said in answer.sentence
    json.dumps(build_answer_dict(answer), allow_nan=False)


def test_places_without_a_set_are_named_and_left_out():
    answer = answer_of(FAR, setting=PlacesSetting(heading="Unit", empty=("Day clinic",)))
    assert "Without a single set, and therefore left out: Day clinic." in answer.cautions


def test_sets_without_a_place_are_given_to_none():
    few = answer_of(FAR, setting=PlacesSetting(heading="Unit", unplaced=(3, 100))).checks[0]
    many = answer_of(FAR, setting=PlacesSetting(heading="Unit", unplaced=(3, 900))).checks[0]
    assert (few.passed, many.passed) == (True, False)
    assert "100 sets (2.4 %) do not say where they belong" in few.words


def test_counts_of_a_hidden_place_are_nowhere_in_the_answer():
    pairs = {f"u{i}": (9, 400) for i in range(9)} | {"secret": (61, 777)}
    setting = PlacesSetting(heading="Unit", hidden=frozenset({"secret", "u0"}), guarded=True, hide_total=True)
    answer = answer_of(pairs, setting=setting)
    text = json.dumps(build_answer_dict(answer))
    assert "Unit secret" in answer.sentence
    assert "61 of" not in text
    assert "7.9" not in text
    assert any("The counts of 2 places are hidden" in one for one in answer.cautions)


def test_both_ways_of_widening_are_named_where_they_were_used():
    pairs = {f"u{i}": (x, 500) for i, x in enumerate((5, 8, 11, 14, 17, 20, 24, 28, 33, 40))}
    added = answer_of(pairs).figure("spread")
    multiplied = answer_of(pairs, policy=PlacesPolicy(widening="multiplicative")).figure("spread")
    assert "added to every place" in added.method
    assert f"times {added.value:.2f}" in multiplied.method
    assert answer_of(ALIKE).figure("spread").method.startswith("exact binomial limits, not widened")


def test_only_places_that_stand_out_are_named_in_the_funnel():
    layers = json.dumps(answer_of(FAR).picture)
    assert "Unit far: 38 of 400" in layers
    assert "Unit u1: 9" not in layers


def test_few_places_are_drawn_as_a_ladder_with_their_counts():
    picture = json.dumps(answer_of({"a": (10, 300), "b": (12, 310)}).picture)
    assert "10 of 300" in picture
    assert "target 3.0 %" in picture


def test_ninety_nine_sets_make_one_at_three_per_cent_likely():
    """By hand: 1 - .97**98 = .9495, 1 - .97**99 = .9510."""
    assert trials_until_likely(0.03, chance=0.95) == 99
    with pytest.raises(ValueError, match="between 0 and 1"):
        trials_until_likely(0.0, chance=0.95)


def test_two_ways_of_drawing_far_apart_are_told_apart():
    """From two alone nobody learns what is usual: the difference must not excuse itself."""
    answer = answer_of({"vein": (209, 10010), "line": (118, 3114)})
    assert answer.verdict is Verdict.SIGNAL
    assert "Unit line (118 of 3,114 sets, 3.8 %) stands out above" in answer.sentence
