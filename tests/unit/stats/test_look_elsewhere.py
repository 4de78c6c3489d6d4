"""The chance that at least one of many cells looks this unlikely, against brute force over every outcome."""

from __future__ import annotations

import itertools

import pytest
from scipy.stats import binom

from cubital.stats.look_elsewhere import chance_of_any_cell, chance_reached


def test_it_equals_the_sum_over_every_outcome_of_three_small_cells():
    # brute force: 3 cells of 4, 6 and 9 sets; scipy.stats.binom is the general-purpose reference
    sizes, rates, level = (4, 6, 9), (0.1, 0.2, 0.05), 0.06
    total = 0.0
    for outcome in itertools.product(*(range(n + 1) for n in sizes)):
        tails = [binom.sf(x - 1, n, p) for x, n, p in zip(outcome, sizes, rates, strict=True)]
        if min(tails) <= level:
            chance = 1.0
            for x, n, p in zip(outcome, sizes, rates, strict=True):
                chance *= binom.pmf(x, n, p)
            total += chance
    assert chance_of_any_cell(level, sizes, rates=rates) == pytest.approx(total, rel=1e-9)


def test_many_like_cells_follow_the_plain_formula():
    tail = float(binom.sf(18, 498, 289 / 11_142))
    assert chance_of_any_cell(tail, [498] * 12, rates=[289 / 11_142] * 12) == pytest.approx(1 - (1 - tail) ** 12)


def test_a_cell_reaches_at_most_the_level_because_counts_come_whole():
    assert chance_reached(0.05, 20, rate=0.1) == pytest.approx(binom.sf(4, 20, 0.1))


def test_a_cell_without_sets_reaches_nothing():
    assert chance_reached(0.05, 0, rate=0.1) == 0.0
    assert chance_of_any_cell(0.05, [0, 0], rates=[0.1, 0.1]) == 0.0
