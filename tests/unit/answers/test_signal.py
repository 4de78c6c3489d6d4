"""Noise or signal from counts by month: the worked story of Marrowby's emergency department, and every verdict."""

from __future__ import annotations

import pytest
from scipy.stats import binom, chi2, hypergeom

from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.signal import build_signal_answer
from cubital.answers.signal_reading import Rule, SignalPolicy, assess_month
from cubital.domain.answer import Verdict
from cubital.stats.tails import chance_all_here, dispersion_chance

# April 2024 to March 2026 in the invented Marrowby emergency department.
SETS = [472, 455, 503, 481, 490, 466, 512, 498, 477, 489, 505, 460,
        468, 483, 495, 474, 509, 487, 492, 470, 499, 481, 476, 498]  # fmt: skip
CONTAMINATED = [14, 10, 9, 11, 18, 15, 6, 10, 10, 19, 12, 9, 16, 17, 11, 11, 16, 10, 16, 12, 14, 17, 6, 19]


def series(sets, contaminated, start="2024-04"):
    months = [start]
    while len(months) < len(sets):
        months.append(next_month(months[-1]))
    return [MonthCount(month=m, sets=n, contaminated=x) for m, n, x in zip(months, sets, contaminated, strict=True)]


def with_last(sets, contaminated):
    return series([*SETS[:-1], sets], [*CONTAMINATED[:-1], contaminated])


@pytest.fixture(scope="module")
def march():
    return build_signal_answer(series(SETS, CONTAMINATED), code="0")


def test_march_is_noise_in_exactly_these_words(march):
    assert march.verdict is Verdict.WITHIN_VARIATION
    assert march.sentence == (
        "March (19 of 498, 3.8 %) is within what this department's own variation produces; we would expect a month "
        "this high about once in sixteen months. No action beyond the current plan; 24 or more would have been a "
        "signal."
    )


@pytest.mark.parametrize(
    ("key", "value", "tolerance"),
    [
        ("month_rate", 0.038, 0.0005), ("baseline_rate", 0.0259, 0.00005), ("upper_limit", 0.047, 0.0005),
        ("lower_limit", 0.005, 0.0005), ("first_signal", 24, 0), ("tail", 0.064, 0.0005),
        ("any_of_twelve", 0.55, 0.005), ("z", 1.71, 0.005), ("longest_run", 3, 0), ("once_in_months", 16, 0.5),
    ],
)  # fmt: skip
def test_march_has_the_worked_figures(march, key, value, tolerance):
    assert march.figure(key).value == pytest.approx(value, abs=tolerance)


def test_march_counts_stand_behind_the_rates(march):
    assert (march.figure("baseline_rate").numerator, march.figure("baseline_rate").denominator) == (289, 11142)
    assert (march.figure("month_rate").numerator, march.figure("month_rate").denominator) == (19, 498)


def test_march_tail_is_scipys(march):
    """Oracle: scipy.stats.binom at the baseline rate."""
    assert march.figure("tail").value == pytest.approx(binom.sf(18, 498, 289 / 11142), rel=1e-10)


def test_no_rule_is_broken_in_march_nor_in_any_month_before():
    reading = assess_month(series(SETS, CONTAMINATED), policy=SignalPolicy())
    assert reading.broken == ()
    assert not any(reading.marked)


def test_january_2025_was_as_high_and_nobody_asked(march):
    assert march.table is not None
    row = march.table.rows[9]
    assert row[:4] == ("2025-01", 489, 19, pytest.approx(3.89, abs=0.005))
    assert row[-1] == ""


def test_checks_are_passed_and_say_what_was_asked(march):
    assert [(check.key, check.passed) for check in march.checks] == [("no_month_twice", True), ("no_gap", True)]
    assert march.checks[0].words == "No month stands twice."


def test_every_figure_says_how_it_was_made_and_what_it_counts(march):
    for figure in march.figures:
        assert figure.definition, figure.key
        assert figure.label, figure.key
        assert figure.value is not None, figure.key


def test_the_receipt_names_counts_rules_and_code(march):
    assert march.receipt is not None
    assert march.receipt.data.startswith("counts of 24 months ")
    assert "3 times the usual spread" in march.receipt.policy
    assert march.receipt.code == "0"


