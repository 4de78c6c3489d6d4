"""What a dated change allows to be asked: the design alone, before any rate."""

from __future__ import annotations

from datetime import date

import pytest
from did_world import HOSPITAL, entry, material, steady

from cubital.answers.did_answer import build_change_answer
from cubital.answers.did_design import Design, read_design
from cubital.answers.did_reading import read_change
from cubital.answers.did_wording import CAUSAL_WORDS
from cubital.domain.answer import Verdict
from cubital.domain.diary import ChangeKind

ON = date(2025, 7, 1)
YEAR = (date(2024, 7, 1), date(2026, 6, 30))
ORDER = ["identifiable", "meanwhile", "worst", "long", "counting", "inside"]


def network(*, first=YEAR[0], last=YEAR[1], times=0.5, others=3, rate=0.04):
    mine = steady("ED", first=first, last=last, rate=rate, on=ON, times=times)
    return [mine, *(steady(f"W{at}", first=first, last=last, rate=0.04 + 0.01 * at) for at in range(others))]


def answer(change, units, entries=()):
    return build_change_answer(read_change(material(change, units, entries=entries)))


def test_units_without_the_change_are_compared_with():
    found = read_design(material(entry(on=ON), network()))
    assert found.kind is Design.COMPARED
    assert [unit.name for unit in found.peers] == ["W0", "W1", "W2"]
    assert (found.window.days_before, found.window.days_after) == (365, 365)


def test_checks_come_in_one_order_whatever_is_found():
    for change in (entry(on=ON), entry(on=date(2030, 1, 1)), entry(on=date(2024, 7, 5))):
        assert [check.key for check in answer(change, network()).checks] == ORDER


def test_a_unit_with_a_change_of_its_own_is_no_comparison():
    other = entry("W1", on=date(2025, 9, 1), words="new staff", kind=ChangeKind.STAFFING, number=2)
    found = read_design(material(entry(on=ON), network(), entries=[other]))
    assert [unit.name for unit in found.peers] == ["W0", "W2"]


def test_another_change_there_ends_the_days_compared():
    other = entry(on=date(2025, 12, 1), words="new staff", kind=ChangeKind.STAFFING, number=2)
    found = read_design(material(entry(on=ON), network(), entries=[other]))
    assert found.window.last == date(2025, 11, 30)
    assert found.cutting == (other,)
    said = answer(entry(on=ON), network(), [other])
    assert "Two things changed" in next(check for check in said.checks if check.key == "meanwhile").words


@pytest.mark.parametrize(("first", "last", "verdict", "words"), [
    (date(2025, 6, 3), YEAR[1], Verdict.TOO_FEW, "Four weeks before"),
    (YEAR[0], date(2025, 7, 28), Verdict.TOO_FEW, "four weeks since"),
])  # fmt: skip
def test_four_weeks_on_a_side_are_refused(first, last, verdict, words):
    said = answer(entry(on=ON), network(first=first, last=last))
    assert said.verdict is verdict
    assert words in said.sentence
    assert "8 weeks on either side are the least" in said.sentence
    assert not any(figure.key == "ratio" for figure in said.figures)


def test_too_short_says_when_to_ask_again():
    """Eight weeks from 1 July 2025, that day included, end on 25 August."""
    said = answer(entry(on=ON), network(last=date(2025, 7, 28)))
    assert "Ask again when there are sets up to 25 August 2025." in said.sentence


@pytest.mark.parametrize("on", [date(2024, 7, 1), date(2024, 1, 1), date(2027, 1, 1)])
def test_a_day_outside_the_data_is_refused(on):
    said = answer(entry(on=on), network())
    assert said.verdict is Verdict.REFUSED
    assert "1 July 2024 to 30 June 2026" in said.sentence
    assert said.figures == ()


def test_two_changes_of_one_day_cannot_be_told_apart():
    twin = entry(words="collector shift", kind=ChangeKind.STAFFING, number=2)
    said = answer(entry(on=ON), network(), [twin])
    assert said.verdict is Verdict.NOT_IDENTIFIABLE
    assert "“new kit” and “collector shift” began there on one day: they cannot be told apart here" in said.sentence


def test_other_units_with_one_of_the_two_tell_them_apart():
    """The kit alone in one unit, the shift alone in another, neither in two: the design of the kit and the shift."""
    twin = [
        entry(words="collector shift", kind=ChangeKind.STAFFING, number=2), entry("W0", number=3),
        entry("W1", words="collector shift", kind=ChangeKind.STAFFING, number=4),
    ]  # fmt: skip
    units = network(others=4, times=0.4)
    units[2] = steady("W1", first=YEAR[0], last=YEAR[1], rate=0.05, on=ON, times=0.4)
    said = answer(entry(on=ON), units, twin)
    assert said.verdict is Verdict.SIGNAL
    assert 0.3 < said.figure("odds_collector_shift_yes").value < 0.5
    assert 0.7 < said.figure("odds_new_kit_yes").value < 1.4


