"""Every chart on months of counts: what it says of the last month, how often it cries wolf, how soon it speaks.

The months are those of the invented Marrowby emergency department; scipy computes binomial tails a second time.
"""

from __future__ import annotations

import pytest
from scipy.stats import binom, norm, poisson

from cubital.answers.charts.answering import build_chart_answer
from cubital.answers.charts.kinds import ChartKind
from cubital.answers.charts.monthly import read_chart
from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.signal_reading import SignalPolicy
from cubital.domain.answer import Verdict

SETS = [472, 455, 503, 481, 490, 466, 512, 498, 477, 489, 505, 460,
        468, 483, 495, 474, 509, 487, 492, 470, 499, 481, 476, 498]  # fmt: skip
CONTAMINATED = [14, 10, 9, 11, 18, 15, 6, 10, 10, 19, 12, 9, 16, 17, 11, 11, 16, 10, 16, 12, 14, 17, 6, 19]
RATE = 289 / 11_142
MONTHLY = [ChartKind.P, ChartKind.U, ChartKind.LANEY, ChartKind.LANEY_U, ChartKind.EWMA, ChartKind.CUSUM]


def series(sets, contaminated, start="2024-04"):
    months = [start]
    while len(months) < len(sets):
        months.append(next_month(months[-1]))
    return tuple(
        MonthCount(month=m, sets=n, contaminated=x) for m, n, x in zip(months, sets, contaminated, strict=True)
    )


MARCH = series(SETS, CONTAMINATED)
DOUBLED = series([480] * 30, [12, 13] * 12 + [22, 25, 21, 26, 24, 23])


@pytest.mark.parametrize("kind", MONTHLY)
def test_no_chart_calls_march_a_signal(kind):
    answer = build_chart_answer(MARCH, kind=kind)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert "March (19 of 498, 3.8 %)" in answer.sentence


@pytest.mark.parametrize("kind", MONTHLY)
def test_every_chart_says_how_often_it_cries_wolf_and_how_soon_it_speaks(kind):
    answer = build_chart_answer(MARCH, kind=kind)
    false_alarm, found = answer.figure("false_alarm_every"), answer.figure("found_after")
    assert false_alarm.value > 50 > found.value >= 1
    assert "cries wolf" in answer.sentence


def test_the_proportion_chart_cries_wolf_as_the_binomial_law_says():
    reading = read_chart(MARCH, kind=ChartKind.P)
    # 482 is the middle month's size; signals are 24 or more and nothing at the lower side (own count of the limits)
    chance = binom.sf(reading.first_signal - 1, reading.cost_sets, RATE) + (
        binom.cdf(reading.last_low_signal, reading.cost_sets, RATE) if reading.last_low_signal is not None else 0
    )
    assert reading.cost.false_alarm_every == pytest.approx(1 / chance)


def test_the_count_chart_cries_wolf_as_the_poisson_law_says():
    reading = read_chart(MARCH, kind=ChartKind.U)
    mean = RATE * reading.cost_sets
    reach = 3 * mean**0.5
    chance = poisson.sf(int(mean + reach), mean) + poisson.cdf(-int(-(mean - reach) // 1) - 1, mean)
    assert reading.cost.false_alarm_every == pytest.approx(1 / chance, rel=1e-6)


def test_the_stretched_chart_cries_wolf_as_the_normal_law_says():
    reading = read_chart(MARCH, kind=ChartKind.LANEY)
    assert reading.cost.false_alarm_every == pytest.approx(1 / (2 * norm.sf(3)), rel=1e-6)


@pytest.mark.parametrize("kind", [ChartKind.EWMA, ChartKind.CUSUM])
def test_charts_that_remember_find_a_lasting_rise_and_say_since_when(kind):
    answer = build_chart_answer(DOUBLED, kind=kind)
    assert answer.verdict is Verdict.SIGNAL
    assert answer.figure("began").note == "April 2026"


def test_remembering_charts_find_a_small_rise_sooner_than_the_proportion_chart():
    counts = series([300] * 24, [7, 8] * 12)
    found = {kind: read_chart(counts, kind=kind).cost.found_after for kind in (ChartKind.P, ChartKind.CUSUM)}
    assert found[ChartKind.CUSUM] < found[ChartKind.P]


@pytest.mark.parametrize("kind", MONTHLY)
@pytest.mark.parametrize(
    ("sets", "contaminated", "verdict"),
    [
        ([480] * 5, [12] * 5, Verdict.TOO_FEW),
        ([480], [12], Verdict.TOO_FEW),
        ([0] * 24, [0] * 24, Verdict.TOO_FEW),
        ([480] * 24, [0] * 24, Verdict.TOO_FEW),
        ([480] * 24, [480] * 24, Verdict.REFUSED),
        ([480] * 23 + [0], [12] * 23 + [0], Verdict.TOO_FEW),
    ],
)
def test_what_cannot_be_charted_is_said_and_not_drawn_with_limits(kind, sets, contaminated, verdict):
    answer = build_chart_answer(series(sets, contaminated), kind=kind)
    assert answer.verdict is verdict
    assert "nan" not in str(answer).casefold()


def test_a_month_without_sets_between_others_breaks_no_chart():
    counts = series([*SETS[:-3], 0, *SETS[-2:]], [*CONTAMINATED[:-3], 0, *CONTAMINATED[-2:]])
    for kind in MONTHLY:
        assert "nan" not in str(build_chart_answer(counts, kind=kind)).casefold()


def test_a_locked_baseline_is_the_one_that_is_used():
    reading = read_chart(MARCH, kind=ChartKind.P, locked=("2024-04", "2025-03"), policy=SignalPolicy(min_points=12))
    assert reading.center == pytest.approx(sum(CONTAMINATED[:12]) / sum(SETS[:12]))
