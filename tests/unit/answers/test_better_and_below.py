"""Are we getting better, is the true rate below the target, since when: worked anchors with their derivations."""

from __future__ import annotations

import pytest
from scipy.stats import beta, binom
from statsmodels.api import GLM, families

from cubital.answers.below_target import build_target_answer
from cubital.answers.better import build_better_answer
from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.since_when import build_since_answer
from cubital.domain.answer import Verdict

SETS = [472, 455, 503, 481, 490, 466, 512, 498, 477, 489, 505, 460,
        468, 483, 495, 474, 509, 487, 492, 470, 499, 481, 476, 498]  # fmt: skip
CONTAMINATED = [14, 10, 9, 11, 18, 15, 6, 10, 10, 19, 12, 9, 16, 17, 11, 11, 16, 10, 16, 12, 14, 17, 6, 19]


def series(sets, contaminated, start="2024-04"):
    months = [start]
    while len(months) < len(sets):
        months.append(next_month(months[-1]))
    return tuple(
        MonthCount(month=m, sets=n, contaminated=x) for m, n, x in zip(months, sets, contaminated, strict=True)
    )


MARCH = series(SETS, CONTAMINATED)
# Own anchor: 24 months of 500 sets that fall from 25 to 2 by one a month.
FALLING = series([500] * 24, list(range(25, 1, -1)))


def test_a_steady_fall_is_getting_better_with_its_interval():
    answer = build_better_answer(FALLING)
    assert answer.verdict is Verdict.SIGNAL
    assert "better" in answer.sentence
    trend = answer.figure("yearly_ratio")
    assert trend.high < 1


def test_the_trend_agrees_with_a_general_purpose_library():
    # statsmodels GLM (binomial, logit) on the same months: an independent fit
    months = range(24)
    fit = GLM([[c.contaminated, c.sets - c.contaminated] for c in FALLING],
              [[1.0, m / 12] for m in months], family=families.Binomial()).fit()  # fmt: skip
    low, high = fit.conf_int()[1]
    trend = build_better_answer(FALLING).figure("yearly_ratio")
    import math

    assert trend.value == pytest.approx(math.exp(fit.params[1]), rel=1e-6)
    assert (trend.low, trend.high) == (pytest.approx(math.exp(low), rel=1e-4), pytest.approx(math.exp(high), rel=1e-4))


def test_marrowby_is_neither_better_nor_worse():
    answer = build_better_answer(MARCH)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert "no" in answer.sentence.casefold()


@pytest.mark.parametrize("months", [1, 5, 11])
def test_fewer_than_twelve_months_are_too_early(months):
    answer = build_better_answer(FALLING[:months])
    assert answer.verdict is Verdict.TOO_FEW
    assert str(12 - months) in answer.sentence or "eleven" in answer.sentence or "seven" in answer.sentence


@pytest.mark.parametrize(
    "counts", [series([500] * 24, [0] * 24), series([500] * 24, [500] * 24), series([0] * 24, [0] * 24)]
)
def test_without_variation_nothing_can_be_said_of_better(counts):
    answer = build_better_answer(counts)
    assert answer.verdict in (Verdict.TOO_FEW, Verdict.NOT_IDENTIFIABLE, Verdict.REFUSED)
    assert "nan" not in str(answer).casefold()


def test_a_separated_fall_is_said_without_a_trend_number():
    # all events in the first month: the logistic slope has no finite estimate or a huge interval, never NaN
    answer = build_better_answer(series([500] * 24, [20] + [0] * 23))
    assert "nan" not in str(answer).casefold()


def test_green_months_do_not_answer_whether_the_rate_is_below_the_target():
    # anchor: at a true 2.6 % a month of 480 comes in below 3 % in 73 % of months (14 or fewer)
    assert binom.cdf(14, 480, 0.026) == pytest.approx(0.73, abs=0.005)
    counts = series([480] * 24, [12, 13] * 12)
    answer = build_target_answer(counts, target=0.03)
    below = answer.figure("chance_below_target")
    x = sum(c.contaminated for c in counts[-12:])
    assert below.value == pytest.approx(beta.cdf(0.03, x + 0.5, 12 * 480 - x + 0.5))
    assert f"{x} of 5,760" in answer.sentence
    assert answer.figure("month_below_target").value == pytest.approx(binom.cdf(14, 480, x / 5760))


def test_eight_of_twelve_green_months_are_named_and_not_used():
    counts = series([480] * 24, [12] * 12 + [12] * 8 + [20] * 4)
    answer = build_target_answer(counts, target=0.03)
    assert "8 of 12" in answer.sentence


@pytest.mark.parametrize("counts", [series([0] * 12, [0] * 12), series([40], [1])])
def test_a_target_over_too_few_sets_is_refused(counts):
    assert build_target_answer(counts, target=0.03).verdict is Verdict.TOO_FEW


def test_a_target_far_below_is_said_plainly():
    answer = build_target_answer(series([480] * 24, [30] * 24), target=0.03)
    assert answer.figure("chance_below_target").value < 0.001
    assert "not" in answer.sentence


def test_since_when_names_the_month_and_its_doubt():
    counts = series([480] * 24, [12, 11, 13] * 6 + [24, 26, 22, 25, 24, 26])
    answer = build_since_answer(counts)
    assert answer.verdict is Verdict.SIGNAL
    assert "October 2025" in answer.sentence
    assert answer.figure("chance_of_change").value > 0.99


def test_since_when_says_that_nothing_shows_a_change():
    answer = build_since_answer(MARCH)
    assert answer.verdict is Verdict.WITHIN_VARIATION


def test_one_month_cannot_say_since_when():
    assert build_since_answer(MARCH[:1]).verdict is Verdict.TOO_FEW
