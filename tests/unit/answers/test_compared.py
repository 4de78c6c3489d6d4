"""Phlebotomists 1.4 %, nurses 3.6 %: is the comparison fair? And nights, crowding, and what cannot be told apart."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from cubital.answers.compared import build_compared_answer
from cubital.answers.compared_reading import ComparedCell, ComparedMaterial, Divided, read_comparison
from cubital.answers.compared_table import hour_band, parse_comparison
from cubital.answers.compared_words import hours_words
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem
from cubital.stats.sample_size import sets_per_group


def answer_of(rows, *, by="role", head="role,hour,sets,contaminated"):
    material = parse_comparison("\n".join([head, *rows]), by=by, where="counts")
    return build_compared_answer(read_comparison(material))


BY_HOUR = [f"phlebotomist,{hour},200,3" for hour in range(7, 19)]
NURSES_AT_NIGHT = [f"nurse,{hour},300,11" for hour in (*range(19, 24), *range(7))]


def test_no_overlap_in_hours_is_not_comparable():
    answer = answer_of([*BY_HOUR, *NURSES_AT_NIGHT])
    assert answer.verdict is Verdict.NOT_IDENTIFIABLE
    assert answer.sentence.startswith("Not comparable: phlebotomist drew 07–19 only, and nurse 19–07.")
    assert answer.checks[0].passed is False
    assert not any(figure.key.startswith(("difference", "model")) for figure in answer.figures)


def test_like_with_like_says_of_a_hundred_sets():
    """In every band nurses have twice the phlebotomists' share; the difference within bands is 1.5 in a hundred."""
    rows = [f"{who},{hour},2000,{bad}" for hour in (8, 12, 16) for who, bad in (("phlebotomist", 30), ("nurse", 60))]
    answer = answer_of(rows)
    assert answer.verdict is Verdict.SIGNAL
    assert answer.sentence.startswith("Phlebotomist: 90 of 6,000 sets (1.5 %). Nurse: 180 of 6,000 sets (3.0 %).")
    assert "of 100 sets drawn by phlebotomist instead of by nurse, about 1.5 fewer are contaminated" in answer.sentence


def test_hours_that_differ_explain_the_whole_gap():
    """Both have 1 % by day and 4 % at night; nurses draw at night. As counted 1.6 and 3.4, like with like nothing."""
    rows = ["nurse,9,400,4", "nurse,21,1600,64", "phlebotomist,9,1600,16", "phlebotomist,21,400,16"]
    answer = answer_of(rows)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert "no difference can be shown" in answer.sentence
    assert answer.figure("difference_0").value == pytest.approx(0, abs=1e-9)
    assert answer.figure("model_0").value == pytest.approx(0, abs=1e-3)


def test_unattributed_sets_bound_what_is_possible():
    """Counts solved for from the printed shares; see the test of the bounds themselves."""
    rows = ["nurse,9,5570,201", "phlebotomist,9,2430,34", ",9,2000,76"]
    answer = answer_of(rows)
    nurses, phlebotomists = answer.figure("possible_0"), answer.figure("possible_1")
    assert (round(nurses.low, 3), round(nurses.high, 3)) == (0.027, 0.049)
    assert (round(phlebotomists.low, 3), round(phlebotomists.high, 3)) == (0.008, 0.044)
    assert answer.checks[1].words == "2,000 of 10,000 sets belong to no group."


def test_nights_are_said_in_plain_words_with_the_caution():
    rows = [f"{unit},{hour},3000,{bad}" for unit in "AB" for hour, bad in ((9, 60), (21, 90))]
    answer = answer_of(rows, by="shift", head="unit,hour,sets,contaminated")
    assert "of 100 sets drawn at night instead of by day, about 1.0 more are contaminated" in answer.sentence
    assert any("links hours with contamination, not draws" in said for said in answer.cautions)


def test_a_column_of_many_numbers_is_cut_into_three():
    rows = [f"{waiting},100,{2 + (waiting > 20) * 3}" for waiting in range(30)]
    material = parse_comparison("\n".join(["crowding,sets,contaminated", *rows]), by="crowding", where="counts")
    assert {cell.group for cell in material.cells} == {"0–9", "10–19", "20–29"}
    assert material.by is Divided.CROWDING


def test_people_who_differ_widen_the_doubt():
    """Ten collectors in each role with very different shares: the model is less sure than the plain strata."""
    random = np.random.default_rng(5)
    rows = []
    for role, base in (("nurse", -3.2), ("phlebotomist", -3.6)):
        for person in range(10):
            share = 1 / (1 + math.exp(-base - random.normal(0, 0.8)))
            rows.append(f"{role},{role}{person},400,{random.binomial(400, share)}")
    answer = answer_of(rows, head="role,collector,sets,contaminated")
    plain, model = answer.figure("difference_0"), answer.figure("model_0")
    assert model.high - model.low > plain.high - plain.low
    assert not any("nurse3" in str(row) for row in answer.table.rows)


def test_a_group_that_goes_with_what_is_held_equal_cannot_be_told_apart():
    cells = [
        ComparedCell(group=group, stratum=(site, line), sets=500, contaminated=bad)
        for group, site, line, bad in (("a", "arm", "no", 9), ("b", "arm", "no", 12), ("a", "hand", "yes", 14),
                                       ("b", "hand", "yes", 20))
    ]  # fmt: skip
    material = ComparedMaterial(cells=tuple(cells), by=Divided.OTHER, column="kit", columns=("site", "line"))
    answer = build_compared_answer(read_comparison(material))
    assert answer.verdict is Verdict.NOT_IDENTIFIABLE
    assert "line: yes" in answer.sentence
    assert "site: hand" in answer.sentence


