"""No hidden small count can be worked out again, by exact attack; and no cheaper choice would do, by trying them all.

The attack and the search are independent of the guard: whole-number programmes for every hidden cell, and brute force
over every choice of cells in small tables. Thresholds are the site's; 1 to 4 is the example of the job's description.
"""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.indicators.disclosure.guard import Before, guard
from cubital.indicators.disclosure.reader import attack
from cubital.indicators.disclosure.tables import CountTable, SmallCounts, Sum

LIMITS = SmallCounts(low=1, high=4)


def two_way(rows, weights=None):
    """Rows of counts with their totals to the right and below."""
    width = len(rows[0])
    counts = {(r, c): value for r, row in enumerate(rows) for c, value in enumerate(row)}
    counts |= {(r, "all"): sum(row) for r, row in enumerate(rows)}
    counts |= {("all", c): sum(row[c] for row in rows) for c in range(width)}
    counts["all", "all"] = sum(map(sum, rows))
    right = [Sum(total=(r, "all"), parts=tuple((r, c) for c in range(width))) for r in (*range(len(rows)), "all")]
    below = [Sum(total=("all", c), parts=tuple((r, c) for r in range(len(rows)))) for c in (*range(width), "all")]
    return CountTable(counts=counts, sums=(*right, *below), weights=weights or {})


def is_safe(table, hidden, limits=LIMITS):
    known = attack(table, hidden)
    return all(
        known[cell].least <= limits.low and known[cell].most >= min(limits.high, table.most.get(cell, limits.high))
        for cell in limits.among(table)
    )


def quarter():
    """Three hospitals; a children's step-down unit with 2 of 18 beside an infant unit with 0 of 24."""
    units = {"M": {"emergency": 57, "icu": 8, "wards": 31}, "T": {"emergency": 24, "medical": 11},
             "O": {"infant": 0, "stepdown": 2}}  # fmt: skip
    counts = {(h, u): n for h, held in units.items() for u, n in held.items()}
    counts |= {(h, "all"): sum(held.values()) for h, held in units.items()}
    counts["all"] = sum(sum(held.values()) for held in units.values())
    sums = [Sum(total=(h, "all"), parts=tuple((h, u) for u in held)) for h, held in units.items()]
    sums.append(Sum(total="all", parts=tuple((h, "all") for h in units)))
    weights = {"all": 100.0} | {(h, "all"): 10.0 for h in units}
    most = {("O", "infant"): 24, ("O", "stepdown"): 18, ("O", "all"): 42}
    return CountTable(counts=counts, sums=tuple(sums), weights=weights, most=most)


def test_the_step_down_units_two_cannot_be_subtracted_back():
    table = quarter()
    found = guard(table, LIMITS)
    assert found.small == {("O", "stepdown"), ("O", "all")}
    assert found.shown["all"] == 133
    assert is_safe(table, found.hidden)
    assert not is_safe(table, found.small)  # hiding the small counts alone would not do


def test_a_table_without_small_counts_is_shown_whole():
    found = guard(two_way([[10, 12], [0, 9]]), LIMITS)
    assert not found.hidden
    assert all(count is not None for count in found.shown.values())


def test_one_small_cell_takes_three_shields_in_a_two_way_table():
    """A classic: one hidden cell of a two-way table needs a rectangle of four (common practice, no source)."""
    found = guard(two_way([[2, 20, 30], [40, 50, 60], [70, 80, 90]]), LIMITS)
    assert len(found.small) == 1
    assert len(found.shielding) == 3
    assert is_safe(two_way([[2, 20, 30], [40, 50, 60], [70, 80, 90]]), found.hidden)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(st.integers(0, 12), min_size=3, max_size=3), min_size=2, max_size=4))
def test_any_two_way_table_withstands_the_attack(rows):
    table = two_way(rows)
    found = guard(table, LIMITS)
    assert not found.exposed
    assert is_safe(table, found.hidden)
    assert all(table.counts[cell] == count for cell, count in found.shown.items() if count is not None)


@settings(max_examples=12, deadline=None)
@given(st.lists(st.lists(st.integers(0, 9), min_size=2, max_size=2), min_size=2, max_size=2))
def test_no_smaller_choice_would_have_been_safe(rows):
    table = two_way(rows)
    found = guard(table, LIMITS)
    small = LIMITS.among(table)
    others = [cell for cell in table.counts if cell not in small]
    fewer = (set(extra) for size in range(len(found.shielding)) for extra in combinations(others, size))
    assert not any(is_safe(table, small | extra) for extra in fewer)


def test_the_second_report_does_not_give_the_first_away():
    """January alone hid A and B; the quarter without thought would show B's January again. Known cells stay known."""
    first = CountTable(
        counts={"A": 3, "B": 9, "C": 20, "AB": 12, "ABC": 32},
        sums=(Sum(total="AB", parts=("A", "B")), Sum(total="ABC", parts=("AB", "C"))),
    )
    left = guard(first, LIMITS)
    assert is_safe(first, left.hidden)
    second = CountTable(counts={"B": 9, "C": 20, "BC": 29}, sums=(Sum(total="BC", parts=("B", "C")),))
    found = guard(second, LIMITS, before=[Before(table=first, hidden=left.hidden)])
    whole = first.joined(second)
    hidden = (left.hidden | found.hidden) - {cell for cell, count in found.shown.items() if count is not None}
    assert not found.exposed
    assert is_safe(whole, hidden - (frozenset(first.counts) - left.hidden))


def test_what_was_given_away_before_is_said():
    shown_whole = CountTable(counts={"A": 3, "B": 9, "AB": 12}, sums=(Sum(total="AB", parts=("A", "B")),))
    careless = Before(table=shown_whole, hidden=frozenset({"A"}))
    found = guard(CountTable(counts={"A": 3}), LIMITS, before=[careless])
    assert found.exposed == {"A"}


def test_a_count_that_can_be_no_larger_is_asked_for_no_more():
    """Two sets, one contaminated: everybody knows it is at most 2, and 0 to 2 is all that can be kept open."""
    table = CountTable(counts={"a": 1, "b": 30, "all": 31}, sums=(Sum(total="all", parts=("a", "b")),), most={"a": 2})
    found = guard(table, LIMITS)
    assert len(found.shielding) == 1
    assert attack(table, found.hidden)["a"].most == 2


@pytest.mark.parametrize("counts", [{"a": 1, "all": 3}, {"a": -1, "all": -1}])
def test_tables_that_do_not_add_up_are_refused(counts):
    with pytest.raises(ValueError, match=r"sum|possible"):
        CountTable(counts=counts, sums=(Sum(total="all", parts=("a",)),))


def test_limits_that_are_no_range_are_refused():
    with pytest.raises(ValueError, match="range"):
        SmallCounts(low=5, high=4)
