"""Label errors beside reporting.

Anchor of our own: twelve months of 500 sets. Errors fall from 24 to 10 in 3,000 sets each. Given 34 in all and equal
exposure, the later count is binomial with one half: two-sided exact p = 2 P(X <= 10) = 0.024. With the other reports
steady (60 and 58) the fall may be real; with the other reports fallen as well (60 to 25, p = 0.0002) it proves nothing.
Outside check: scipy.stats.binomtest.
"""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from cubital.answers.reporting import (
    ReportMonth,
    Story,
    build_reporting_answer,
    parse_report_months,
    read_reporting,
)
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem


def months(errors, others, sets=500):
    """Twelve months: the sums of each half spread evenly over its six months."""
    found = []
    for half in (0, 1):
        for n in range(6):
            e = errors[half] // 6 + (n < errors[half] % 6)
            o = others[half] // 6 + (n < others[half] % 6)
            found.append(ReportMonth(month=f"2025-{half * 6 + n + 1:02d}", sets=sets, reports=e + o, errors=e))
    return found


def test_errors_fell_while_reporting_held():
    reading = read_reporting(months((24, 10), (60, 58)))
    assert reading.story is Story.ERRORS_FELL
    assert reading.errors.exact_p == pytest.approx(binomtest(10, 34).pvalue)
    assert reading.errors.estimate == pytest.approx(10 / 24)


def test_everything_fell_and_nobody_is_praised():
    answer = build_reporting_answer(months((24, 10), (60, 25)))
    assert answer.verdict is Verdict.NOT_IDENTIFIABLE
    assert "fewer label errors prove nothing" in answer.sentence


def test_more_of_everything_is_not_called_a_rise_of_errors():
    assert read_reporting(months((10, 24), (25, 60))).story is Story.REPORTING_ROSE


def test_half_the_sets_with_half_the_errors_is_no_fall():
    found = months((24, 12), (60, 30))
    later = [ReportMonth(month=m.month, sets=250, reports=m.reports, errors=m.errors) for m in found[6:]]
    assert read_reporting([*found[:6], *later]).story is Story.NOTHING


@pytest.mark.parametrize("found", [[], months((1, 0), (3, 3)), months((24, 10), (60, 58), sets=0)])
def test_too_little_to_compare_is_too_few(found):
    answer = build_reporting_answer(found)
    assert answer.verdict is Verdict.TOO_FEW
    assert "needed" in answer.sentence


def test_no_other_report_at_all_leaves_reporting_unknown_but_answers():
    answer = build_reporting_answer(months((24, 10), (0, 0)))
    assert [figure.key for figure in answer.figures] == ["errors_ratio"]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (["2026-13", "1", "1", "1"], "no month such as"),
        (["2026-01", "5", "1", "2"], "more than all"),
        (["2026-01", "x", "1", "1"], "whole number"),
    ],
)
def test_a_wrong_row_is_named(row, words):
    with pytest.raises(FileProblem, match=words):
        parse_report_months([["month", "sets", "reports", "errors"], row], where="x")


def test_a_month_twice_is_named():
    rows = [["month", "sets", "reports", "errors"], ["2026-01", 5, 1, 1], ["2026-01", 5, 1, 1]]
    with pytest.raises(FileProblem, match="stands twice"):
        parse_report_months(rows, where="x")