def test_strata_without_both_groups_are_not_comparable():
    answer = answer_of(["a,x,500,9", "b,y,500,12"], by="kit", head="kit,unit,sets,contaminated")
    assert answer.verdict is Verdict.WITHIN_VARIATION  # the unit is a cluster, not held equal
    held = answer_of(["a,x,500,9", "b,y,500,12"], by="kit", head="kit,site,sets,contaminated")
    assert held.verdict is Verdict.NOT_IDENTIFIABLE
    assert "only 0 % of the sets of b or a lie where the other works too (same site)" in held.sentence


@pytest.mark.parametrize(("rows", "said"), [
    (["nurse,9,500,0", "phlebotomist,9,500,0"], "No set of any group is contaminated"),
    (["nurse,9,500,9"], "Only 1 group has 100 sets or more"),
    (["nurse,9,20,1", "phlebotomist,9,30,1"], "Only 0 groups have 100 sets or more"),
    (["nurse,9,0,0", "phlebotomist,9,0,0"], "Only 0 groups have"),
])  # fmt: skip
def test_too_little_is_said_and_not_computed(rows, said):
    answer = answer_of(rows)
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.sentence.startswith(said)


def test_a_group_without_an_event_has_no_model_and_no_trace():
    answer = answer_of(["nurse,9,900,30", "phlebotomist,9,900,0"])
    assert answer.verdict is Verdict.SIGNAL
    assert any("The model could not be fitted" in said and "phlebotomist" in said for said in answer.cautions)


def test_a_part_whose_sets_all_ended_alike_is_left_out_of_the_model_and_said():
    """The fit without it is the limit of the likelihood: statsmodels (general reference library) on the rest agrees.

    Its sets stay in what is averaged, with no difference: 8 of 4,008 move the mean by a share of 4,000 / 4,008.
    """
    import statsmodels.api as sm

    rows = [
        f"{who},{site},1000,{bad}"
        for who, site, bad in (
            ("nurse", "arm", 36),
            ("nurse", "hand", 51),
            ("phlebotomist", "arm", 15),
            ("phlebotomist", "hand", 29),
        )
    ]
    unknown = ["nurse,unknown,5,0", "phlebotomist,unknown,3,0"]
    head = "role,site,sets,contaminated"
    answer, rest = answer_of([*rows, *unknown], head=head), answer_of(rows, head=head)
    assert (
        "The model leaves out 8 sets of site: unknown: none is contaminated, so they cannot tell the groups apart."
    ) in answer.cautions
    assert not any("could not be fitted" in said for said in answer.cautions)
    matrix = np.array([[1, 0, 0], [1, 0, 1], [1, 1, 0], [1, 1, 1]])
    events = np.array([36, 51, 15, 29])
    fitted = sm.GLM(np.c_[events, 1000 - events], matrix, family=sm.families.Binomial()).fit()
    assert f"odds ratio {math.exp(fitted.params[1]):.2f}" in answer.figure("model_0").note
    assert answer.figure("model_0").value == pytest.approx(rest.figure("model_0").value * 4000 / 4008, rel=1e-9)


def test_parts_left_out_one_after_the_other_until_the_rest_can_be_fitted():
    """Without the sets of one site, a ward has no contaminated set left: it is left out as well."""
    rows = ["a,arm,x,900,20", "b,arm,x,900,30", "a,arm,y,40,0", "b,hand,y,30,30", "a,hand,y,30,30"]
    answer = answer_of(rows, by="kit", head="kit,site,line,sets,contaminated")
    said = [caution for caution in answer.cautions if "leaves out" in caution]
    assert said == [
        "The model leaves out 60 sets of site: hand: all are contaminated, so they cannot tell the groups apart.",
        "The model leaves out 40 sets of line: y: none is contaminated, so they cannot tell the groups apart.",
    ]


def test_a_number_of_sets_beyond_reach_is_not_said_to_the_last_set():
    """1.80 and 1.81 in a hundred: some twenty-eight million sets in each group, and no digit more than two."""
    answer = answer_of(["nurse,9,100000,1810", "phlebotomist,9,100000,1800"])
    needed = re.search(r"would need about ([\d,]+) sets in each group", answer.sentence)
    assert needed is not None
    assert re.fullmatch(r"\d\d,000,000", needed[1])
    exact = sets_per_group(0.0181, 0.018)
    assert 0 <= int(needed[1].replace(",", "")) - exact < 1_000_000


def test_all_events_are_no_trouble():
    assert answer_of(["nurse,9,200,200", "phlebotomist,9,200,200"]).verdict is Verdict.WITHIN_VARIATION


@pytest.mark.parametrize("rows", ["", "role,sets\nnurse,4", "role,sets,contaminated\nnurse,4,5",
                                  "role,sets,contaminated\nnurse,x,1", "role,hour,sets,contaminated\nnurse,24,9,1",
                                  "role,role,sets,contaminated\na,b,9,1", "role,weekday,sets,contaminated\na,0,9,1",
                                  "role,sets,contaminated\n"])  # fmt: skip
def test_counts_that_cannot_be_right_are_refused(rows):
    with pytest.raises(FileProblem):
        parse_comparison(rows, by="role", where="counts")


def test_hours_are_said_as_stretches():
    assert hours_words(range(7, 19)) == "07–19"
    assert hours_words([22, 23, 0, 1]) == "22–02"
    assert hours_words([7, 8, 20]) == "07–09, 20–21"
    assert hours_words(range(24)) == "around the clock"
    assert [hour_band(hour) for hour in (0, 3, 7, 18, 23)] == ["23–03", "03–07", "07–11", "15–19", "23–03"]
