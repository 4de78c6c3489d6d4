"""Hours that a clock change repeats, in files that state the offset from UTC: nothing has to be guessed there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from cubital.engine import Session, load_sql
from cubital.intake.clocks import DoubtfulTimes
from cubital.intake.parsing import MomentPlans

_MOMENTS = ("collected", "received")


def stated_instants(moments: MomentPlans) -> Mapping[str, str]:
    """The SQL of collection and receipt in UTC over ``staged``; empty for a file without columns of offsets."""
    if not moments.offsets:
        return {}
    return {name: moments.instant(name) if name in moments.offsets else "null::timestamp" for name in _MOMENTS}


def add_stated_hours(session: Session, stated: Mapping[str, str]) -> None:
    """The table ``stated_hours(row_set, collected_at, received_at)`` for the unsettled sets, null where not stated."""
    session.do(load_sql("cubital.intake", "stated_hours").format(**stated))


def settle_stated(session: Session, doubtful: Sequence[DoubtfulTimes]) -> list[DoubtfulTimes]:
    """The doubtful times with what is stated taken as it stands, no longer as one of two."""
    known = {row[0]: (row[1], row[2]) for row in session.rows("select * from stated_hours")}
    return [_with_stated(times, *known.get(times.row_set, (None, None))) for times in doubtful]


def _with_stated(times: DoubtfulTimes, collected: datetime | None, received: datetime | None) -> DoubtfulTimes:
    if collected is not None:
        times = replace(times, collected_at=collected, collected_twice=False)
    return times if received is None else replace(times, received_at=received, received_twice=False)
