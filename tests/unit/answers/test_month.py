"""The month's answer from judged counts: the data asked first, contamination never alone, every doubt said."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import pytest

from cubital.answers.month import build_month_answer, rate_counts
from cubital.answers.month_checks import month_checks
from cubital.answers.month_material import MonthMaterial, OldFigure, RenameMark, Standing, UnitChange
from cubital.answers.month_text import month_before
from cubital.answers.signal_reading import SignalPolicy
from cubital.domain.answer import Receipt, Verdict, build_answer_dict
from cubital.domain.charter import Charter, Population, Reason, SetClass, UnitOfCount
from cubital.domain.cultures import Attribution, SetStatus, TimeQuality
from cubital.indicators.month import ALWAYS_BESIDE
from cubital.judge.counts import JudgedSet, MonthCounts, ProcessCounts, ProcessLimits

MONTH = "2026-03"
CHARTER = Charter(key="house", name="House rule", version=2)


def counts(month, numerator=12, denominator=480, **changes):
    classes = {SetClass.CONTAMINATED: numerator, SetClass.NO_GROWTH: denominator - numerator}
    values = {
        "month": month, "facility": "Marrowby General", "unit": "ed", "unit_name": "ED", "numerator": numerator,
        "denominator": denominator, "sets": denominator, "positives": 40, "preliminary": 0, "solitary_excluded": 0,
        "classes": classes, "unpairable": 0, "solitary": 80, "episodes": 280, "eligible": 400,
    }  # fmt: skip
    return MonthCounts(**values | changes)


def process(month, **changes):
    values = {
        "month": month, "facility": "Marrowby General", "unit": "ed", "unit_name": "ED", "sets": 480,
        "bottle_measurable": 480, "bottle_complete": 440, "timed": 470, "late": 40, "very_late": 5,
        "median_minutes": 41.0, "collector_sets": 480, "collector_measurable": 480, "attributed": 300, "fills": 0,
        "fill_median_ml": None, "fills_low": None, "fills_high": None,
    }  # fmt: skip
    return ProcessCounts(**values | changes)


def one_set(accession, **changes):
    values = {
        "set_id": 1, "facility": "Marrowby General", "accession": accession, "month": MONTH, "day": date(2026, 3, 1),
        "collected_local": None, "time_quality": TimeQuality.EXACT, "unit": "ed", "unit_name": "ED",
        "attribution": Attribution.BADGE, "status": SetStatus.FINAL, "set_class": SetClass.NO_GROWTH,
        "reason": Reason.NO_ORGANISM, "series_id": 1, "series_size": 1, "unpairable": False, "counted": True,
        "organisms": (), "companions": (), "minutes_to_receipt": 40.0, "bottles_complete": True,
    }  # fmt: skip
    return JudgedSet(**values | changes)


def material(**changes):
    months = [month_before(MONTH, back) for back in range(24, 0, -1)]
    history = (*(counts(month) for month in months), counts(MONTH, 19, 498))
    values = {
        "history": history,
        "recent": history[-13:],
        "process": tuple(process(one.month) for one in history[-13:]),
        "sets": tuple(one_set(str(number)) for number in range(10)),
        "place": "department",
        "place_name": "Marrowby General, ED",
        "charter": CHARTER,
        "limits": ProcessLimits(),
        "policy": SignalPolicy(),
        "standing": Standing(charter_signed=True, policy_approved=True),
        "receipt": Receipt(data="batch 3", charter="charter 2", policy="policy 1", code="0"),
    }
    return MonthMaterial(**values | changes)


def with_month(found, **changes):
    """The same material with the asked month counted otherwise."""
    asked = replace(found.recent[-1], **changes)
    return replace(found, history=(*found.history[:-1], asked), recent=(*found.recent[:-1], asked))


def check(found, key):
    (one,) = [one for one in month_checks(found) if one.key == key]
    return one


@pytest.fixture(scope="module")
def answer():
    return build_month_answer(material())


def test_the_sentence_and_the_question_name_the_month_and_the_place(answer):
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.sentence.startswith(
        "March (19 of 498, 3.8 %) is within what this department's own variation produces"
    )
    assert answer.question == "How was March 2026 at Marrowby General, ED: is it really different, or is it noise?"


def test_contamination_stands_first_and_never_alone(answer):
    keys = [figure.key for figure in answer.figures]
    assert keys[0] == "contamination"
    assert set(ALWAYS_BESIDE) <= set(keys)
    assert "month_rate" not in keys
    assert keys.index("positivity") < keys.index("baseline_rate")


def test_the_receipt_is_the_workspaces(answer):
    assert answer.receipt == Receipt(data="batch 3", charter="charter 2", policy="policy 1", code="0")


def test_a_quiet_month_passes_every_check_in_plain_words(answer):
    assert [(one.key, one.passed) for one in answer.checks] == [
        (key, True)
        for key in ("no_set_twice", "volume", "times", "collectors", "units", "one_charter", "unread", "preliminary")
    ]
    assert answer.checks[0].words == "No set stands twice (10 sets)."


def test_the_definition_is_named_last(answer):
    assert answer.cautions[-1].startswith(
        "Counted: contaminated sets (a commensal in one of several sets) over all sets"
    )
    assert "charter 2 'House rule'" in answer.cautions[-1]


def test_a_set_that_stands_twice_fails_the_first_check():
    found = check(material(sets=(one_set("1"), one_set("1"), one_set("1", facility="Thistlecombe"))), "no_set_twice")
    assert (found.passed, found.words) == (False, "1 set stands twice under one accession number.")


@pytest.mark.parametrize(("sets", "words"), [(300, "is the month complete?"), (900, "has a file been added?")])
def test_an_unusual_volume_is_asked_about(sets, words):
    found = check(with_month(material(), sets=sets), "volume")
    assert not found.passed
    assert words in found.words


def test_without_months_before_no_volume_is_usual():
    found = material()
    first = replace(found, history=found.history[-1:], recent=found.recent[-1:], process=found.process[-1:])
    assert check(first, "volume").words == "Too few months before to know how many sets are usual."
    assert check(first, "collectors").words.startswith("Too few months before to compare the collectors with")


def test_a_jump_in_unknown_times_is_told_from_the_usual_blank():
    found = material()
    jumped = replace(found, process=(*found.process[:-1], process(MONTH, timed=380)))
    assert check(jumped, "times").passed is False
    assert check(jumped, "times").words.endswith("unknown for 20.8 % of sets, 2.1 % in the months before.")
    known = replace(found, process=(*found.process[:-1], process(MONTH, timed=480)))
    assert check(known, "times").words == "The time to the laboratory is known for every set."


def test_a_file_without_collectors_has_nothing_to_check_and_says_so():
    found = material()
    silent = replace(found, process=(*found.process[:-1], process(MONTH, collector_measurable=0, attributed=0)))
    assert check(silent, "collectors").words == "The file gives no collectors to check."
    assert "Who collected is not in the file." in build_month_answer(silent).cautions


def test_a_place_with_every_collector_known_has_nothing_to_say_about_it():
    found = material()
    known = replace(found, process=(*found.process[:-1], process(MONTH, attributed=480)))
    assert not any("ollector" in words for words in build_month_answer(known).cautions)
    nobody = replace(found, process=(*found.process[:-1], process(MONTH, collector_sets=0, attributed=0)))
    assert not any("ollect" in words and "definition" not in words for words in build_month_answer(nobody).cautions)


def test_one_unit_under_two_names_is_suspected():
    found = check(material(unit_change=UnitChange(gone=("5 West",), new=("5W-Med Onc",))), "units")
    assert not found.passed
    assert "5 West had sets every month and has none now, while 5W-Med Onc is new" in found.words


def test_sets_without_a_unit_are_counted():
    found = check(material(sets=(one_set("1"), one_set("2", unit=""))), "units")
    assert (found.passed, found.words) == (False, "1 of 2 sets names no unit.")


def test_a_rename_is_marked_in_its_month_and_said_while_it_is_shown():
    mark = RenameMark(old="5 West", new="5W-Med Onc", on=date(2026, 3, 15))
    found = material(renames=(mark,))
    assert check(found, "units").words == "Renamed this month and joined: 5 West became 5W-Med Onc on 15 March 2026."
    assert "5 West became 5W-Med Onc on 15 March 2026." in build_month_answer(found).cautions
    long_ago = material(renames=(replace(mark, on=date(2020, 1, 1)),))
    assert not any("5 West" in words for words in build_month_answer(long_ago).cautions)


def test_a_new_charter_fails_the_check_until_a_whole_month_has_passed():
    standing = Standing(charter_signed=True, policy_approved=True, charter_since=date(2026, 3, 20))
    found = check(material(standing=standing), "one_charter")
    assert not found.passed
    assert found.words.startswith("The definition changed on 20 March 2026: here every month is counted by charter 2")
    earlier = replace(standing, charter_since=date(2026, 2, 20))
    assert check(material(standing=earlier), "one_charter").passed


def test_preliminary_sets_fail_the_check_and_are_a_caution():
    answer = build_month_answer(with_month(material(), preliminary=43))
    assert not answer.checks[-1].passed
    assert answer.checks[-1].words == "43 of 498 sets (8.6 %) are preliminary: their class may still change."
    assert answer.cautions[0] == "43 sets are preliminary and may still change class."


def test_open_decisions_say_how_far_the_rate_could_rise():
    classes = {SetClass.CONTAMINATED: 19, SetClass.ADJUDICATE: 3}
    cautions = build_month_answer(with_month(material(), classes=classes)).cautions
    expected = "3 sets wait for the microbiologist; all counted as contaminated they would make 22 of 498 (4.4 %)."
    assert expected in cautions


def test_unread_results_and_people_outside_are_counted_aloud():
    answer = build_month_answer(with_month(material(), classes={SetClass.UNRESOLVED: 2, SetClass.OUTSIDE: 1}))
    assert any(words.startswith("2 sets grew something that could not be read") for words in answer.cautions)
    assert "1 more set is not counted: it is outside the charter's population." in answer.cautions
    assert [one.passed for one in answer.checks if one.key == "unread"] == [False]


def test_doubtful_times_are_said_by_kind():
    sets = [one_set("1", time_quality=TimeQuality.AMBIGUOUS_HOUR), one_set("2", time_quality=TimeQuality.AFTER_RECEIPT)]
    cautions = build_month_answer(material(sets=tuple(sets))).cautions
    assert any("hour that the clock change repeats" in words for words in cautions)
    assert any("received before it was collected" in words for words in cautions)


def test_a_restated_figure_keeps_the_old_one_with_day_and_batch():
    old = OldFigure(numerator=4, denominator=18, until=date(2025, 12, 10), batch=3)
    answer = build_month_answer(material(old_figures=(old,)))
    assert answer.cautions[0] == "Restated: was 4 of 18 until 10 December 2025 (batch 3)."


def test_unsigned_and_unapproved_agreements_are_said():
    standing = Standing(charter_signed=False, policy_approved=False)
    cautions = build_month_answer(material(standing=standing)).cautions
    assert "The charter is not signed yet; the definition is not agreed." in cautions
    assert "The thresholds are those of a policy that nobody has approved yet." in cautions
    expired = Standing(charter_signed=True, policy_approved=False, policy_expired=True)
    assert any("has expired" in words for words in build_month_answer(material(standing=expired)).cautions)


def test_a_thin_baseline_still_shows_the_month_and_its_company():
    found = material()
    thin = replace(found, history=found.history[-5:], recent=found.recent[-5:], process=found.process[-5:])
    answer = build_month_answer(thin)
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.figure("contamination").numerator == 19
    assert answer.figure("first_signal").value is None


def test_a_charter_that_counts_bottles_is_not_said_to_count_sets():
    answer = build_month_answer(material(charter=replace(CHARTER, unit_of_count=UnitOfCount.BOTTLE)))
    assert answer.table is not None
    assert answer.table.columns[1] == "Bottles"
    thin = replace(
        material(charter=replace(CHARTER, unit_of_count=UnitOfCount.BOTTLE)), policy=SignalPolicy(min_points=99)
    )
    assert "24 months with 11,520 bottles" in build_month_answer(thin).sentence


def test_months_must_be_in_order_and_agree():
    with pytest.raises(ValueError, match="time order"):
        rate_counts((counts("2026-03"), counts("2026-02")))
    with pytest.raises(ValueError, match="last months differ"):
        material(process=(process("2026-02"),))
    with pytest.raises(ValueError, match="needs the asked month"):
        material(sets=(), history=())


def all_outside(reason, **changes):
    sets = tuple(one_set(str(n), set_class=SetClass.OUTSIDE, reason=reason, counted=False) for n in range(501))
    found = with_month(
        material(sets=sets), numerator=0, denominator=0, sets=0, classes={SetClass.OUTSIDE: 501}, solitary=0,
        episodes=0, eligible=0, positives=0,
    )  # fmt: skip
    return build_month_answer(replace(found, charter=replace(CHARTER, **changes)))


def test_a_charter_of_adults_at_a_childrens_hospital_is_named_as_the_reason():
    answer = all_outside(Reason.NOT_IN_POPULATION)
    assert answer.verdict is Verdict.REFUSED
    assert answer.sentence == (
        "None of the 501 sets of March is counted here: the charter counts adults only. Agree a charter for children "
        "on the page Charter."
    )


@pytest.mark.parametrize(
    ("reason", "changes", "words"),
    [
        (Reason.NOT_IN_POPULATION, {"population": Population.CHILDREN}, "the charter counts children only."),
        (Reason.UNIT_EXCLUDED, {}, "the charter leaves this unit out."),
        (Reason.LINE_SET, {}, "the charter leaves out sets taken from a line."),
    ],
)
def test_what_the_charter_leaves_out_is_said_by_its_own_rule(reason, changes, words):
    assert words in all_outside(reason, **changes).sentence


def test_a_check_without_months_before_is_neither_passed_nor_failed():
    alone = material(history=(counts(MONTH),), recent=(counts(MONTH),), process=(process(MONTH),))
    assert check(alone, "volume").passed is None
    assert check(alone, "times").passed is None
    assert json.loads(json.dumps(build_answer_dict(build_month_answer(alone))))["checks"][1]["passed"] is None


def test_no_more_than_usual_does_not_rest_on_one_month_before():
    found = material(process=(process("2026-02"), process(MONTH)))
    assert check(found, "times").passed is None
    assert "Too few months before to compare" in check(found, "times").words
    assert check(material(), "times").passed is True
