"""What the diary lets anybody test: overlaps, comparison units, and what cannot be told apart."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.answers.counts import MonthCount
from cubital.answers.diary import build_diary_answer, change_words
from cubital.answers.diary_reading import CanTest, PlaceMonths, find_overlaps, read_diary
from cubital.domain.answer import Verdict
from cubital.domain.diary import ChangeKind, DiaryEntry

M, T = "Marrowby General", "Thistlecombe Community"
MONTHS = [f"2025-{number:02d}" for number in range(1, 13)]
START = date(2025, 7, 1)


def place(facility, unit, *, months=MONTHS, sets=450):
    counts = tuple(MonthCount(month=month, sets=sets, contaminated=3) for month in months)
    return PlaceMonths(facility=facility, unit=unit, name=f"{facility}, {unit}", counts=counts)


def entry(kind, on=START, *, facility=None, unit=None, number=1, until=None, words="a change"):
    return DiaryEntry(
        kind=ChangeKind(kind), on=on, until=until, words=words, facility=facility, unit=unit, number=number,
        place=", ".join(part for part in (facility, unit) if part) or "everywhere",
    )  # fmt: skip


# The four units of story S4 in job-map.md: kit and phlebotomists began together at one, apart at two, not at one.
UNITS = (place(M, "emergency"), place(M, "assessment"), place(T, "emergency"), place(T, "medical"))
KIT_EMERGENCY = entry("kit", facility=M, unit="emergency", number=1, words="collection kit")
SHIFT_EMERGENCY = entry("staffing", facility=M, unit="emergency", number=2, words="phlebotomists 07:00 to 19:00")
KIT_ASSESSMENT = entry("kit", facility=M, unit="assessment", number=3, words="collection kit")
SHIFT_T = entry("staffing", facility=T, unit="emergency", number=4, words="phlebotomists 07:00 to 19:00")
S4 = (KIT_EMERGENCY, SHIFT_EMERGENCY, KIT_ASSESSMENT, SHIFT_T)


def states(reading):
    return {test.entry.number: test.state for test in reading.tests}


def test_kit_and_shift_on_one_day_at_one_unit_alone_cannot_be_told_apart():
    """Story S4: on Marrowby's emergency department alone the model is not identifiable."""
    reading = read_diary((KIT_EMERGENCY, SHIFT_EMERGENCY), UNITS[:1])
    assert states(reading) == {1: CanTest.TOGETHER, 2: CanTest.TOGETHER}
    assert [one.number for one in reading.tests[0].companions] == [2]
    answer = build_diary_answer(reading)
    assert answer.verdict is Verdict.NOT_IDENTIFIABLE
    assert answer.sentence == (
        "Of 2 changes of care, 2 cannot be told apart from what changed with them. "
        "The data run from January 2025 to December 2025."
    )
    assert answer.checks[0].words == (
        "Two things changed together: 1 July 2025 (Marrowby General, emergency): collection kit, and "
        "1 July 2025 (Marrowby General, emergency): phlebotomists 07:00 to 19:00, on one day."
    )


def test_the_four_units_of_the_story_tell_kit_from_shift():
    """Story S4: with all four units kit and phlebotomist each have an estimate."""
    reading = read_diary(S4, UNITS)
    assert set(states(reading).values()) == {CanTest.COMPARED}
    found = {test.entry.number: test.controls for test in reading.tests}
    assert found == {
        1: (f"{T}, emergency",),  # had the shift as well, not the kit
        2: (f"{M}, assessment",),  # had the kit as well, not the shift
        3: (f"{T}, medical",),
        4: (f"{T}, medical",),
    }
    assert build_diary_answer(reading).verdict is Verdict.ESTIMATE
    sides = reading.tests[0]
    assert (sides.before.months, sides.before.sets) == (6, 2700)  # the story's 2,700 sets before
    assert (sides.after.months, sides.after.sets) == (6, 2700)


def test_without_another_unit_a_lone_change_is_before_and_after_only():
    reading = read_diary((KIT_EMERGENCY,), UNITS[:1])
    assert states(reading) == {1: CanTest.ALONE}
    everywhere = entry("training")
    assert states(read_diary((everywhere,), UNITS)) == {1: CanTest.ALONE}


