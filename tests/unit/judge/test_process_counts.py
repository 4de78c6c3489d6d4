"""Bottles, times, collectors and fill as the judge counts them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from cubital.domain.charter import Charter, Population, SetClass
from cubital.domain.cultures import AgeGroup, Attribution, Bottle, BottleKind, SetStatus, TimeQuality
from cubital.domain.errors import RequestProblem
from cubital.engine import open_session
from cubital.judge.api import Scope, count_months, count_process, count_rates, judged_sets
from cubital.judge.counts import ProcessLimits
from cubital.judge.swift import prepare_swiftly
from judge_worlds import World, fill_session, make_isolate, make_set

CHARTER = Charter(key="usual", name="usual", population=Population.ADULTS)


def count(world, **options):
    with open_session(threads=1) as session:
        fill_session(session, world)
        (found,) = count_process(session, CHARTER, **options)
        return found


def received(set_id, minutes, **changes):
    at = datetime.fromisoformat("2026-03-01 10:00")
    return make_set(set_id, at, received_at=at + timedelta(minutes=minutes), **changes)


def bottles(set_id, *kinds, fill=None):
    return [Bottle(set_id=set_id, bottle=n, kind=kind, fill_ml=fill) for n, kind in enumerate(kinds, start=1)]


def test_times_that_run_backwards_or_are_no_times_are_unknown():
    found = count(
        World(
            (
                received(1, 60),
                received(2, -30, time_quality=TimeQuality.AFTER_RECEIPT),
                received(3, -10, time_quality=TimeQuality.AMBIGUOUS_HOUR),
                received(4, 30, time_quality=TimeQuality.AMBIGUOUS_HOUR),
                received(5, 500, time_quality=TimeQuality.DATE_ONLY),
                make_set(6, None, day=date(2026, 3, 1), month="2026-03"),
                make_set(7),
            )
        )
    )
    assert (found.sets, found.timed, found.median_minutes) == (7, 2, 45.0)


def test_late_is_more_than_the_limit_and_not_equal_to_it():
    world = World((received(1, 120), received(2, 121), received(3, 240), received(4, 241)))
    found = count(world)
    assert (found.late, found.very_late) == (3, 1)
    assert count(world, limits=ProcessLimits(late_minutes=121, very_late_minutes=300)).late == 2


def test_a_set_is_complete_with_both_bottles_or_a_paediatric_one():
    kinds = (
        (BottleKind.AEROBIC, BottleKind.ANAEROBIC),
        (BottleKind.PAEDIATRIC,),
        (BottleKind.AEROBIC, BottleKind.AEROBIC),
        (BottleKind.ANAEROBIC, BottleKind.OTHER),
        (BottleKind.OTHER,),
        (),
    )
    some = [bottle for set_id, kind in enumerate(kinds, start=1) for bottle in bottles(set_id, *kind)]
    world = World(tuple(make_set(set_id) for set_id in range(1, 7)), (), tuple(some))
    found = count(world)
    assert (found.bottle_complete, found.bottle_measurable, found.sets) == (2, 4, 6)
    with open_session(threads=1) as session:
        fill_session(session, world)
        assert [one.bottles_complete for one in judged_sets(session, CHARTER)] == [True, True, False, False, None, None]


def test_collectors_are_counted_over_every_valid_set_and_c_is_not_usable():
    child = {"age_group": AgeGroup.UNDER_1}
    world = World(
        (
            make_set(1, attribution=Attribution.BADGE),
            make_set(2, attribution=Attribution.ROSTER_OR_INITIALS, **child),
            make_set(3, attribution=Attribution.INFERRED),
            make_set(4),
            make_set(5, attribution=Attribution.BADGE, status=SetStatus.CANCELLED),
            make_set(6, facility="Thistlecombe Community"),
        )
    )
    found = count(world)
    assert (found.attributed, found.collector_measurable, found.collector_sets, found.sets) == (2, 4, 5, 4)


def test_fill_is_counted_per_measured_bottle_of_the_population():
    some = [
        *bottles(1, BottleKind.AEROBIC, BottleKind.ANAEROBIC, fill=6.0),
        *bottles(2, BottleKind.AEROBIC, fill=9.0),
        *bottles(3, BottleKind.AEROBIC, fill=11.0),
        *bottles(4, BottleKind.PAEDIATRIC, fill=1.0),
        *bottles(5, BottleKind.AEROBIC),
    ]
    sets = [make_set(number) for number in range(1, 6)]
    sets[3] = replace(sets[3], age_group=AgeGroup.UNDER_1)
    found = count(World(tuple(sets), (), tuple(some)), limits=ProcessLimits(fill_low_ml=8, fill_high_ml=10))
    assert (found.fills, found.fill_median_ml, found.fills_low, found.fills_high) == (4, 7.5, 2, 1)
    assert count(World(tuple(sets), (), tuple(some))).fills_low is None


def test_a_pair_across_the_end_of_a_month_stays_a_pair():
    world = World(
        (make_set(1, "2026-02-28 23:50"), make_set(2, "2026-03-01 00:10")),
        (make_isolate(2, "staphylococcus-epidermidis"),),
    )
    with open_session(threads=1) as session:
        fill_session(session, world)
        (march,) = count_months(session, CHARTER, scope=Scope(from_month="2026-03", to_month="2026-03"))
        assert (march.numerator, march.denominator, march.solitary, march.episodes) == (1, 1, 0, 0)
        (february,) = count_months(session, CHARTER, scope=Scope(to_month="2026-02"))
        assert (february.numerator, february.denominator, february.episodes) == (0, 1, 1)


def test_without_a_month_nothing_is_counted_and_nothing_breaks():
    with open_session(threads=1) as session:
        fill_session(session, World(()))
        assert count_months(session, CHARTER) == ()
        assert count_rates(session, CHARTER) == ()
        assert count_process(session, CHARTER) == ()
        assert judged_sets(session, CHARTER) == ()


def test_names_of_units_with_braces_and_quotes_do_no_harm():
    unit = 'o\'neill {x} "y"'
    world = World((make_set(1, unit_key=unit), make_set(2)), (make_isolate(1, "staphylococcus-epidermidis"),))
    with open_session(threads=1) as session:
        fill_session(session, world)
        scope = Scope(unit=unit)
        (found,) = count_rates(session, CHARTER, scope=scope, by="unit")
        assert (found.unit, found.numerator, found.sets) == (unit, 1, 1)
        excluding = replace(CHARTER, excluded_units=(unit,))
        (found,) = count_months(session, excluding, scope=scope, by="unit")
        assert found.of_class(SetClass.OUTSIDE) == 1


def test_judged_sets_can_be_chosen_and_limited():
    world = World(tuple(make_set(number) for number in range(1, 6)), (make_isolate(3, "escherichia-coli"),))
    with open_session(threads=1) as session:
        fill_session(session, world)
        assert [one.set_id for one in judged_sets(session, CHARTER, classes=[SetClass.PATHOGEN])] == [3]
        assert [one.set_id for one in judged_sets(session, CHARTER, limit=2)] == [1, 2]
        assert judged_sets(session, CHARTER, classes=[]) == ()


def test_a_session_without_unit_names_is_judged_too():
    with open_session(threads=1) as session:
        fill_session(session, World((make_set(1),)))
        session.do("drop table unit_names")
        (found,) = count_months(session, CHARTER, by="unit")
        assert (found.unit, found.unit_name) == ("ed", "ed")


def test_a_charter_that_needs_every_series_has_no_short_way():
    with open_session(threads=1) as session, pytest.raises(ValueError, match="every set"):
        prepare_swiftly(session, replace(CHARTER, unit_of_count="patient"), scope=Scope())


@pytest.mark.parametrize("month", ["2026-13", "2026", "march", "2026-1"])
def test_a_month_that_is_none_is_refused_with_the_right_shape(month):
    with pytest.raises(RequestProblem, match="2026-03"):
        Scope(from_month=month)


def test_months_the_wrong_way_round_are_refused():
    with pytest.raises(RequestProblem, match="after the last month"):
        Scope(from_month="2026-03", to_month="2026-02")
