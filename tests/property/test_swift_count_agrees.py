"""The short way to rates over many years finds what judging every set with its whole series finds."""

from __future__ import annotations

from dataclasses import replace
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.domain.charter import Charter, Window
from cubital.engine import open_session
from cubital.judge import swift
from cubital.judge.api import Scope, count_months, count_rates
from cubital.judge.plain import judge_plainly
from cubital.judge.swift import is_swift
from judge_strategies import chains, charters, worlds
from judge_worlds import fill_session, side_by_side


@pytest.fixture(scope="module")
def session():
    with open_session(threads=1) as opened:
        yield opened


WORLDS_AT_ONCE = 5
SCOPES = (Scope(), Scope(), Scope(from_month="2026-03"), Scope(facility="Marrowby General 1", unit="5w"))


@settings(max_examples=60)
@given(
    several=st.lists(worlds(), min_size=WORLDS_AT_ONCE, max_size=WORLDS_AT_ONCE),
    charter=charters().filter(is_swift),
    scope=st.sampled_from(SCOPES),
)
def test_the_swift_count_is_the_whole_count_without_series(session, several, charter, scope):
    fill_session(session, side_by_side(several))
    whole = count_months(session, charter, scope=scope, by="unit")
    bare = [replace(one, unpairable=None, solitary=None, episodes=None, eligible=None) for one in whole]
    assert list(count_rates(session, charter, scope=scope, by="unit")) == bare


@settings(max_examples=150)
@given(
    several=st.lists(chains(), min_size=WORLDS_AT_ONCE, max_size=WORLDS_AT_ONCE),
    window=st.sampled_from(Window),
    hours=st.sampled_from((12, 24, 48)),
    look_back=st.sampled_from((2, 5, swift.LOOK_BACK)),
)
def test_the_swift_count_finds_every_verdict_in_long_chains(session, several, window, hours, look_back):
    world = side_by_side(several)
    charter = Charter(key="chain", name="chain", window=window, window_hours=hours)
    fill_session(session, world)
    with patch.object(swift, "LOOK_BACK", look_back):
        count_rates(session, charter)
    plain = judge_plainly(world.sets, world.isolates, charter)
    found = session.rows("select set_id, set_class, reason from verdicts")
    grown = {isolate.set_id for isolate in world.isolates}
    assert {set_id: tuple(rest) for set_id, *rest in found} == {
        set_id: (verdict.set_class, verdict.reason) for set_id, verdict in plain.items() if set_id in grown
    }
