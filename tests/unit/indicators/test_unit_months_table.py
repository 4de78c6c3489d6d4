"""The table of units by month: which totals stand in it, and that they add up. Spans are the calendar's."""

from __future__ import annotations

from cubital.indicators.disclosure.guard import guard
from cubital.indicators.disclosure.tables import CountTable, SmallCounts, Sum
from cubital.indicators.disclosure.unit_months import CountKey, UnitMonth, build_unit_table, longer_spans, only_measures

QUARTER = ("2026-01", "2026-02", "2026-03")


def row(facility, unit, month, count, sets=50):
    return UnitMonth(facility=facility, unit=unit, month=month, counts={"c": count}, most={"c": sets})


def value(table, facility, unit, span):
    found = [cell for cell in table.counts if cell.base == ("c", "d", facility, unit, span)]
    assert len(found) == 1
    return found[0].value


def test_only_whole_quarters_and_years_are_totals():
    assert [span.name for span in longer_spans(QUARTER)] == ["2026-Q1"]
    assert longer_spans(("2026-01", "2026-03")) == ()
    year = [f"2026-{number:02d}" for number in range(1, 13)]
    assert [span.name for span in longer_spans(year)] == ["2026-Q1", "2026-Q2", "2026-Q3", "2026-Q4", "2026"]


def test_every_total_is_there_and_adds_up():
    rows = [row("A", "x", "2026-01", 7), row("A", "y", "2026-01", 1), row("B", "z", "2026-02", 9)]
    table = build_unit_table(rows, definition="d", months=QUARTER, spans=longer_spans(QUARTER))
    assert value(table, "A", None, "2026-01") == 8
    assert value(table, "A", "y", "2026-02") == 0
    assert value(table, "", None, "2026-Q1") == 17
    assert len(table.counts) == (3 + 2 + 1) * 4
    assert len(table.sums) == 3 * 4 + 6  # per whole place and span; per place its quarter


def test_one_hospital_has_no_network_beside_it():
    table = build_unit_table([row("A", "x", "2026-01", 7)], definition="d", months=("2026-01",), spans=())
    assert {cell.facility for cell in table.counts} == {"A"}


def test_a_restated_count_is_another_cell():
    old, new = (CountKey("c", "d", "A", "x", "2026-01", count) for count in (7, 8))
    assert old != new
    assert old.base == new.base


def test_measures_can_be_left_out():
    rows = [UnitMonth(facility="A", unit="x", month="2026-01", counts={"c": 1, "o": 2}, most={"c": 9, "o": 9})]
    assert only_measures(rows, ("o",))[0].counts == {"o": 2}


def test_parts_without_a_sum_between_them_are_guarded_apart():
    tied = CountTable(counts={"a": 2, "b": 9, "ab": 11, "c": 3}, sums=(Sum(total="ab", parts=("a", "b")),))
    parts = sorted(tuple(sorted(part.counts)) for part in tied.separate())
    assert parts == [("a", "ab", "b"), ("c",)]
    assert guard(tied, SmallCounts()).small == {"a", "c"}


def test_the_lower_of_two_published_ceilings_counts():
    first, second = CountTable(counts={"a": 2}, most={"a": 9}), CountTable(counts={"a": 2}, most={"a": 5})
    assert first.joined(second).most == {"a": 5} == second.joined(first).most
