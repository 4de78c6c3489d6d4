"""Places with their mix allowed for: what hours explain, what is left, and what nobody can compare."""

from __future__ import annotations

import json

import pytest

from cubital.answers.places import PlacesSetting
from cubital.answers.places_reading import PlaceCount, PlacesPolicy, Side
from cubital.answers.standardised import build_standardised_answer
from cubital.answers.standardised_reading import read_standardised
from cubital.domain.answer import Verdict, build_answer_dict
from cubital.stats.overdispersion import root_ratio_scores
from cubital.stats.standardised import poisson_two_sided

BY = "hour"
SETTING = PlacesSetting(heading="Unit")


def place(key, **strata):
    return PlaceCount(
        key=key, name=f"Unit {key}", sets=sum(n for _x, n in strata.values()),
        contaminated=sum(x for x, _n in strata.values()), strata=strata,
    )  # fmt: skip


def answer_of(*places):
    reading = read_standardised(places, policy=PlacesPolicy())
    return build_standardised_answer(reading, setting=SETTING, by=BY)


def test_a_unit_that_draws_at_night_is_no_different_once_nights_are_allowed_for():
    """By hand: night 60 of 1,000, day 20 of 1,000 everywhere; the night unit expects exactly what it had."""
    night, day = place("night", night=(54, 900), day=(2, 100)), place("day", night=(6, 100), day=(18, 900))
    reading = read_standardised([night, day], policy=PlacesPolicy())
    one = reading.places[0]
    assert (one.observed, one.expected, one.crude) == (56, pytest.approx(56.0), pytest.approx(40.0))
    assert one.excess == pytest.approx(one.explained)
    answer = answer_of(night, day)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.sentence.startswith("Allowing for hour, no place can be told apart")


def test_what_the_mix_does_not_explain_is_left_and_counted():
    """By hand: night 110 of 2,000 and day 30 of 2,000; unit a expects 900×.055 + 100×.015 = 51, has 80."""
    a, b = place("a", night=(78, 900), day=(2, 100)), place("b", night=(32, 1100), day=(28, 1900))
    reading = read_standardised([a, b], policy=PlacesPolicy())
    assert reading.places[0].expected == pytest.approx(900 * 110 / 2000 + 100 * 30 / 2000)
    assert reading.places[0].side is Side.ABOVE
    sentence = answer_of(a, b).sentence
    assert "80 contaminated of 1,000 sets where 51.0 would be expected, 1.6 times as many (1.2 to 2.0)" in sentence
    assert "Of 45.0 beyond the common share, 16.0 come with hour." in sentence


def test_without_a_shared_stratum_nothing_is_compared():
    """Question 13: no overlap in hours means not comparable; the answer says what would be needed."""
    answer = answer_of(place("a", night=(9, 300)), place("b", day=(2, 300)))
    assert answer.verdict is Verdict.NOT_IDENTIFIABLE
    assert "no two of them drew a set with the same hour" in answer.sentence
    assert answer.picture == {}


def test_sets_that_only_one_place_draws_are_left_out_and_said():
    answer = answer_of(place("a", night=(9, 300), day=(3, 300)), place("b", day=(2, 300)))
    assert answer.checks[0].passed is False
    assert "300 sets (33.3 %) were drawn under conditions (hour) that no other place shares" in answer.checks[0].words
    assert answer.table.rows[0][1:3] == (300, 300)


@pytest.mark.parametrize(
    ("places", "verdict"),
    [
        ([place("a", day=(3, 90))], Verdict.NOT_IDENTIFIABLE),
        ([place("a", day=(0, 90)), place("b", day=(0, 90))], Verdict.TOO_FEW),
        ([place("a", day=(1, 5)), place("b", day=(0, 4))], Verdict.TOO_FEW),
        ([place("a", day=(5, 5)), place("b", day=(4, 4))], Verdict.TOO_FEW),
        ([], Verdict.NOT_IDENTIFIABLE),
    ],
)
def test_thin_or_lonely_counts_are_refused_in_words(places, verdict):
    answer = answer_of(*places)
    assert answer.verdict is verdict
    json.dumps(build_answer_dict(answer), allow_nan=False)


def test_a_place_whose_strata_do_not_add_up_is_a_mistake():
    with pytest.raises(ValueError, match="do not add up"):
        read_standardised([PlaceCount(key="a", name="a", sets=9, contaminated=1, strata={"x": (1, 4)})],
                          policy=PlacesPolicy())  # fmt: skip


def test_what_the_file_does_not_hold_is_named():
    answer = answer_of(place("a", day=(9, 300)), place("b", day=(8, 300)))
    assert any("how hard their veins are" in one for one in answer.cautions)


def test_places_that_usually_differ_are_allowed_to():
    """Ten places spread far beyond chance: the usual spread is added, and fewer stand out than chance alone says."""
    spread = [place(f"u{i}", day=(x, 1000)) for i, x in enumerate((12, 16, 20, 24, 28, 34, 38, 42, 46, 52))]
    reading = read_standardised(spread, policy=PlacesPolicy())
    assert reading.widened
    alone = [poisson_two_sided(one.observed, one.expected) for one in reading.places]
    assert sum(one < 0.05 for one in alone) > sum(one.adjusted < 0.05 for one in reading.places)


def test_twice_the_tail_of_a_poisson_count():
    """R, ppois from memory: P(X >= 10 | 5) = .0318; none of 3 expected: exp(-3) twice."""
    assert poisson_two_sided(10, 5.0) == pytest.approx(0.0637, abs=2e-4)
    assert poisson_two_sided(0, 3.0) == pytest.approx(2 * 0.0497871, abs=1e-6)


def test_the_score_of_none_is_finite():
    scores = root_ratio_scores([0, 25], [4.0, 16.0])
    assert list(scores.z) == pytest.approx([-4.0, 2.0])
    with pytest.raises(ValueError, match="something expected"):
        root_ratio_scores([1], [0.0])