def test_one_unit_of_a_wide_change_without_company_still_tells():
    kit = entry("kit", facility=M)
    shift = entry("staffing", facility=M, unit="emergency", number=2)
    reading = read_diary((kit, shift), UNITS[:2])
    assert states(reading) == {1: CanTest.ALONE, 2: CanTest.COMPARED}
    assert reading.tests[1].controls == (f"{M}, assessment",)


def test_a_unit_that_changed_in_another_way_is_nothing_to_compare_with():
    other = entry("policy", date(2025, 7, 20), facility=M, unit="assessment", number=9)
    reading = read_diary((KIT_EMERGENCY, other), UNITS[:2])
    assert states(reading)[1] is CanTest.ALONE
    far = entry("policy", date(2025, 9, 20), facility=M, unit="assessment", number=9)
    assert states(read_diary((KIT_EMERGENCY, far), UNITS[:2]))[1] is CanTest.COMPARED


def test_two_other_changes_are_the_same_only_by_their_words():
    kit = (KIT_EMERGENCY, entry("other", facility=M, unit="emergency", number=2, words="Building work"))
    same = entry("other", facility=M, unit="assessment", number=3, words="building work")
    different = entry("other", facility=M, unit="assessment", number=3, words="A flood")
    assert states(read_diary((*kit, same), UNITS[:2]))[1] is CanTest.COMPARED
    assert states(read_diary((*kit, different), UNITS[:2]))[1] is CanTest.TOGETHER


def test_an_analyser_of_the_whole_hospital_is_no_matter_for_a_comparison_inside_it():
    analyser = entry("analyser", facility=M, number=7)
    reading = read_diary((KIT_EMERGENCY, analyser), UNITS[:2])
    assert states(reading) == {1: CanTest.COMPARED}
    assert reading.tests[0].controls == (f"{M}, assessment",)
    assert states(read_diary((KIT_EMERGENCY, analyser), (UNITS[0], UNITS[3]))) == {1: CanTest.TOGETHER}
    words = build_diary_answer(reading).checks[0].words
    assert words.startswith("Definition changed here: ")
    assert words.endswith("A jump there may be the analyser or laboratory software and not the care.")


@pytest.mark.parametrize(
    ("on", "state", "words"),
    [
        (date(2024, 12, 31), CanTest.OUTSIDE, "outside the months of the data"),
        (date(2026, 1, 1), CanTest.OUTSIDE, "outside the months of the data"),
        (date(2025, 3, 1), CanTest.SHORT, "only 2 months with sets before it; 3 are needed"),
        (date(2025, 11, 15), CanTest.SHORT, "too early: 2 more months are needed"),
        (date(2025, 10, 2), CanTest.SHORT, "too early: 1 more month is needed"),
        (date(2025, 10, 1), CanTest.COMPARED, "before and after, against units without it"),
    ],
)
def test_a_change_near_or_beyond_the_ends_of_the_data_says_so(on, state, words):
    reading = read_diary((entry("kit", on, facility=M, unit="emergency"),), UNITS)
    assert reading.tests[0].state is state
    assert build_diary_answer(reading).table.rows[0][4] == words


def test_months_after_the_end_of_a_trial_count_for_neither_side():
    trial = entry("kit", facility=M, unit="emergency", until=date(2025, 10, 15))
    course = entry("training", facility=M, unit="assessment", until=date(2025, 7, 3), number=2)
    reading = read_diary((trial, course), UNITS)
    assert [(test.before.months, test.after.months) for test in reading.tests] == [(6, 3), (6, 6)]


