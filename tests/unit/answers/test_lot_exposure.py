"""With a lot and without it: counts, the exact chance, several lots at once.

Outside check: scipy.stats.fisher_exact (one-sided), the exact test of a 2 x 2 table.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from scipy.stats import fisher_exact

from cubital.answers.lots import LotStay, expose, exposure_words
from cubital.answers.odd_growths import Event
from cubital.judge.growths import DrawnDay

DAYS = [date(2026, 3, 1) + timedelta(days=n) for n in range(20)]
DRAWN = [
    DrawnDay(day=day, facility="M", unit=unit, unit_name=unit, sets=2) for day in DAYS for unit in ("ed", "icu", "5w")
]
FIVE = [
    Event(day=DAYS[n], facility="M", unit=unit)
    for n, unit in ((2, "ed"), (4, "icu"), (6, "ed"), (9, "icu"), (10, "ed"))
]


def stay(lot, unit="", first=DAYS[0], last=None, item="gauze"):
    return LotStay(item=item, lot=lot, facility="M", unit=unit, from_day=first, to_day=last)


def test_one_lot_in_two_units_is_one_row_with_the_exact_chance():
    (row,) = expose([stay("G", "ed"), stay("G", "icu")], FIVE, DRAWN)
    assert (row.exposed, row.exposed_sets, row.others, row.other_sets) == (5, 80, 0, 40)
    assert row.chance == pytest.approx(fisher_exact([[5, 75], [0, 40]], alternative="greater")[1])


def test_a_lot_is_exposed_from_its_first_to_its_last_day_both_included():
    (row,) = expose([stay("G", "ed", DAYS[2], DAYS[6])], FIVE, DRAWN)
    assert (row.exposed, row.exposed_sets) == (2, 10)


def test_a_lot_that_everybody_used_cannot_be_compared():
    (row,) = expose([stay("G")], FIVE, DRAWN)
    assert row.chance is None
    assert not row.stands_out


def test_a_lot_that_nobody_met_is_left_out():
    assert expose([stay("G", "theatre")], FIVE, DRAWN) == ()


def test_several_lots_are_judged_together_and_none_is_named_a_cause():
    alone = expose([stay("G", "ed", DAYS[2], DAYS[10])], FIVE, DRAWN)[0]
    rows = expose([stay("G", "ed", DAYS[2], DAYS[10]), stay("H", "5w"), stay("I", "icu")], FIVE, DRAWN)
    assert next(row for row in rows if row.lot == "G").chance == pytest.approx(3 * alone.chance)
    assert "cause" not in exposure_words(rows, total=5).replace("not cause", "")


def test_overlapping_stays_count_a_set_once():
    (row,) = expose([stay("G", "ed"), stay("G", "ed", DAYS[1])], FIVE, DRAWN)
    assert row.exposed_sets == 40


def test_no_register_says_that_supplies_cannot_be_compared():
    assert "No lot is noted" in exposure_words((), total=5)