def test_one_more_than_the_last_ordinary_count_is_the_first_signal():
    assert build_signal_answer(with_last(498, 23)).verdict is Verdict.WITHIN_VARIATION
    answer = build_signal_answer(with_last(498, 24))
    assert answer.verdict is Verdict.SIGNAL
    assert answer.sentence == (
        "March (24 of 498, 4.8 %) is a signal: it is above what this department's own variation produces, where 24 or "
        "more is a signal and a month this high comes about once in 308 months. Look at the sets of this month before "
        "naming a cause."
    )


def test_a_very_low_month_is_a_signal_of_improvement_to_be_checked_first():
    answer = build_signal_answer(with_last(498, 1), place="hospital")
    assert answer.verdict is Verdict.SIGNAL
    assert "below what this hospital's own variation produces, where 2 or fewer is a signal" in answer.sentence
    assert "Check that every result is in" in answer.sentence


def test_a_low_month_is_told_how_low_a_signal_would_be():
    answer = build_signal_answer(with_last(498, 8), place="network")
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert "what this network's own variation produces; we would expect a month this low" in answer.sentence
    assert answer.sentence.endswith("2 or fewer would have been a signal of improvement.")


def test_an_ordinary_month_is_not_given_an_odd_rarity():
    assert "about every second month" in build_signal_answer(with_last(498, 13)).sentence


def test_eight_months_above_are_a_shift_and_seven_are_not():
    low, high = [9] * 20, [13] * 8
    eight = build_signal_answer(series([480] * 28, [*low, *high]))
    assert "the latest of eight months in a row above the baseline" in eight.sentence
    assert eight.verdict is Verdict.SIGNAL
    assert build_signal_answer(series([480] * 27, [*low, *high[:7]])).verdict is Verdict.WITHIN_VARIATION


def test_eight_months_below_are_a_sustained_low():
    answer = build_signal_answer(series([480] * 28, [14] * 20 + [10] * 8))
    assert answer.verdict is Verdict.SIGNAL
    assert "a sustained low" in answer.sentence


def test_nine_months_without_any_are_usual_in_a_small_unit():
    """Oracle: scipy.stats.binom; at 1 % a month of 37 has none with a chance of 0.69, nine in a row 0.035."""
    counts = series([37] * 33, [1, 0, 0] * 8 + [0] * 9)
    answer, reading = build_signal_answer(counts), assess_month(counts, policy=SignalPolicy())
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.sentence.endswith("months without any are usual at this size.")
    chance = binom.pmf(0, 37, reading.rate) ** abs(reading.current_run)
    assert (reading.current_run, reading.broken) == (-11, ())
    assert reading.run_chance == pytest.approx(chance, rel=1e-9)
    assert chance > SignalPolicy().run_chance


def test_a_run_made_by_size_alone_is_said_and_not_called_a_signal():
    answer = build_signal_answer(series([37] * 33, ([1, 0, 0] * 8 + [0] * 9)))
    assert (
        "The last 11 months lie below the baseline, but months without any are usual at this size, so the run is not "
        "called a signal." in answer.cautions
    )


def test_a_long_run_above_that_chance_makes_often_is_said_too():
    """Oracle: scipy.stats.binom; 11 or more of 480 at this baseline come in 51 of 100 months, eight in a row 0.0046."""
    counts = series([480] * 28, [10] * 20 + [13] * 8)
    reading = assess_month(counts, policy=SignalPolicy())
    assert reading.run_chance == pytest.approx(binom.sf(10, 480, reading.rate) ** 8, rel=1e-9)
    assert any(
        "The last 8 months lie above the baseline, but chance" in c for c in build_signal_answer(counts).cautions
    )


def test_a_steady_rise_of_six_is_never_more_frequent_in_small_months_than_among_unequal_values():
    """Oracle: scipy.stats.binom; six unequal values rise in 1 of 720 orders, and ties only make that rarer."""
    for mean in (0.4, 3.0):
        chance = binom.pmf(range(38), 37, mean / 37)
        rising = chance
        for _step in range(5):
            rising = [sum(rising[:x]) * chance[x] for x in range(38)]
        assert 0 < sum(rising) <= 1 / 720


def test_enough_months_without_any_are_a_signal_in_a_small_unit_too():
    reading = assess_month(series([37] * 44, [1, 1, 0] * 8 + [0] * 20), policy=SignalPolicy())
    assert reading.run_chance < SignalPolicy().run_chance
    assert Rule.SHIFT_DOWN in reading.broken


