"""The two engines on which every paragraph of this chapter runs."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest

from cubital.domain.charter import Charter
from cubital.engine import open_session
from cubital.judge.judging import judge_sets
from cubital.judge.plain import judge_plainly
from judge_worlds import World, fill_session

Judge = Callable[[World, Charter], dict[int, tuple[str, str]]]


def _judge_plainly(world: World, charter: Charter) -> dict[int, tuple[str, str]]:
    verdicts = judge_plainly(world.sets, world.isolates, charter, current_units=world.current_units())
    return {set_id: (verdict.set_class.value, verdict.reason.value) for set_id, verdict in verdicts.items()}


@pytest.fixture(scope="session")
def engine_judge() -> Iterator[Judge]:
    with open_session(threads=1) as session:

        def judge(world: World, charter: Charter) -> dict[int, tuple[str, str]]:
            fill_session(session, world)
            judge_sets(session, charter)
            return {key: (name, reason) for key, name, reason, _series in session.rows("select * from judged")}

        yield judge


@pytest.fixture(params=["plain", "engine"])
def judge(request: pytest.FixtureRequest, engine_judge: Judge) -> Judge:
    """The judge, once in plain Python and once inside the engine."""
    return _judge_plainly if request.param == "plain" else engine_judge
