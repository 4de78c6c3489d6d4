"""What may be missed: the story's range, models struck by one rule, refusals, and never one number or more blood.

The scenario (216 found, 22.4 for 36 mL) and its numbers are the story's; the published counts stand in
``reference/data/yield_studies.toml``, each with its source.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.answers.episode_volumes import build_episode_volumes
from cubital.answers.missed import build_missed_answer
from cubital.answers.missed_models import EpisodeVolumes, YieldModel, most_missing
from cubital.answers.missed_reading import FillRules, MissedMaterial, MissedState, Struck, read_missed
from cubital.answers.missed_words import round_outward
from cubital.answers.single_sets import SingleSets, build_single_sets_answer, missed_by_singles
from cubital.domain.answer import Verdict
from cubital.reference.yield_studies import yield_study

RULES = FillRules(target_ml=36, cap_ml=40, bottles=4)


def volumes(mean=22.4, **changes):
    return EpisodeVolumes(volumes=(mean,), weights=(1.0,), **changes)


def material(**changes):
    usual = {"found": 216, "volumes": volumes(), "rules": RULES}
    return MissedMaterial(**(usual | changes))


def answer(**changes):
    return build_missed_answer(read_missed(material(**changes)))


def test_the_storys_numbers_model_by_model():
    read = {model.key: round(model.missed) for model in read_missed(material()).models}
    assert read == {
        "campaign": 22, "odds_101": 28, "curve": 33, "curve_other": 34, "odds_102": 59, "line_3": 149, "odds_113": 606,
    }  # fmt: skip


def test_the_range_is_the_storys():
    said = answer()
    assert "about 20–60, model-dependent" in said.sentence
    assert "2 over-extrapolate" in said.sentence
    assert said.verdict is Verdict.ESTIMATE


def test_two_models_are_struck_for_both_reasons():
    struck = {model.key: model.struck for model in read_missed(material()).models if model.struck}
    both = (Struck.BEYOND_RANGE, Struck.BEYOND_ALL)
    assert struck == {"line_3": both, "odds_113": both}


def test_where_an_episode_holds_less_than_a_set_the_curves_by_sets_are_struck():
    for mean, struck in ((19.9, True), (20.0, False)):
        found = {model.key: model.struck for model in read_missed(material(volumes=volumes(mean))).models}
        assert (Struck.BELOW_A_SET in found["curve"], Struck.BELOW_A_SET in found["curve_other"]) == (struck, struck)
    said = answer(volumes=volumes(14.0))
    assert "about 20–120, model-dependent" in said.sentence
    assert "4 over-extrapolate" in said.sentence
    (why,) = [row[2] for row in said.table.rows if row[0].startswith("added sets, Lee")]
    assert why == "struck through: it counted whole sets of 20 mL, and an episode here holds less than one"


def test_no_model_is_struck_by_its_name():
    # The same line at a shortage that it was observed over, and that fits under what can be missing, is counted.
    near = {model.key: model.struck for model in read_missed(material(volumes=volumes(33))).models}
    assert near["line_3"] == ()
    assert near["odds_113"] == (Struck.BEYOND_ALL,)


def test_a_model_of_ones_own_is_held_to_the_same_rule():
    wild = YieldModel(key="line_3", study=yield_study("mermel_maki_1993"), gain=lambda _drawn: 3.0)
    tame = YieldModel(key="curve", study=yield_study("lee_2007"), gain=lambda _drawn: 1.1)
    read = read_missed(material(), models=[wild, tame])
    assert [bool(model.struck) for model in read.models] == [False, True]
    assert read.state is MissedState.FEW_MODELS


def test_what_can_be_missing_is_read_off_the_curve():
    # 22.4 mL find 76.04 % of what four cultures find (see test_yield_models): 216 / 0.7604 - 216 = 68.
    assert most_missing(216, volumes()) == pytest.approx(68, abs=0.1)


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(22.1, 59.1, (20, 60)), (0, 0, (0, 1)), (3.2, 9.7, (3, 10)), (120, 340, (100, 350)), (5, 5, (5, 6))],
)
def test_a_range_is_rounded_outward_and_never_shut(low, high, expected):
    assert round_outward(low, high) == expected


@given(st.floats(0, 1e6), st.floats(0, 1e6))
def test_rounding_outward_keeps_both_ends_inside(one, other):
    low, high = sorted((one, other))
    first, last = round_outward(low, high)
    assert first <= low
    assert high <= last
    assert first < last


REFUSALS = [
    (
        {"rules": FillRules(target_ml=36, cap_ml=40, bottles=4, silence="No number: nobody approved.")},
        "nobody approved",
    ),
    ({"children_only": True}, "adults"),
    ({"catalogue_tare": True}, "catalogue"),
    ({"volumes": None}, "No bottle has been weighed"),
    ({"volumes": None, "weighed": 40}, "single set"),
    ({"volumes": None, "weighed": 6}, "24 more"),
    ({"volumes": volumes(weighed_sets=29)}, "1 more"),
    ({"found": None}, "not known"),
    ({"found": 19}, "1 more"),
    ({"volumes": volumes(0.0)}, "Fewer than two published models"),
]


@pytest.mark.parametrize(("changes", "words"), REFUSALS)
def test_a_refusal_says_what_is_missing_and_gives_no_number(changes, words):
    said = answer(**changes)
    assert said.verdict in {Verdict.REFUSED, Verdict.TOO_FEW, Verdict.NOT_IDENTIFIABLE}
    assert words in said.sentence
    assert "model-dependent" not in said.sentence
    assert not said.picture
    assert not said.figures
    assert said.table is None


def test_enough_blood_leaves_nothing_to_gain():
    said = answer(volumes=volumes(36))
    assert said.sentence.startswith("Nothing to gain by these models")
    assert [figure.key for figure in said.figures] == ["mean_ml", "target_ml", "found"]


def test_more_than_policy_allows_is_cut_to_what_it_allows_and_said():
    said = answer(asked_ml=80)
    assert said.figure("target_ml").value == 40
    assert any("80 mL are more than local policy allows" in words for words in said.cautions)


# Any answer of this kind, over random hospitals. A number of infections may stand there only as one of several models.
made_up = st.builds(
    MissedMaterial,
    found=st.integers(0, 5000),
    volumes=st.builds(
        volumes, st.floats(0, 80), weighed_sets=st.none() | st.integers(1, 500), error_ml=st.floats(0, 5)
    ),
    rules=st.builds(
        lambda sets, fill, room: FillRules(
            target_ml=2 * sets * fill, cap_ml=2 * sets * min(fill + room, 10), bottles=2 * sets, sets=sets
        ),
        st.integers(1, 3), st.floats(3, 10), st.floats(0, 5),
    ),
    asked_ml=st.none() | st.floats(1, 200),
    positive_share=st.none() | st.floats(0.01, 0.5),
)  # fmt: skip


@given(made_up)
def test_never_one_number_and_never_without_the_word_model(made):
    said = build_missed_answer(read_missed(made))
    numbers = [figure for figure in said.figures if figure.key.startswith("model_")]
    assert not numbers or len(numbers) >= 2
    assert all("model" in figure.label and "model" in figure.method for figure in numbers)
    others = {figure.key for figure in said.figures} - {figure.key for figure in numbers}
    assert others <= {"mean_ml", "target_ml", "found"}
    found = re.search(r"about ([\d,]+)–([\d,]+), model-dependent", said.sentence)
    if found:
        low, high = (int(end.replace(",", "")) for end in found.groups())
        assert low < high
        assert "not a measurement" in said.sentence
    else:
        assert "missed a year" not in said.sentence


@given(made_up)
def test_never_more_blood_than_policy_and_never_fewer_sets(made):
    read = read_missed(made)
    assert read.wanted_ml <= made.rules.cap_ml + 1e-9
    said = build_missed_answer(read)
    for figure in said.figures:
        if figure.key == "target_ml":
            assert figure.value <= made.rules.cap_ml + 1e-9
    assert "patient" not in said.sentence or "nothing about any patient" in said.sentence
    text = " ".join((said.sentence, *said.cautions)).casefold()
    assert "draw more" not in text
    assert "fewer sets" not in text.replace("nor for fewer sets", "")


@given(made_up)
def test_counted_models_keep_the_rule(made):
    read = read_missed(made)
    for model in read.counted:
        assert model.missed <= read.ceiling
        assert model.study.span_ml is None or model.asked_ml <= model.study.span_ml


def test_no_picture_or_table_without_the_struck_ones_being_told():
    said = answer()
    kinds = {row["name"]: row["kind"] for row in said.picture["data"]["values"]}
    assert sorted(kinds.values()).count("struck") == 2
    assert [row[1] for row in said.table.rows if row[2].startswith("struck through")] == [149, 606]
    assert all("struck" in row["words"] for row in said.picture["data"]["values"] if row["kind"] == "struck")


def test_weighing_widens_the_range():
    alone = read_missed(material()).span
    doubtful = read_missed(material(volumes=volumes(weighed_sets=40, error_ml=2.0))).span
    assert doubtful[0] < alone[0]
    assert doubtful[1] > alone[1]


def test_episodes_are_made_of_weighed_sets():
    made = build_episode_volumes([10.0, 20.0] * 20, single_share=0.25)
    # A quarter holds one set (15 mL on average), the others two (30 mL).
    assert made.mean_ml == pytest.approx(0.25 * 15 + 0.75 * 30)
    # 1.96 standard errors of the mean set (SD 5.06, 40 sets), times 1.75 sets in an episode.
    assert made.error_ml == pytest.approx(1.959964 * 1.75 * 5.0637 / 40**0.5, rel=1e-4)


def test_many_weighed_sets_keep_their_mean():
    totals = [(7 * number) % 31 for number in range(1000)]
    made = build_episode_volumes(totals, single_share=1.0)
    assert made.mean_ml == pytest.approx(sum(totals) / 1000, abs=0.01)
    assert len(made.volumes) < 2000


@pytest.mark.parametrize("wrong", [([10.0], 0.2), ([10.0, 12.0], 1.2)])
def test_volumes_that_cannot_be_are_refused(wrong):
    with pytest.raises(ValueError, match="two weighed sets"):
        build_episode_volumes(wrong[0], single_share=wrong[1])


@pytest.mark.parametrize(("mls", "parts"), [((10.0,), (0.5,)), ((10.0, 20.0), (1.0,)), ((-1.0,), (1.0,))])
def test_volumes_come_with_weights_that_add_up(mls, parts):
    with pytest.raises(ValueError, match="weights"):
        EpisodeVolumes(volumes=mls, weights=parts)


def test_a_share_of_single_sets_is_a_share():
    with pytest.raises(ValueError, match="share"):
        SingleSets(found=216, share=20)


def test_single_sets_by_hand():
    # A fifth of episodes with one set: 216 = N (0.2 * 460/629 + 0.8 * 564/629); missing N * 0.2 * 104/629.
    whole = 216 / (0.2 * 460 / 629 + 0.8 * 564 / 629)
    assert missed_by_singles(216, share=0.2, first=460 / 629, second=564 / 629) == pytest.approx(
        whole * 0.2 * 104 / 629
    )


def test_single_sets_are_a_range_and_independence_is_struck():
    said = build_single_sets_answer(SingleSets(found=216, share=0.2), rules=RULES)
    assert "about 3–9, model-dependent" in said.sentence
    assert said.figure("model_single_independent").label.startswith("by one model, struck through")
    lee = next(row for row in said.table.rows if "Lee 2007" in row[0])
    assert lee[3] == "73 %, 90 %, 98 %"


@pytest.mark.parametrize(
    ("singles", "words"),
    [
        (SingleSets(found=216, share=None), "could not be joined"),
        (SingleSets(found=None, share=0.2), "not known"),
        (SingleSets(found=216, share=0.2, episodes=49), "50 are needed"),
        (SingleSets(found=10, share=0.2), "10 more"),
        (SingleSets(found=216, share=0.0), "nothing is missed"),
    ],
)
def test_single_sets_refuse_or_say_nothing_is_missed(singles, words):
    said = build_single_sets_answer(singles, rules=RULES)
    assert words in said.sentence
    assert not said.figures


@given(st.integers(20, 5000), st.floats(0.001, 1))
def test_single_sets_are_never_one_number(found, share):
    said = build_single_sets_answer(SingleSets(found=found, share=share), rules=RULES)
    low, high = re.search(r"about ([\d,]+)–([\d,]+), model-dependent", said.sentence).groups()
    assert int(low.replace(",", "")) < int(high.replace(",", ""))
    assert all("model" in figure.label for figure in said.figures if figure.key.startswith("model_"))


def test_an_unapproved_policy_keeps_single_sets_silent_too():
    silent = FillRules(target_ml=36, cap_ml=40, bottles=4, silence="No number: nobody has approved this policy yet.")
    said = build_single_sets_answer(SingleSets(found=216, share=0.2), rules=silent)
    assert said.verdict is Verdict.REFUSED
    assert not said.figures


def test_the_example_says_that_it_is_one():
    example = FillRules(target_ml=36, cap_ml=40, bottles=4, example=True)
    assert answer(rules=example).sentence.startswith("EXAMPLE. ")
    said = build_single_sets_answer(SingleSets(found=216, share=0.2), rules=example)
    assert said.sentence.startswith("EXAMPLE. ")


def test_a_full_mean_with_short_episodes_has_something_to_gain():
    """By hand on the line of losses: half at 10 mL lose 26 × 3 %, half at 70 mL nothing; the mean of 40 mL hides it."""
    rules = FillRules(target_ml=36, cap_ml=40, bottles=4)
    uneven = EpisodeVolumes(volumes=(10.0, 70.0), weights=(0.5, 0.5))
    reading = read_missed(MissedMaterial(found=216, volumes=uneven, rules=rules))
    assert reading.state is MissedState.SAID
    line = next(model for model in reading.models if model.key == "line_3")
    assert line.missed == pytest.approx(216 * (0.5 / (1 - 0.78) + 0.5 - 1))
    assert all(model.missed > 0 for model in reading.models)
    level = EpisodeVolumes(volumes=(36.0, 44.0), weights=(0.5, 0.5))
    assert read_missed(MissedMaterial(found=216, volumes=level, rules=rules)).state is MissedState.NOTHING_TO_GAIN


def test_a_range_that_begins_with_something_does_not_begin_with_nothing():
    assert round_outward(69.0, 512.0) == (60, 600)
    assert round_outward(0.4, 30.0)[0] == 0