def test_overlaps_are_at_one_place_and_within_the_window():
    first = entry("kit", facility=M, unit="emergency")
    at = {
        "31 days on": entry("staffing", date(2025, 8, 1), facility=M, number=2),
        "32 days on": entry("staffing", date(2025, 8, 2), facility=M, number=3),
        "elsewhere": entry("staffing", facility=T, number=4),
        "sibling unit": entry("staffing", facility=M, unit="assessment", number=5),
        "everywhere": entry("policy", date(2025, 6, 20), number=6),
    }
    found = find_overlaps((first, *at.values()))
    with_first = {pair.second.number if pair.first is first else pair.first.number for pair in found if first in
                  (pair.first, pair.second)}  # fmt: skip
    assert with_first == {2, 6}
    ended = entry("kit", date(2025, 1, 1), until=date(2025, 6, 25), facility=M, unit="emergency", number=8)
    assert [pair.days for pair in find_overlaps((ended, first))] == [6]
    taught = entry("training", date(2025, 1, 1), until=date(2025, 6, 25), facility=M, unit="emergency", number=8)
    assert find_overlaps((taught, first)) == ()


def test_a_signed_charter_breaks_no_series_and_overlaps_nothing():
    charter = entry("list", number=0)
    reading = read_diary((KIT_EMERGENCY, charter), UNITS)
    assert (reading.overlaps, states(reading)) == ((), {1: CanTest.COMPARED})
    noted = entry("list", number=5)
    assert len(read_diary((KIT_EMERGENCY, noted), UNITS).overlaps) == 1


def test_an_empty_diary_and_one_without_changes_of_care_are_refused_in_words():
    empty = build_diary_answer(read_diary((), UNITS))
    assert (empty.verdict, empty.table, empty.checks) == (Verdict.REFUSED, None, ())
    assert empty.sentence.startswith("The diary is empty: note what changed")
    renamed = build_diary_answer(read_diary((entry("rename", facility=M, unit="emergency", number=0),), UNITS))
    assert renamed.verdict is Verdict.REFUSED
    assert "no change of care" in renamed.sentence


def test_a_diary_before_any_data_lies_outside_them():
    answer = build_diary_answer(read_diary((KIT_EMERGENCY,), ()))
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.sentence == "Of 1 change of care, 1 lies outside the data. No set is dated yet."


def test_only_the_newest_overlaps_are_listed_and_the_rest_counted():
    many = tuple(entry("training", date(2025, 7, day), number=day) for day in range(1, 7))
    checks = build_diary_answer(read_diary(many, UNITS)).checks
    assert len(checks) == 9  # 15 pairs of six entries: eight in words and one line for seven
    assert checks[-1].words == "7 earlier pairs of entries also came within 31 days."
    calm = build_diary_answer(read_diary((KIT_EMERGENCY,), UNITS)).checks
    assert [(check.passed, check.words) for check in calm] == [
        (True, "No two entries at one place lie within 31 days of each other.")
    ]


PLACES = st.sampled_from([{}, {"facility": M}, {"facility": M, "unit": "emergency"}, {"facility": T}])
ENTRIES = st.lists(
    st.tuples(st.sampled_from([kind.value for kind in ChangeKind]), st.dates(START, date(2025, 9, 1)), PLACES),
    max_size=8,
).map(lambda found: [entry(kind, on, number=n, **where) for n, (kind, on, where) in enumerate(found, start=1)])


@given(ENTRIES, st.integers(0, 60), st.integers(0, 60), st.randoms())
def test_pairs_do_not_depend_on_order_and_a_wider_window_loses_none(entries, narrow, more, random):
    def pairs(found):
        return {frozenset((pair.first.number, pair.second.number)) for pair in found}

    shuffled = list(entries)
    random.shuffle(shuffled)
    assert pairs(find_overlaps(entries, window=narrow)) == pairs(find_overlaps(shuffled, window=narrow))
    assert pairs(find_overlaps(entries, window=narrow)) <= pairs(find_overlaps(entries, window=narrow + more))


def test_one_change_is_said_with_its_comparison_its_amount_and_its_company():
    first = read_diary(S4, UNITS).tests[0]
    assert change_words(first) == (
        "Before and after, against units without it: Thistlecombe Community, emergency. "
        "6 months with 2,700 sets before it, 6 months with 2,700 sets after it. "
        "With it came: phlebotomists 07:00 to 19:00."
    )
    outside = read_diary((entry("kit", date(2024, 1, 1)),), UNITS).tests[0]
    assert change_words(outside) == "Outside the months of the data."