def test_six_rising_months_are_a_trend_and_five_are_not():
    base = [12, 13] * 10
    rising = build_signal_answer(series([480] * 26, [*base, 9, 10, 11, 12, 13, 14]))
    assert "the last of six months that rise steadily" in rising.sentence
    five = build_signal_answer(series([480] * 25, [*base, 10, 11, 12, 13, 14]))
    assert five.verdict is Verdict.WITHIN_VARIATION


def test_six_falling_months_are_a_trend_downwards():
    answer = build_signal_answer(series([480] * 26, [12, 13] * 10 + [16, 15, 14, 13, 12, 11]))
    assert "that fall steadily" in answer.sentence


def test_a_month_that_breaks_two_rules_names_the_second_as_a_caution():
    counts = series([480] * 28, [9] * 20 + [13] * 7 + [40])
    assert assess_month(counts, policy=SignalPolicy()).broken == (Rule.ABOVE, Rule.SHIFT_UP)
    assert "It also closes a run of 8 months above the baseline." in build_signal_answer(counts).cautions


def test_a_thin_baseline_is_refused_with_what_is_missing():
    answer = build_signal_answer(series([18] * 8, [0, 1, 0, 0, 1, 0, 0, 4]))
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.sentence == (
        "Too few to say whether November (4 of 18, 22.2 %) is signal or noise: the baseline before it has 7 months "
        "with 126 sets, and it takes at least 20 months and 500 sets; still missing: 13 months and 374 sets. On this "
        "month alone the true rate may lie anywhere from 9.0 % to 45.2 %."
    )
    assert answer.figure("tail").value is None
    assert answer.figure("tail").note == "the baseline has too few months or sets"
    assert answer.figure("month_rate").value == pytest.approx(4 / 18)


def test_enough_months_with_too_few_sets_are_refused_for_the_sets():
    answer = build_signal_answer(series([20] * 22, [0, 1] * 11))
    assert "still missing: 80 sets." in answer.sentence


def test_local_policy_decides_what_is_too_thin():
    policy = SignalPolicy(min_points=6, min_sets=100)
    assert build_signal_answer(series([100] * 8, [3, 2] * 4), policy=policy).verdict is Verdict.WITHIN_VARIATION


def test_one_month_alone_is_too_few():
    answer = build_signal_answer(series([498], [19]))
    assert answer.verdict is Verdict.TOO_FEW
    assert "there is no month before it to compare with" in answer.sentence
    assert answer.figure("baseline_rate").value is None


def test_a_month_without_sets_has_no_rate_to_judge():
    answer = build_signal_answer(with_last(0, 0))
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.sentence == "March has no sets, so there is no rate to judge."
    assert answer.figure("month_rate").note == "no sets this month"


def test_months_without_sets_do_not_count_towards_the_baseline():
    answer = build_signal_answer(series([0] * 10 + [480] * 15, [0] * 10 + [12] * 15))
    assert "14 months with 6,720 sets" in answer.sentence


def test_nothing_at_all_has_no_picture_and_no_figures_by_division():
    answer = build_signal_answer(series([0, 0], [0, 0]))
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.picture == {}
    assert answer.figure("chance_below_target").value is None


def test_a_baseline_without_any_event_has_nothing_to_vary():
    answer = build_signal_answer(series([480] * 22, [0] * 22))
    assert answer.verdict is Verdict.TOO_FEW
    assert "had none contaminated in 480 sets, and neither had any of the 10,080 sets before it" in answer.sentence
    thin = build_signal_answer(series([27] * 22, [0] * 22))
    assert thin.sentence.endswith("With none in 594 the true rate may still be as high as 0.6 %.")


def test_events_after_a_baseline_of_none_are_judged_by_where_they_fell():
    """Oracle: scipy.stats.hypergeom, all events of both falling among this month's sets."""
    two = build_signal_answer(series([480] * 22, [0] * 21 + [2]))
    one = build_signal_answer(series([480] * 22, [0] * 21 + [1]))
    assert chance_all_here(2, 480, elsewhere=10080) == pytest.approx(hypergeom.sf(1, 10560, 480, 2), rel=1e-9)
    assert two.verdict is Verdict.SIGNAL
    assert one.verdict is Verdict.TOO_FEW
    assert "none of the 10,080 sets before it was contaminated" in one.sentence
    assert chance_all_here(3, 2, elsewhere=10) == 0.0


