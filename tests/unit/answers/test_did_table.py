"""Tables of before and after: published counts, what a design cannot tell, known truths, and what is refused.

Published counts are those of facts 5b, their ratios and intervals recomputed there: sterile procedure 0.39 (0.31 to
0.48), line draws limited 0.31 (0.19 to 0.50), training that failed 136 of 3,238 to 186 of 3,074 (4.2 and 6.05 %; the
denominators follow from the printed shares), a whole hospital during a trial 0.82 (0.71 to 0.94).
"""

from __future__ import annotations

import numpy as np
import pytest

from cubital.answers.did_table import parse_did
from cubital.answers.did_table_answer import build_did_table_answer
from cubital.answers.did_table_reading import DidState, read_did_table
from cubital.answers.did_wording import CAUSAL_WORDS
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem

TWO = 0.0051  # printed to two digits; the score interval differs from the printed Wald one by less


def table(*rows, head="unit,period,sets,contaminated"):
    return parse_did([row.split(",") for row in (head, *rows)], where="t")


def answer(*rows, head="unit,period,sets,contaminated", **ask):
    return build_did_table_answer(read_did_table(table(*rows, head=head), **ask))


@pytest.mark.parametrize(("before", "after", "ratio", "low", "high"), [
    ((321, 7389), (111, 6590), 0.39, 0.31, 0.48),
    ((84, 5274), (21, 4245), 0.31, 0.19, 0.50),
    ((413, 12859), (333, 12692), 0.82, 0.71, 0.94),
])  # fmt: skip
def test_published_before_and_after_is_a_description_only(before, after, ratio, low, high):
    said = answer(f"ED,before,{before[1]},{before[0]}", f"ED,after,{after[1]},{after[0]}")
    found = said.figure("naive_ratio")
    assert (found.value, found.low, found.high) == pytest.approx((ratio, low, high), abs=TWO)
    assert said.verdict is Verdict.ESTIMATE
    assert "Before and after cannot show a cause" in said.sentence


def test_the_whole_hospital_that_fell_during_a_trial_is_not_called_an_effect():
    """Every arm improved against the year before, whatever was used (Calfee and Farr 2002)."""
    said = answer("all,before,12859,413", "all,after,12692,333")
    assert said.verdict is not Verdict.SIGNAL
    assert not any(word in said.sentence.casefold() for word in CAUSAL_WORDS)


def test_training_that_failed_is_said_as_a_rise():
    said = answer("ED,before,3238,136", "ED,after,3074,186")
    assert said.figure("naive_ratio").value > 1.3
    assert "4.2 %" in said.sentence
    assert "6.1 %" in said.sentence


def test_one_unit_against_another_by_naming_where_it_began():
    """By hand: (20·980/(980·40)) against no change: 0.49 over 1.00."""
    rows = ("A,before,1000,40", "A,after,1000,20", "B,before,1000,30", "B,after,1000,30")
    assert answer(*rows).verdict is Verdict.REFUSED
    said = answer(*rows, at="A")
    assert said.figure("odds_change_yes").value == pytest.approx((20 / 980) / (40 / 960), abs=1e-6)
    assert not any(word in said.sentence.casefold() for word in CAUSAL_WORDS)


def test_everywhere_at_once_cannot_be_told_from_the_period():
    head = "unit,period,kit,sets,contaminated"
    rows = ("A,before,no,1000,40", "A,after,yes,1000,20", "B,before,no,1000,30", "B,after,yes,1000,15")
    said = answer(*rows, head=head)
    assert said.verdict is Verdict.NOT_IDENTIFIABLE
    assert "kit and period begin together" in said.sentence
    assert not any(figure.key.startswith("odds_kit") for figure in said.figures)


def test_a_unit_that_is_a_way_of_collecting_of_its_own_is_named():
    head = "unit,period,kit,sets,contaminated"
    rows = ("A,before,no,900,30", "A,after,no,900,30", "B,before,yes,900,30", "B,after,yes,900,28")
    found = read_did_table(table(*rows, head=head))
    assert found.state is DidState.TANGLED
    assert "kit and B always go together" in build_did_table_answer(found).sentence


def test_a_factor_with_one_level_is_set_aside_and_said():
    head = "unit,period,collector,kit,sets,contaminated"
    rows = (
        "A,before,nurse,yes,1000,40", "A,after,nurse,yes,500,20", "A,after,phlebotomist,yes,500,5",
        "B,before,nurse,yes,900,30", "B,after,nurse,yes,900,31",
    )  # fmt: skip
    said = answer(*rows, head=head)
    assert any("Column 'kit' holds only 'yes'" in words for words in said.cautions)
    assert said.verdict is Verdict.SIGNAL


def test_too_few_contaminated_sets_say_how_many_more():
    head = "unit,period,kit,sets,contaminated"
    rows = ("A,before,no,100,3", "A,after,yes,100,1", "B,before,no,100,2", "B,after,no,100,2")
    said = answer(*rows, head=head)
    assert said.verdict is Verdict.TOO_FEW
    assert "8 contaminated sets for four unknowns" in said.sentence
    assert "About 20 are needed, 12 more than there are" in said.sentence


