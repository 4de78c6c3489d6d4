"""The judge inside the engine and the readable one agree on a thousand random worlds; on more in ``make fuzz``."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.engine import open_session
from cubital.judge.api import Scope, count_months
from cubital.judge.plain import judge_plainly
from cubital.judge.plain_counts import count_plainly
from judge_strategies import chains, charters, worlds
from judge_worlds import fill_session, side_by_side


@pytest.fixture(scope="module")
def session():
    with open_session(threads=1) as opened:
        yield opened


def plain_counts(world, charter, scope):
    return count_plainly(
        world.sets, world.isolates, world.bottles, charter, scope=scope, current_units=world.current_units()
    )


SCOPES = (
    Scope(),
    Scope(),
    Scope(from_month="2026-02", to_month="2026-02"),
    Scope(from_month="2026-03"),
    Scope(facility="Thistlecombe Community 0"),
    Scope(facility="Marrowby General 1", unit="5w"),
    Scope(unit="ed"),
)


WORLDS_AT_ONCE = 5  # judged together, at hospitals of their own: 200 examples are 1,000 worlds
EXAMPLES = max(200, settings().max_examples // 20)


@settings(max_examples=EXAMPLES)
@given(
    several=st.lists(st.one_of(worlds(), worlds(), chains()), min_size=WORLDS_AT_ONCE, max_size=WORLDS_AT_ONCE),
    charter=charters(),
    scope=st.sampled_from(SCOPES),
)
def test_both_judges_agree_on_every_set_and_count(session, several, charter, scope):
    world = side_by_side(several)
    fill_session(session, world)
    assert count_months(session, charter, scope=scope, by="unit") == plain_counts(world, charter, scope)
    plain = judge_plainly(world.sets, world.isolates, charter, current_units=world.current_units())
    rows = session.rows("select set_id, set_class, reason, series_id, series_size, counted, inside from judged_sets")
    assert {row[0] for row in rows if row[-1]} == {
        one.set_id for one in world.sets if in_scope(one, plain, world, scope)
    }
    for set_id, *found, _inside in rows:
        verdict = plain[set_id]
        assert found == [
            verdict.set_class, verdict.reason, verdict.series_id, verdict.series_size, verdict.counted,
        ]  # fmt: skip


def in_scope(one, plain, world, scope):
    unit = world.current_units().get((one.facility, one.unit_key), one.unit_key)
    here = scope.facility in (None, one.facility) and scope.unit in (None, unit)
    return one.set_id in plain and here and scope.holds_month(one.month)
