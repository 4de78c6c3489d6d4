"""Decisions about sets that came after their results: both judges and the short way find the same."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.domain.decisions import Decision, decided_key
from cubital.domain.tables import SET_FACTS
from cubital.engine import open_session
from cubital.judge.api import count_months, count_rates
from cubital.judge.plain import judge_plainly
from cubital.judge.preparing import DECISIONS
from cubital.judge.swift import is_swift
from judge_strategies import charters, worlds
from judge_worlds import fill_session


@pytest.fixture(scope="module")
def session():
    with open_session(threads=1) as opened:
        yield opened


@st.composite
def decided_worlds(draw):
    world = draw(worlds())
    said = {one.set_id: draw(st.sampled_from([None, *Decision])) for one in world.sets}
    return world, {set_id: decision for set_id, decision in said.items() if decision}


def fill(session, world, decisions):
    session.do("drop table if exists set_isolates")
    fill_session(session, world)
    places = {one.set_id: (one.facility, one.accession) for one in world.sets}
    session.add_rows("decisions", DECISIONS, [(*places[set_id], said) for set_id, said in decisions.items()])


def plainly(world, decisions, charter):
    """The readable judge, given the isolates with the decisions written into their keys."""
    marked = [
        replace(one, organism_key=decided_key(one.organism_key, decisions[one.set_id]))
        if one.set_id in decisions else one
        for one in world.isolates
    ]  # fmt: skip
    return judge_plainly(world.sets, marked, charter, current_units=world.current_units())


@settings(max_examples=100)
@given(both=decided_worlds(), charter=charters())
def test_both_judges_follow_a_decision(session, both, charter):
    world, decisions = both
    fill(session, world, decisions)
    count_months(session, charter)
    found = {row[0]: row[1:] for row in session.rows("select set_id, set_class, reason from judged_sets")}
    plain = plainly(world, decisions, charter)
    assert found == {set_id: (one.set_class, one.reason) for set_id, one in plain.items()}


@settings(max_examples=60)
@given(both=decided_worlds(), charter=charters().filter(is_swift), stored=st.booleans())
def test_the_short_way_follows_a_decision(session, both, charter, stored):
    world, decisions = both
    fill(session, world, decisions)
    whole = count_months(session, charter, by="unit")
    if stored:
        store_facts(session)
    bare = [replace(one, unpairable=None, solitary=None, episodes=None, eligible=None) for one in whole]
    assert list(count_rates(session, charter, by="unit")) == bare


def store_facts(session):
    """Isolates as they are stored, with the facts of their sets and before anybody decided anything."""
    facts = ", ".join(f"s.{name}" for name in SET_FACTS)
    session.do(
        f"""create or replace table set_isolates as
        select i.set_id, i.organism_key, i.negated,
            not i.negated and row_number() over (partition by i.set_id order by i.negated, i.organism_key) = 1 as leads,
            coalesce(min(case when not i.negated then i.organism_key end) over (partition by i.set_id)
                <> max(case when not i.negated then i.organism_key end) over (partition by i.set_id), false) as mixed,
            {facts}
        from isolates i join sets s on s.set_id = i.set_id"""
    )


def test_a_decision_about_no_set_of_these_changes_nothing(session):
    fill_session(session, worlds_example())
    session.add_rows("decisions", DECISIONS, [("Elsewhere", "1", Decision.SIGNIFICANT)])
    from cubital.domain.charter import Charter

    charter = Charter(key="plain", name="plain")
    with_stray = count_months(session, charter)
    session.add_rows("decisions", DECISIONS, [])
    assert count_months(session, charter) == with_stray


def worlds_example():
    from judge_worlds import read_world

    return read_world(
        """
        set at          grew
        1   03-01T10:00 staphylococcus-epidermidis
        2   03-01T10:20 -
        """
    )[0]