def test_changes_elsewhere_shorten_the_days_until_units_can_be_compared():
    """An analyser at the other hospital in the year before: both hospitals are calm from then on only."""
    entries = [
        entry(words="collector shift", kind=ChangeKind.STAFFING, number=2), entry("W0", number=3),
        entry("T1", words="collector shift", kind=ChangeKind.STAFFING, number=4, facility="T"),
        entry(None, on=date(2024, 11, 4), words="new analyser", kind=ChangeKind.ANALYSER, number=5, facility="T"),
        entry(None, on=date(2026, 1, 19), words="months on the wall", kind=ChangeKind.FEEDBACK, number=6),
    ]  # fmt: skip
    span = {"first": YEAR[0], "last": YEAR[1], "rate": 0.04, "on": ON}
    units = [
        steady("ED", times=0.4, **span), steady("W0", **span), steady("W1", **span),
        steady("T1", times=0.4, facility="T", **span), steady("T2", facility="T", **span),
    ]  # fmt: skip
    found = read_design(material(entry(on=ON), units, entries=entries))
    assert (found.window.first, found.window.last) == (date(2024, 11, 4), date(2026, 1, 18))
    said = answer(entry(on=ON), units, entries)
    assert said.verdict is Verdict.SIGNAL
    assert 0.3 < said.figure("odds_collector_shift_yes").value < 0.5
    assert 0.7 < said.figure("odds_new_kit_yes").value < 1.4


def test_a_change_a_month_later_cannot_be_separated():
    near = entry(on=date(2025, 8, 1), words="collector shift", kind=ChangeKind.STAFFING, number=2)
    said = answer(entry(on=ON), network(), [near])
    assert said.verdict is Verdict.NOT_IDENTIFIABLE
    assert "cannot be told apart from “collector shift” on 1 August 2025" in said.sentence


def test_an_analyser_that_everybody_got_is_said():
    analyser = entry(None, on=date(2025, 9, 1), words="new analyser", kind=ChangeKind.ANALYSER, number=2, facility=None)
    said = answer(entry(on=ON), network(), [analyser])
    counting = next(check for check in said.checks if check.key == "counting")
    assert counting.passed is False
    assert "Definition changed here: “new analyser”" in counting.words


def test_a_signed_charter_and_a_rename_do_not_count_as_changes():
    known = [
        entry(None, on=ON, words="Charter 2 was signed", kind=ChangeKind.LIST, number=0, facility=None),
        entry(on=ON, words="ER became ED", kind=ChangeKind.RENAME, number=0),
    ]
    assert read_design(material(entry(on=ON), network(), entries=known)).kind is Design.COMPARED


def test_a_whole_hospital_without_another_has_its_own_series_or_a_description():
    change = entry(None, on=ON)
    assert read_design(material(change, network())).kind is Design.SEGMENTED
    short = network(first=date(2025, 3, 1), last=date(2025, 10, 31))
    assert read_design(material(change, short)).kind is Design.DESCRIBED


def test_the_end_of_a_training_undoes_nothing():
    training = entry(on=ON, kind=ChangeKind.TRAINING, until=date(2025, 7, 3))
    assert read_design(material(training, network())).kind is Design.COMPARED
    trial = entry(on=ON, kind=ChangeKind.KIT, until=date(2025, 9, 30))
    assert read_design(material(trial, network())).window.last == date(2025, 9, 30)


def test_the_worst_of_all_is_told_of_its_fall_first():
    units = network(rate=0.09, times=0.7)
    said = answer(entry(on=ON), units)
    assert next(check for check in said.checks if check.key == "worst").passed is False
    assert "some fall is expected anyway" in said.sentence
    assert said.sentence.index("expected anyway") < said.sentence.index("Against these")
    assert said.figure("expected").value < 0.09


TWIN = entry(words="collector shift", kind=ChangeKind.STAFFING, number=2)
NEAR = entry(on=date(2025, 8, 1), words="collector shift", kind=ChangeKind.STAFFING, number=2)
FALL = {"times": 0.1}
SHORT = {"first": date(2025, 3, 1), "last": date(2025, 10, 31)}
CARRY_NOTHING = {
    "outside": lambda: answer(entry(on=date(2030, 1, 1)), network(**FALL)),
    "twin": lambda: answer(entry(on=ON), network(**FALL), [TWIN]),
    "near": lambda: answer(entry(on=ON), network(**FALL), [NEAR]),
    "short before": lambda: answer(entry(on=ON), network(first=date(2025, 6, 3), **FALL)),
    "short since": lambda: answer(entry(on=ON), network(last=date(2025, 7, 28), **FALL)),
    "few": lambda: answer(entry(on=ON), [few_sets()]),
    "naive": lambda: answer(entry(None, on=ON), network(**SHORT, **FALL)),
    "nothing": lambda: answer(entry(on=ON), network(rate=1e-6)),
}


def few_sets():
    one = steady("ED", first=YEAR[0], last=YEAR[1], rate=0.3, per_day=0, on=ON)
    one.sets[[0, 100, 400, 700]] = 1
    return one


@pytest.mark.parametrize("design", CARRY_NOTHING)
def test_no_cause_is_claimed_where_the_design_carries_none(design):
    """Must-never 9 of the job map: a cause from a before and after that cannot support it."""
    said = CARRY_NOTHING[design]()
    assert said.verdict is not Verdict.SIGNAL
    words = " ".join((said.sentence, *said.cautions, *(check.words for check in said.checks))).casefold()
    assert [word for word in CAUSAL_WORDS if word in words] == []
    assert "keeping “new kit” fits" not in words


def test_no_cause_is_claimed_where_the_design_carries_an_estimate():
    said = answer(entry(on=ON), network())
    assert said.verdict is Verdict.SIGNAL
    assert [word for word in CAUSAL_WORDS if word in said.sentence.casefold()] == []
    assert "would look the same" in said.sentence
    assert HOSPITAL in said.sentence
