"""Series that begin long before a suspect: the short way notices and looks the whole patient up."""

from __future__ import annotations

from datetime import datetime, timedelta
from unittest.mock import patch

import pytest

from cubital.domain.charter import Charter
from cubital.engine import open_session
from cubital.judge import swift
from cubital.judge.api import count_rates
from judge_worlds import World, fill_session, make_isolate, make_set

FIRST = datetime.fromisoformat("2026-03-01 00:00")


@pytest.mark.parametrize(("sets", "verdict"), [(10, "contaminated"), (9, "solitary_commensal")])
def test_the_last_of_many_sets_twenty_hours_apart_is_cut_from_the_first(sets, verdict):
    # Pairs from the first set on: the tenth has a partner, the ninth has none. Two windows back would show three sets.
    chain = [make_set(number, FIRST + timedelta(hours=20 * number)) for number in range(1, sets + 1)]
    with open_session(threads=1) as session, patch.object(swift, "LOOK_BACK", 2):
        fill_session(session, World(tuple(chain), (make_isolate(sets, "staphylococcus-epidermidis"),)))
        count_rates(session, Charter(key="chain", name="chain"))
        assert session.rows("select set_class from verdicts") == [(verdict,)]
