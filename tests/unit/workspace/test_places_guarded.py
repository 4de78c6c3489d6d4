"""The tables that places are shown in, attacked by subtraction: no hidden small count can be worked out."""

from __future__ import annotations

import numpy as np
import pytest

from cubital.answers.places_reading import PlaceCount
from cubital.indicators.disclosure.guard import guard
from cubital.indicators.disclosure.reader import attack
from cubital.indicators.disclosure.tables import SmallCounts
from cubital.workspace.places_answers import build_place_table
from cubital.workspace.places_gathering import shift_of

LIMITS = SmallCounts(low=1, high=4)


def counts_of(pairs):
    return [PlaceCount(key=str(key), name=str(key), sets=n, contaminated=x) for key, (x, n) in enumerate(pairs)]


@pytest.mark.parametrize("seed", range(4))
def test_no_small_count_of_a_place_can_be_worked_out(seed):
    random = np.random.default_rng(seed)
    pairs = [(int(random.integers(0, min(n, 12) + 1)), int(n)) for n in random.integers(1, 400, size=15)]
    table = build_place_table(counts_of(pairs))
    guarded = guard(table, LIMITS)
    ranges = attack(table, guarded.hidden)
    for cell in guarded.small:
        low, high = ranges[cell].least, ranges[cell].most
        assert low < high, f"{cell} can only be {low}"


def test_one_small_place_takes_a_small_neighbour_with_it():
    """The shield is the cheapest neighbour: the large ones keep their counts."""
    guarded = guard(build_place_table(counts_of([(2, 240), (60, 960), (9, 600), (40, 500)])), LIMITS)
    assert guarded.shown["contaminated", "0"] is None
    assert guarded.shown["contaminated", "2"] is None
    assert guarded.shown["contaminated", "1"] == 60
    assert guarded.shown["contaminated", "total"] == 111


@pytest.mark.parametrize(("hour", "shift"), [(7, "07-15"), (14, "07-15"), (15, "15-23"), (23, "23-07"), (6, "23-07"),
                                             (0, "23-07"), (None, "?")])  # fmt: skip
def test_every_hour_belongs_to_a_shift(hour, shift):
    assert shift_of(hour) == shift
