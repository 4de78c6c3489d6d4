"""The quarter against its series. The emergency department's counts are those of the story "Is March really worse?";
the chances are SciPy's binomial distribution, the limits its standard deviation.
"""

from __future__ import annotations

import math

import pytest
from scipy.stats import binom

from cubital.answers.counts import MonthCount
from cubital.answers.quarter import QuarterSetting, build_quarter_answer, chart_words, quarter_sentence, target_words
from cubital.answers.quarter_reading import Side, Standing, read_quarter
from cubital.answers.signal_reading import SignalPolicy
from cubital.answers.span_words import span_months, span_name, span_words
from cubital.domain.answer import Verdict
from cubital.workspace.demo.world import EMERGENCY_CONTAMINATED, EMERGENCY_SETS, months_of_the_world

MONTHS = tuple(
    MonthCount(month=month, sets=sets, contaminated=count)
    for month, sets, count in zip(months_of_the_world(), EMERGENCY_SETS, EMERGENCY_CONTAMINATED, strict=True)
)
POLICY = SignalPolicy()
RATE = 266 / 10185  # April 2024 to December 2025


def changed(**counts: int) -> tuple[MonthCount, ...]:
    """The months with other counts, by month written ``m2026_03``."""
    new = {name[1:].replace("_", "-"): count for name, count in counts.items()}
    return tuple(
        MonthCount(month=one.month, sets=one.sets, contaminated=new.get(one.month, one.contaminated)) for one in MONTHS
    )


def test_the_quarter_is_judged_by_the_months_before_it_alone():
    reading = read_quarter(MONTHS, from_month="2026-01", policy=POLICY)
    assert (reading.contaminated, reading.sets) == (42, 1455)
    assert reading.chart.rate == pytest.approx(RATE, abs=1e-12)
    assert reading.tail == pytest.approx(binom.sf(41, 1455, RATE), rel=1e-9)
    limit = 1455 * RATE + 3 * math.sqrt(1455 * RATE * (1 - RATE))
    assert reading.first_signal == math.ceil(limit)
    assert reading.standing is Standing.WITHIN


def test_the_sentence_has_counts_rate_verdict_and_what_would_have_been_a_signal():
    reading = read_quarter(MONTHS, from_month="2026-01", policy=POLICY)
    said = quarter_sentence(reading, place="department")
    assert said.startswith("January to March 2026 (42 of 1,455, 2.9 %) is within what this department's own variation")
    assert f"{reading.first_signal} or more would have been a signal." in said
    assert "No action beyond the current plan" in said


def test_the_same_quarter_a_year_before_stands_beside_it():
    """19 + 12 + 9 of 489 + 505 + 460."""
    answer = build_quarter_answer(
        read_quarter(MONTHS, from_month="2026-01", policy=POLICY),
        setting=QuarterSetting(place="department", place_name="Emergency"),
    )
    figure = answer.figure("year_before")
    assert (figure.numerator, figure.denominator) == (40, 1454)
    assert answer.verdict is Verdict.WITHIN_VARIATION


def test_one_month_that_is_a_signal_is_named_although_the_quarter_is_not():
    reading = read_quarter(changed(m2026_03=26, m2026_01=9, m2026_02=9), from_month="2026-01", policy=POLICY)
    assert reading.standing is Standing.ONE_MONTH
    said = quarter_sentence(reading, place="department")
    assert "but March (26 of 498, 5.2 %) is a signal by itself" in said
    assert "signal" in chart_words(reading) or "Outside it: March 2026." in chart_words(reading)


def test_a_high_quarter_and_a_low_one_are_signals():
    high = read_quarter(changed(m2026_01=22, m2026_02=22, m2026_03=22), from_month="2026-01", policy=POLICY)
    assert high.standing is Standing.HIGH
    assert "Look at the sets of these months" in quarter_sentence(high, place="hospital")
    low = read_quarter(changed(m2026_01=6, m2026_02=5, m2026_03=6), from_month="2026-01", policy=POLICY)
    assert low.standing is Standing.LOW
    assert "signal of improvement" in quarter_sentence(low, place="hospital")
    assert binom.cdf(17, 1455, RATE) < 0.01


def test_too_short_a_baseline_refuses_and_gives_the_range():
    reading = read_quarter(MONTHS[:6], from_month="2024-07", policy=POLICY)
    answer = build_quarter_answer(reading, setting=QuarterSetting(place="department", place_name="Emergency"))
    assert answer.verdict is Verdict.TOO_FEW
    assert "has 3 months with 1,430 sets, and it takes at least 20 months" in answer.sentence
    assert {figure.key for figure in answer.figures} == set()


def test_no_sets_is_said():
    months = (*MONTHS[:21], *(MonthCount(month=f"2026-0{n}", sets=0, contaminated=0) for n in (1, 2, 3)))
    assert quarter_sentence(read_quarter(months, from_month="2026-01", policy=POLICY), place="department") == (
        "January to March 2026 has no sets, so there is no rate to judge."
    )


def test_against_the_target_the_whole_range_counts():
    reading = read_quarter(MONTHS, from_month="2026-01", policy=POLICY)
    assert reading.side_of(0.03) is Side.UNTOLD
    assert reading.side_of(0.01) is Side.ABOVE
    assert reading.side_of(0.2) is Side.BELOW
    assert "cannot be told from the target of 3.0 %" in target_words(reading)


def test_every_month_of_the_quarter_is_ringed():
    answer = build_quarter_answer(
        read_quarter(MONTHS, from_month="2026-01", policy=POLICY),
        setting=QuarterSetting(place="department", place_name="Emergency"),
    )
    assert answer.picture["layer"][-1]["transform"] == [
        {"filter": "datum.month >= '2026-01' && datum.month < '2026-03'"}
    ]
    assert "from April 2024 to March 2026" in answer.picture["description"]


def test_a_stretch_without_months_is_a_mistake():
    with pytest.raises(ValueError, match="has no month"):
        read_quarter(MONTHS, from_month="2027-01", policy=POLICY)


def test_spans_are_named_as_published_counts_name_them():
    assert span_name("2026-01", "2026-03") == "2026-Q1"
    assert span_name("2025-10", "2025-12") == "2025-Q4"
    assert span_name("2025-01", "2025-12") == "2025"
    assert span_name("2026-03", "2026-03") == "2026-03"
    assert span_name("2025-11", "2026-01") == "2025-11..2026-01"
    assert span_months("2025-11", "2026-01") == ("2025-11", "2025-12", "2026-01")
    assert span_words("2025-11", "2026-01") == "November 2025 to January 2026"
    assert span_words("2026-03", "2026-03") == "March 2026"