def test_a_group_without_any_event_has_no_bound():
    head = "unit,period,kit,sets,contaminated"
    rows = ("A,before,no,1000,40", "A,after,yes,100,0", "B,before,no,1000,40", "B,after,no,1000,40")
    said = answer(*rows, head=head)
    assert said.verdict is Verdict.TOO_FEW
    assert "has no bound yet" in said.sentence


def test_one_time_only_is_refused():
    said = answer("A,after,1000,40")
    assert said.verdict is Verdict.REFUSED
    assert "Both a before and an after are needed" in said.sentence


@pytest.mark.parametrize(("row", "words"), [
    ("A,before,10,11", "11 contaminated of 10 sets is more than all"),
    ("A,before,-10,1", "got '-10'"),
    ("A,during,10,1", "got 'during', expected before or after"),
    ("A,before,ten,1", "got 'ten'"),
])  # fmt: skip
def test_rows_that_cannot_be_are_sent_back(row, words):
    with pytest.raises(FileProblem, match=words):
        table(row)


@pytest.mark.parametrize("column", ["MRN", "nurse name", "initials", "badge"])
def test_a_column_that_names_people_is_refused(column):
    with pytest.raises(FileProblem, match="name or a number"):
        table("A,before,x,10,1", head=f"unit,period,{column},sets,contaminated")


def test_a_column_of_many_words_is_taken_for_names():
    rows = [f"A,before,person {at},100,3" for at in range(13)]
    with pytest.raises(FileProblem, match="may name people"):
        table(*rows, head="unit,period,collector,sets,contaminated")


def test_a_known_truth_is_recovered_as_often_as_the_interval_promises():
    """400 networks of four units as in the story, kit 0.9 and phlebotomist 0.5: 95 % must cover within 91 to 98.5 %
    (three standard errors of 400 draws are 3.3 points).
    """
    random = np.random.default_rng(4)
    truth = {"kit": 0.9, "collector": 0.5}
    shape = [
        ("ME", 0, "nurse", "no", 2700), ("ME", 1, "nurse", "yes", 1240), ("ME", 1, "phlebotomist", "yes", 1510),
        ("MA", 0, "nurse", "no", 1180), ("MA", 1, "nurse", "yes", 1215), ("TE", 0, "nurse", "no", 1420),
        ("TE", 1, "nurse", "no", 660), ("TE", 1, "phlebotomist", "no", 790), ("TM", 0, "nurse", "no", 880),
        ("TM", 1, "nurse", "no", 905),
    ]  # fmt: skip
    level = {"ME": 0.044, "MA": 0.032, "TE": 0.043, "TM": 0.028}
    covered = dict.fromkeys(truth, 0)
    for _network in range(400):
        rows = []
        for unit, after, who, kit, n in shape:
            odds = level[unit] / (1 - level[unit]) * 0.95**after
            odds *= truth["kit"] ** (kit == "yes") * truth["collector"] ** (who == "phlebotomist")
            rows.append(
                f"{unit},{'after' if after else 'before'},{who},{kit},{n},{random.binomial(n, odds / (1 + odds))}"
            )
        found = read_did_table(table(*rows, head="unit,period,collector,kit,sets,contaminated"))
        for name, ratio in truth.items():
            interval = found.fits_of(name)[0].interval
            covered[name] += interval.low <= ratio <= interval.high
    assert all(0.917 <= count / 400 <= 0.985 for count in covered.values()), covered


@pytest.mark.parametrize("after", [0, 10])
def test_nothing_before_has_no_ratio_and_says_so(after):
    said = answer("ED,before,500,0", f"ED,after,500,{after}")
    assert said.verdict is Verdict.TOO_FEW
    assert "there was nothing to fall" in said.sentence
    assert "nan" not in said.sentence
    assert "inf" not in said.sentence
    assert "naive_ratio" not in {figure.key for figure in said.figures}


def test_a_table_without_one_contaminated_set_has_finite_figures_only():
    rows = ("A,before,nurse,50,0", "A,after,nurse,20,0", "A,after,other,30,0", "B,before,nurse,40,0",
            "B,after,nurse,40,0")  # fmt: skip
    said = answer(*rows, head="unit,period,collector,sets,contaminated")
    assert said.verdict is Verdict.TOO_FEW
    values = [part for one in said.figures for part in (one.value, one.low, one.high) if part is not None]
    assert np.isfinite(values).all()
    assert not any(str(value) == "-0.0" for value in values)


def test_a_table_in_which_everything_is_contaminated_is_answered():
    said = answer("ED,before,5,5", "ED,after,5,5")
    assert said.figure("naive_ratio").value == 1


def test_one_unit_against_one_other_carries_no_signal():
    """Four rows, four unknowns: units that drift apart by themselves would look the same."""
    said = answer("A,before,2500,100", "A,after,2500,60", "B,before,2500,90", "B,after,2500,91", at="A")
    assert said.figure("odds_change_yes").high < 1
    assert said.verdict is Verdict.ESTIMATE
    assert any("no signal yet" in caution for caution in said.cautions)
