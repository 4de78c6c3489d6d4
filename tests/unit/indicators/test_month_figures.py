"""What a month's figures say, and that contamination never stands alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cubital.domain.answer import figures_by_key
from cubital.domain.charter import Charter, Population, SetClass, SolitaryCommensal, UnitOfCount, with_population
from cubital.domain.errors import PolicyProblem
from cubital.domain.policy import Policy, PolicyValue
from cubital.engine import open_session
from cubital.indicators.contamination import contamination_rate, definition_words, waiting_counts
from cubital.indicators.limits import process_limits
from cubital.indicators.month import ALWAYS_BESIDE, check_company, month_figures
from cubital.indicators.process import bottle_completeness, collector_known, fill, positivity, receipt_times, use_rate
from cubital.indicators.shares import build_share
from cubital.indicators.solitary import solitary_shares
from cubital.judge.api import Scope, count_months, count_process
from cubital.judge.counts import MonthCounts, ProcessCounts, ProcessLimits
from cubital.reference.charters import published_charters
from judge_worlds import fill_session
from messy_month import messy_month

CHARTER = Charter(key="usual", name="usual")
COUNTS = MonthCounts(
    month="2026-03", facility="Marrowby General", unit="ed", unit_name="ED", numerator=19, denominator=498, sets=498,
    positives=45, preliminary=0, solitary_excluded=0, unpairable=3, solitary=85, episodes=290, eligible=410,
    classes={SetClass.CONTAMINATED: 19, SetClass.ADJUDICATE: 3, SetClass.UNRESOLVED: 2, SetClass.SOLITARY_COMMENSAL: 4},
)  # fmt: skip
PROCESS = ProcessCounts(
    month="2026-03", facility="Marrowby General", unit="ed", unit_name="ED", sets=498, bottle_measurable=490,
    bottle_complete=451, timed=480, late=30, very_late=4, median_minutes=41.0, collector_sets=510,
    collector_measurable=510, attributed=321, fills=60, fill_median_ml=7.4, fills_low=35, fills_high=None,
)  # fmt: skip
LIMITS = ProcessLimits(fill_low_ml=8)


def month(**changes):
    return figures_by_key(
        month_figures(replace(COUNTS, **changes), PROCESS, charter=CHARTER, limits=LIMITS, patient_days=8000)
    )


@pytest.mark.parametrize(
    ("key", "numerator", "denominator"),
    [
        ("contamination", 19, 498),
        ("solitary_by_set", 85, 495),
        ("solitary_by_episode", 85, 290),
        ("bottles_complete", 451, 490),
        ("positivity", 45, 498),
        ("receipt_late", 30, 480),
        ("receipt_very_late", 4, 480),
        ("receipt_unknown", 18, 498),
        ("collector_known", 321, 510),
        ("fill_low", 35, 60),
    ],
)
def test_a_share_is_its_exact_counts_within_its_interval(key, numerator, denominator):
    figure = month()[key]
    assert (figure.numerator, figure.denominator) == (numerator, denominator)
    assert figure.value == numerator / denominator
    assert figure.low < figure.value < figure.high
    assert (figure.level, figure.method, figure.unit) == (0.95, "Wilson", "proportion")
    assert figure.definition


def test_medians_and_use_are_in_their_units():
    figures = month()
    assert (figures["minutes_to_receipt"].value, figures["minutes_to_receipt"].unit) == (41.0, "minutes")
    assert (figures["fill_median"].value, figures["fill_median"].unit) == (7.4, "ml")
    assert (figures["use_rate"].value, figures["use_rate"].unit) == (1000 * 498 / 8000, "per_1000")


def test_what_the_numerator_leaves_open_stands_beside_it():
    assert [figure.value for figure in waiting_counts(COUNTS)] == [3, 2, 4]


def test_contamination_comes_first_and_every_companion_follows():
    figures = month_figures(COUNTS, PROCESS, charter=CHARTER, limits=LIMITS)
    assert figures[0].key == "contamination"
    assert set(ALWAYS_BESIDE) <= {figure.key for figure in figures[1:]}


@pytest.mark.parametrize("key", ALWAYS_BESIDE)
def test_contamination_without_a_companion_is_refused(key):
    figures = month_figures(COUNTS, PROCESS, charter=CHARTER, limits=LIMITS)
    with pytest.raises(ValueError, match=key):
        check_company([figure for figure in figures if figure.key != key])


def test_a_companion_without_value_and_without_reason_is_refused():
    figures = month_figures(COUNTS, PROCESS, charter=CHARTER, limits=LIMITS)
    mute = [replace(one, value=None, note="") if one.key == "positivity" else one for one in figures]
    with pytest.raises(ValueError, match="without a reason: positivity"):
        check_company(mute)


def test_figures_without_contamination_need_no_company():
    assert check_company([positivity(COUNTS)])[0].key == "positivity"


def test_counts_of_two_places_are_not_mixed():
    with pytest.raises(ValueError, match="different months or places"):
        month_figures(COUNTS, replace(PROCESS, unit="icu"), charter=CHARTER, limits=LIMITS)


def test_a_month_without_sets_has_reasons_in_place_of_values():
    empty = replace(COUNTS, numerator=0, denominator=0, sets=0, positives=0, unpairable=0, solitary=0, episodes=0)
    nothing = replace(
        PROCESS, sets=0, bottle_measurable=0, bottle_complete=0, timed=0, late=0, very_late=0, median_minutes=None,
        collector_sets=0, collector_measurable=0, attributed=0, fills=0, fill_median_ml=None, fills_low=0,
    )  # fmt: skip
    figures = month_figures(empty, nothing, charter=CHARTER, limits=LIMITS)
    assert all(figure.note for figure in figures if figure.value is None)
    assert {figure.key for figure in figures if figure.value is not None} == {
        "to_adjudicate", "unresolved", "solitary_commensals",
    }  # fmt: skip


def test_preliminary_and_unpairable_sets_are_said():
    assert "2 sets are preliminary" in contamination_rate(replace(COUNTS, preliminary=2), CHARTER).note
    assert "1 set is preliminary" in contamination_rate(replace(COUNTS, preliminary=1), CHARTER).note
    assert "3 sets have no patient" in solitary_shares(COUNTS)[0].note


def test_single_sets_need_series():
    with pytest.raises(ValueError, match="without series"):
        solitary_shares(replace(COUNTS, solitary=None))


def test_bottles_are_not_measurable_where_no_file_tells_them_apart():
    figure = bottle_completeness(replace(PROCESS, bottle_measurable=0, bottle_complete=0))
    assert (figure.value, figure.note) == (None, "not measurable: the file does not tell bottles apart")
    assert "not measurable for 8 sets" in bottle_completeness(PROCESS).note


def test_a_facility_without_collectors_is_not_measurable_and_beside_another_it_is_said():
    alone = collector_known(replace(PROCESS, collector_measurable=0, attributed=0))
    assert (alone.value, alone.note) == (None, "not measurable: the file names no collectors")
    assert "8 sets come from a hospital" in collector_known(replace(PROCESS, collector_measurable=502)).note


def test_limits_come_from_policy_and_stand_in_the_label():
    figures = {one.key: one for one in receipt_times(PROCESS, ProcessLimits(late_minutes=90, very_late_minutes=180))}
    assert "90 minutes" in figures["receipt_late"].label
    assert "180 minutes" in figures["receipt_very_late"].label


def test_policy_values_become_limits():
    values = {"receipt_limit": 120, "receipt_late": 240, "fill_minimum": 8.0}
    entries = tuple(
        PolicyValue(key=key, label=key, value=value, unit="", source="", owner="") for key, value in values.items()
    )
    policy = Policy(name="example", version=1, values=entries)
    assert process_limits(policy) == ProcessLimits(fill_low_ml=8.0)
    with pytest.raises(PolicyProblem, match="receipt_late"):
        process_limits(replace(policy, values=entries[:1]))


def test_fill_shares_need_a_limit_and_a_measurement():
    assert [one.key for one in fill(PROCESS, ProcessLimits())] == ["fill_median"]
    both = fill(replace(PROCESS, fills_high=5), ProcessLimits(fill_low_ml=8, fill_high_ml=10))
    assert [one.key for one in both] == ["fill_median", "fill_low", "fill_high"]
    assert "above 10 ml" in both[2].label


@pytest.mark.parametrize("days", [None, 0])
def test_use_needs_patient_days(days):
    assert (use_rate(COUNTS, days).value, use_rate(COUNTS, days).note) == (None, "no patient-days were given")


def test_more_than_all_is_impossible():
    with pytest.raises(ValueError, match="3 of 2 is impossible"):
        build_share("x", "X", numerator=3, denominator=2, definition="")


def test_the_definition_says_what_is_counted_over_what():
    published = published_charters()
    assert definition_words(published["a_one_of_several_all_sets"]) == (
        "contaminated sets (a commensal in one of several sets) over all sets of everyone"
    )
    assert "in series of two or more" in definition_words(published["b_one_of_several_eligible_sets"])
    assert "any growth of a listed commensal" in definition_words(published["d_any_commensal"])
    words = {definition_words(Charter(key="x", name="x", unit_of_count=unit)) for unit in UnitOfCount}
    assert len(words) == len(UnitOfCount)


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        (SolitaryCommensal.EXCLUDE, "without commensals that have no partner"),
        (SolitaryCommensal.COUNT, "or in a single set"),
    ],
)
def test_the_definition_says_what_becomes_of_single_commensals(choice, words):
    assert words in definition_words(replace(CHARTER, solitary_commensal=choice))


def test_a_bottle_rate_without_bottles_says_so():
    bottles = replace(CHARTER, unit_of_count=UnitOfCount.BOTTLE)
    assert "told apart" in contamination_rate(replace(COUNTS, numerator=0, denominator=0), bottles).note


def test_the_messy_month_as_figures():
    charter = with_population(published_charters()["a_one_of_several_all_sets"], Population.ADULTS)
    scope = Scope(from_month="2025-11", to_month="2025-11", facility="Thistlecombe Community")
    with open_session(threads=1) as session:
        fill_session(session, messy_month())
        (counts,) = count_months(session, charter, scope=scope, by="facility")
        (process,) = count_process(session, charter, scope=scope, by="facility", judge=False)
    figures = figures_by_key(month_figures(counts, process, charter=charter, limits=ProcessLimits()))
    assert (figures["contamination"].numerator, figures["contamination"].denominator) == (2, 8)
    assert (figures["solitary_by_set"].numerator, figures["solitary_by_episode"].denominator) == (2, 5)
    assert figures["bottles_complete"].note.startswith("not measurable")
    assert figures["collector_known"].note.startswith("not measurable")
    # 50, 20, 50, 25, 30, 25, 70 and 45 minutes: the median lies halfway between 30 and 45
    assert figures["minutes_to_receipt"].value == 37.5