def test_a_baseline_where_everything_is_contaminated_is_not_believed():
    answer = build_signal_answer(series([480] * 22, [480] * 21 + [3]))
    assert answer.verdict is Verdict.REFUSED
    assert "check which column holds the contaminated sets" in answer.sentence


def test_in_a_tiny_month_one_event_over_the_limit_is_no_signal():
    """At 3 sets the limit of three standard deviations lies under 1 of 3, which chance reaches in 7.6 % of months."""
    answer = build_signal_answer(with_last(3, 1))
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert any("with so few sets that happens by chance in 7.6 % of months" in words for words in answer.cautions)
    assert answer.figure("first_signal").value == 2


def test_a_month_too_small_for_any_signal_says_so():
    answer = build_signal_answer(with_last(1, 0))
    assert "with so few of them no count could have been a signal" in answer.sentence
    assert answer.figure("first_signal").value is None
    assert answer.figure("first_signal").note


def test_a_gap_is_said_and_the_answer_still_given():
    counts = series(SETS, CONTAMINATED)
    del counts[5:7]
    answer = build_signal_answer(counts)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    gap = "2 months are missing between the first and the last: September 2024, October 2024."
    assert gap in answer.cautions
    assert [check.passed for check in answer.checks] == [True, False]


def test_scatter_beyond_chance_is_said():
    """Oracle: scipy.stats.chi2 on the usual dispersion statistic."""
    events = [2, 25] * 11
    answer = build_signal_answer(series([480] * 23, [*events, 14]))
    assert any("vary more than chance alone" in words for words in answer.cautions)
    rate = sum(events) / (480 * 22)
    statistic = sum((x - 480 * rate) ** 2 for x in events) / (480 * rate * (1 - rate))
    assert dispersion_chance(events, [480] * 22) == pytest.approx(chi2.sf(statistic, 21), rel=1e-9)


def test_a_baseline_month_outside_its_limits_is_kept_and_named():
    contaminated = list(CONTAMINATED)
    contaminated[3] = 40
    answer = build_signal_answer(series(SETS, contaminated))
    assert any("a month outside its limits: July 2024" in words for words in answer.cautions)
    assert answer.table is not None
    assert answer.table.rows[3][-1] == "signal: above"


def test_a_locked_baseline_leaves_later_months_out():
    reading = assess_month(series(SETS, CONTAMINATED), policy=SignalPolicy(), locked=("2024-04", "2025-12"))
    assert reading.baseline_points == 21
    assert reading.baseline_contaminated == sum(CONTAMINATED[:21])


def test_the_chance_below_target_is_not_a_count_of_green_months(march):
    assert march.figure("months_below_target").value == 6
    assert march.figure("chance_below_target").value == pytest.approx(0.776, abs=0.001)
    assert march.figure("month_below_target").note == "below means 14 or fewer"


def test_without_a_target_nothing_is_said_about_one():
    answer = build_signal_answer(series(SETS, CONTAMINATED), policy=SignalPolicy(target=None))
    with pytest.raises(KeyError):
        answer.figure("chance_below_target")


def test_a_thin_baseline_bears_no_chance_below_the_target():
    answer = build_signal_answer(series([40, 30], [1, 0]))
    for key in ("chance_below_target", "month_below_target", "months_below_target"):
        assert (answer.figure(key).value, answer.figure(key).note) == (None, "the baseline has too few months or sets")


def test_a_reading_needs_a_month():
    with pytest.raises(ValueError, match="no month"):
        assess_month([], policy=SignalPolicy())


def test_exactly_twenty_months_and_five_hundred_sets_are_enough():
    assert build_signal_answer(series([25] * 21, [1, 0, 1] * 7)).verdict is Verdict.WITHIN_VARIATION
    assert build_signal_answer(series([25] * 20, [1, 0] * 10)).verdict is Verdict.TOO_FEW


def test_a_long_gap_names_the_first_months_only():
    counts = series([480] * 40, [12] * 40)
    answer = build_signal_answer([*counts[:25], *counts[33:]])
    assert any(words.startswith("8 months are missing") and words.endswith("….") for words in answer.cautions)
