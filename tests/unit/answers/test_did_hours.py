"""The same roles in the same hours. The counts are invented; their sums stand beside them."""

from __future__ import annotations

import pytest

from cubital.answers.did_hours import HourRow, match_hours, role_hours

DAY = range(7, 19)


def rows():
    """Phlebotomists 07 to 19 only, since: 12 · 100 sets, 24 contaminated. Nurses round the clock: 3 of 100 by day,
    6 of 100 at night, before and since.
    """
    found = [HourRow(role="phlebotomist", hour=h, after=True, sets=100, contaminated=2) for h in DAY]
    for after in (False, True):
        found += [
            HourRow(role="nurse", hour=h, after=after, sets=100, contaminated=3 if h in DAY else 6) for h in range(24)
        ]
    return found


def test_the_hours_of_a_role_are_its_shortest_run():
    hours = role_hours(rows(), "phlebotomist")
    assert (hours.words, hours.share) == ("07:00–19:00", 1.0)
    assert role_hours(rows(), "nurse").length >= 22
    night = [HourRow(role="n", hour=h, after=True, sets=10, contaminated=0) for h in (22, 23, 0, 1, 2)]
    assert role_hours(night, "n").words == "22:00–03:00"


def test_only_the_same_hours_are_compared():
    found = match_hours(rows(), unknown=7)
    assert "drawn 07:00–19:00 (100 % of them)" in found.words
    assert "7 sets have no role or no hour" in found.words
    assert found.table.rows == (
        ("nurse", "before", 1200, 36, 3.0), ("nurse", "since", 1200, 36, 3.0),
        ("phlebotomist", "since", 1200, 24, 2.0),
    )  # fmt: skip
    # Every hour has 2 of 100 against 3 of 100: the odds ratio over all hours is (2/98)/(3/97).
    assert found.ratio.odds_ratio.estimate == pytest.approx((2 / 98) / (3 / 97), abs=1e-9)


def test_why_there_is_no_table_is_said():
    assert "fewer than two roles" in match_hours(rows()[:12], unknown=0).words
    nurses = [row for row in rows() if row.role == "nurse"]
    others = [HourRow(role="doctor", hour=row.hour, after=row.after, sets=5, contaminated=0) for row in nurses]
    found = match_hours([*nurses, *others], unknown=0)
    assert found.table is None
    assert "at all hours of the day" in found.words
