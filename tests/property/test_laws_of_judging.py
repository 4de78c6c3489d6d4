"""What must hold for any cultures under any charter, whoever counts."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.domain.charter import (
    Charter,
    Denominator,
    Population,
    Rule,
    SetClass,
    SolitaryCommensal,
    UnitOfCount,
)
from cubital.judge.counts import Scope
from cubital.judge.plain import judge_plainly
from cubital.judge.plain_counts import count_plainly
from judge_strategies import charters, worlds
from judge_worlds import World, make_set


def count(world, charter, scope=None):
    return count_plainly(
        world.sets, world.isolates, world.bottles, charter, scope=scope or Scope(), current_units=world.current_units()
    )


def total(months, name):
    return sum(getattr(month, name) for month in months)


@settings(max_examples=150)
@given(world=worlds(), charter=charters())
def test_classes_add_up_to_the_valid_sets_and_months_to_the_whole(world, charter):
    months = count(world, charter)
    verdicts = judge_plainly(world.sets, world.isolates, charter, current_units=world.current_units())
    assert sum(sum(month.classes.values()) for month in months) == len(verdicts)
    parts = [count(world, charter, Scope(facility=name)) for name in {one.facility for one in world.sets}]
    for name in ("numerator", "denominator", "sets", "episodes", "solitary"):
        assert total(months, name) == sum(total(part, name) for part in parts)


@settings(max_examples=150)
@given(world=worlds(), charter=charters())
def test_no_count_is_more_than_what_it_is_a_part_of(world, charter):
    for month in count(world, charter):
        assert 0 <= month.numerator <= month.denominator
        assert month.positives <= month.sets
        assert month.solitary + month.unpairable + month.eligible == month.sets
        assert month.solitary <= month.episodes or month.sets == 0
        assert sum(month.classes.values()) - month.of_class(SetClass.OUTSIDE) + month.solitary_excluded == month.sets


def everyone(hours):
    return Charter(key="all", name="all", population=Population.EVERYONE, window_hours=hours)


@settings(max_examples=150)
@given(world=worlds(), narrow=st.integers(1, 84), more=st.integers(0, 84))
def test_a_wider_window_never_makes_more_episodes(world, narrow, more):
    few, many = (total(count(world, everyone(hours)), "episodes") for hours in (narrow + more, narrow))
    assert few <= many


@settings(max_examples=150)
@given(world=worlds(), narrow=st.integers(1, 84), more=st.integers(0, 84))
def test_a_wider_window_never_parts_the_two_sets_of_a_patient(world, narrow, more):
    pairs = World(tuple(replace(one, patient_key=number // 2) for number, one in enumerate(world.sets)))
    eligible = [total(count(pairs, everyone(hours)), "eligible") for hours in (narrow, narrow + more)]
    assert eligible[0] <= eligible[1]


def test_a_wider_window_can_leave_the_last_of_several_sets_alone():
    # Ten hours apart each: two pairs within ten hours, but three and one within twenty. That is how series from the
    # first set on are, and why the window belongs into the charter.
    times = ("2026-03-01 00:00", "2026-03-01 10:00", "2026-03-01 20:00", "2026-03-02 06:00")
    world = World(tuple(make_set(number, when) for number, when in enumerate(times, start=1)))
    assert [total(count(world, everyone(hours)), "eligible") for hours in (10, 20)] == [4, 3]


@settings(max_examples=150)
@given(world=worlds(), charter=charters())
def test_any_commensal_counts_at_least_what_one_of_several_counts(world, charter):
    one = replace(charter, rule=Rule.ONE_OF_SEVERAL, unit_of_count=UnitOfCount.SET, denominator=Denominator.ALL_SETS)
    any_growth = replace(one, rule=Rule.ANY_COMMENSAL)
    assert total(count(world, any_growth), "numerator") >= total(count(world, one), "numerator")


@settings(max_examples=150)
@given(world=worlds(), charter=charters())
def test_counting_single_commensals_adds_exactly_those_set_apart(world, charter):
    apart = replace(
        charter,
        rule=Rule.ONE_OF_SEVERAL,
        solitary_commensal=SolitaryCommensal.SEPARATE,
        unit_of_count=UnitOfCount.SET,
        denominator=Denominator.ALL_SETS,
    )
    counted = replace(apart, solitary_commensal=SolitaryCommensal.COUNT)
    alone = sum(month.of_class(SetClass.SOLITARY_COMMENSAL) for month in count(world, apart))
    assert total(count(world, counted), "numerator") == total(count(world, apart), "numerator") + alone
    assert total(count(world, counted), "denominator") == total(count(world, apart), "denominator")


@settings(max_examples=150)
@given(world=worlds(), charter=charters())
def test_adults_and_children_leave_only_unknown_ages_counted_twice(world, charter):
    sets = {kind: total(count(world, replace(charter, population=kind)), "sets") for kind in Population}
    assert sets[Population.ADULTS] <= sets[Population.EVERYONE]
    assert sets[Population.CHILDREN] <= sets[Population.EVERYONE]
    assert sets[Population.ADULTS] + sets[Population.CHILDREN] >= sets[Population.EVERYONE]
