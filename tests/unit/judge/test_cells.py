"""Counts split by place, person and hour add up to the month's counts and put every set into one cell."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given

from cubital.domain.cultures import Attribution, TimeQuality
from cubital.domain.errors import RequestProblem
from cubital.engine import open_session
from cubital.judge.api import count_months
from cubital.judge.cells import Dimension, count_cells
from cubital.reference.charters import published_charters
from judge_strategies import worlds
from judge_worlds import World, fill_session, make_isolate, make_set

CHARTER = published_charters()["a_one_of_several_all_sets"]
CHARTER_D = published_charters()["d_any_commensal"]


def cells_of(world, *by, charter=CHARTER):
    with open_session(threads=1) as session:
        fill_session(session, world)
        return count_cells(session, charter, by=by)


def test_two_people_and_a_blank_are_three_cells():
    sets = (
        make_set(1, "2026-03-02 10:00", collector_key="c-1", attribution=Attribution.BADGE),
        make_set(2, "2026-03-02 10:20", collector_key="c-2", attribution=Attribution.BADGE),
        make_set(3, "2026-03-09 23:00"),
    )
    cells = cells_of(World(sets, (make_isolate(1, "staphylococcus-epidermidis"),)), Dimension.COLLECTOR)
    found = dict(
        zip(cells.keys[Dimension.COLLECTOR], zip(cells.numerator, cells.denominator, strict=True), strict=True)
    )
    assert found == {"c-1": (1, 1), "c-2": (0, 1), None: (0, 1)}


def test_a_monday_morning_has_its_weekday_and_hour():
    cells = cells_of(World((make_set(1, "2026-03-02 10:59"),)), Dimension.WEEKDAY, Dimension.HOUR)
    assert (cells.keys[Dimension.WEEKDAY], cells.keys[Dimension.HOUR]) == ((1,), (10,))


def test_a_set_with_a_date_alone_has_no_hour():
    dated = make_set(1, "2026-03-02 00:00", time_quality=TimeQuality.DATE_ONLY)
    assert cells_of(World((dated,)), Dimension.HOUR).keys[Dimension.HOUR] == (None,)


def test_no_sets_make_no_cells():
    assert len(cells_of(World(()), Dimension.UNIT)) == 0


def test_a_charter_of_patients_is_refused():
    charter = next(one for one in published_charters().values() if one.unit_of_count != "set")
    with pytest.raises(RequestProblem, match="does not count sets"):
        cells_of(World((make_set(1),)), Dimension.UNIT, charter=charter)


@given(worlds())
def test_cells_add_up_to_the_months(world):
    with open_session(threads=1) as session:
        fill_session(session, world)
        for charter in (CHARTER, CHARTER_D):
            months = count_months(session, charter)
            cells = count_cells(
                session, charter, by=(Dimension.MONTH, Dimension.UNIT, Dimension.HOUR, Dimension.COLLECTOR)
            )
            assert cells.numerator.sum() == sum(month.numerator for month in months)
            assert cells.denominator.sum() == sum(month.denominator for month in months)
            assert cells.sets.sum() == sum(month.sets for month in months)
            assert cells.positives.sum() == sum(month.positives for month in months)


@given(worlds())
def test_hours_counted_together_are_the_sum_of_the_hours(world):
    """Every hour stands for 7 or 19, Monday to Friday for Monday; the clockless stay apart."""
    hours = {hour: 7 if 7 <= hour < 19 else 19 for hour in range(24)}
    together = {Dimension.HOUR: hours, Dimension.WEEKDAY: {day: 1 if day < 6 else 6 for day in range(1, 8)}}
    by = (Dimension.UNIT, Dimension.WEEKDAY, Dimension.HOUR)
    with open_session(threads=1) as session:
        fill_session(session, world)
        alone = count_cells(session, CHARTER, by=by)
        joined = count_cells(session, CHARTER, by=by, judge=False, together=together)
    added = Counter()
    for unit, day, hour, *counts in columns_of(alone):
        key = unit, together[Dimension.WEEKDAY].get(day), hours.get(hour)
        added.update({(*key, place): count for place, count in enumerate(counts)})
    found = {(*row[:3], place): count for row in columns_of(joined) for place, count in enumerate(row[3:])}
    assert found == dict(added)


def columns_of(cells):
    return zip(*cells.keys.values(), *(
        part.tolist() for part in (cells.numerator, cells.denominator, cells.sets, cells.positives)
    ), strict=True)  # fmt: skip


def test_only_hours_and_weekdays_are_counted_together():
    with open_session(threads=1) as session:
        fill_session(session, World((make_set(1),)))
        with pytest.raises(ValueError, match="only hours and weekdays"):
            count_cells(session, CHARTER, by=(Dimension.UNIT,), together={Dimension.UNIT: {1: 1}})
