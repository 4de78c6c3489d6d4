"""Sets and days between contaminations, and which chart fits: the worked anchor of the two clean months, and edges."""

from __future__ import annotations

import pytest
from scipy.stats import expon, geom

from cubital.answers.charts.choosing import choose_chart
from cubital.answers.charts.gap_answering import build_gap_answer
from cubital.answers.charts.gaps import Gaps, gaps_of_counts, read_gaps
from cubital.answers.charts.kinds import ChartKind
from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.domain.answer import Verdict


def series(sets, contaminated, start="2024-01"):
    months = [start]
    while len(months) < len(sets):
        months.append(next_month(months[-1]))
    return tuple(
        MonthCount(month=m, sets=n, contaminated=x) for m, n, x in zip(months, sets, contaminated, strict=True)
    )


# Own derivation: 20 gaps that add up to 980 clean sets beside 20 contaminated ones are exactly 2 %.
TWO_PERCENT = Gaps(closed=(49,) * 20, open=120)


def test_a_gap_of_120_sets_at_two_percent_comes_in_nine_of_a_hundred():
    answer = build_gap_answer(TWO_PERCENT, kind=ChartKind.GAPS)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.figure("gap_chance").value == pytest.approx(0.089, abs=5e-4)
    assert answer.figure("gap_chance").value == pytest.approx(geom.sf(120, 0.02))  # scipy.stats.geom
    assert answer.figure("gap_limit").value == pytest.approx(327, abs=1)
    assert "8.9 %" in answer.sentence


def test_two_clean_months_at_sixty_sets_are_no_reason_to_celebrate():
    counts = series([60] * 30, [1, 1, 2, 1, 1, 1, 1, 1, 2, 1] * 2 + [1, 1, 2, 1, 1, 1, 1, 1] + [0, 0])
    answer = build_gap_answer(gaps_of_counts(counts), kind=ChartKind.GAPS)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert answer.figure("open_gap").value >= 120


def test_a_gap_beyond_the_limit_is_worth_a_celebration():
    answer = build_gap_answer(Gaps(closed=(49,) * 20, open=328), kind=ChartKind.GAPS)
    assert answer.verdict is Verdict.SIGNAL
    assert "better" in answer.sentence


def test_gaps_that_grow_short_are_found_by_the_sum_over_single_sets():
    answer = build_gap_answer(Gaps(closed=(49,) * 20 + (5,) * 8, open=3, baseline=20), kind=ChartKind.GAPS)
    assert answer.verdict is Verdict.SIGNAL
    assert "worse" in answer.sentence


def test_the_chart_of_gaps_says_what_it_costs_in_sets():
    reading = read_gaps(TWO_PERCENT)
    assert reading.false_alarm_sets > 1000
    assert reading.found_sets < reading.false_alarm_sets / 5


def test_days_between_events_follow_the_exponential_law():
    answer = build_gap_answer(Gaps(closed=(25,) * 20, open=60, unit="days"), kind=ChartKind.TIMES)
    assert answer.figure("gap_chance").value == pytest.approx(expon.sf(60, scale=25))
    assert answer.verdict is Verdict.WITHIN_VARIATION


@pytest.mark.parametrize(
    ("gaps", "verdict"),
    [
        (Gaps(closed=(), open=0), Verdict.TOO_FEW),
        (Gaps(closed=(), open=900), Verdict.TOO_FEW),
        (Gaps(closed=(30,) * 5, open=10), Verdict.TOO_FEW),
        (Gaps(closed=(0,) * 40, open=0), Verdict.REFUSED),
    ],
)
def test_too_few_gaps_are_refused_with_how_many_more(gaps, verdict):
    answer = build_gap_answer(gaps, kind=ChartKind.GAPS)
    assert answer.verdict is verdict
    assert "nan" not in str(answer).casefold()


def test_contaminations_are_spread_evenly_over_their_month():
    gaps = gaps_of_counts(series([10, 10], [1, 0]))
    assert sum(gaps.closed) + gaps.open == 19
    assert len(gaps.closed) == 1


def test_rare_events_call_for_gaps():
    choice = choose_chart(series([40] * 30, [1, 0, 0, 0, 1, 0, 0, 0, 0, 1] * 3))
    assert choice.kind is ChartKind.GAPS
    assert "months" in choice.why


def test_months_that_scatter_beyond_chance_call_for_stretched_limits():
    choice = choose_chart(series([2000] * 24, [30, 90] * 12))
    assert choice.kind is ChartKind.LANEY


def test_plain_months_call_for_the_proportion_chart():
    choice = choose_chart(series([480] * 24, [12, 14, 10] * 8))
    assert choice.kind is ChartKind.P


def test_small_months_call_for_the_running_sum():
    # 3 expected a month: too many for gaps, too few to see a doubling in one month
    choice = choose_chart(series([120] * 30, [3, 2, 4] * 10))
    assert choice.kind is ChartKind.CUSUM


@pytest.mark.parametrize("contaminated", [0, 480])
def test_without_variation_the_proportion_chart_says_why_it_refuses(contaminated):
    assert choose_chart(series([480] * 24, [contaminated] * 24)).kind is ChartKind.P
