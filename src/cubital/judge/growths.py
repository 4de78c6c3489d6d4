"""What grew where and when, organism by organism: for clusters of organisms that are usually rare.

No charter is asked: a cluster in the laboratory's gauze shows in sets of every class.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from cubital.engine import QuerySession
from cubital.engine.session import quote_text
from cubital.judge.predicates import VALID
from cubital.judge.preparing import judge_sql, prepare_unit_names

APART_DAYS = 28  # the same organism in the same patient within so many days is one event (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class Growth:
    """So many ``sets`` of one unit grew ``organism`` (its key) on one day. ``unit`` is the key and may be empty."""

    day: date
    facility: str
    unit: str
    unit_name: str
    organism: str
    sets: int


@dataclass(frozen=True, kw_only=True)
class DrawnDay:
    """So many valid ``sets`` were drawn in one unit on one day, whatever they grew."""

    day: date
    facility: str
    unit: str
    unit_name: str
    sets: int


def count_growths(session: QuerySession, *, first: date, last: date) -> tuple[Growth, ...]:
    """Every organism of every valid set from ``first`` to ``last``, both included, by day and unit.

    A set that grew two organisms stands under both, one that grew the same in two bottles once. Further sets of a
    patient with the same organism are left out until ``APART_DAYS`` days without it have passed: three sets of one
    illness are no cluster. What the laboratory denied, and what could not be read as an organism, is left out too.
    """
    return tuple(Growth(**row) for row in _rows(session, "growths", first=first, last=last, apart=APART_DAYS))


def count_drawn_days(session: QuerySession, *, first: date, last: date) -> tuple[DrawnDay, ...]:
    """Every valid set from ``first`` to ``last``, both included, by day and unit."""
    return tuple(DrawnDay(**row) for row in _rows(session, "drawn_by_day", first=first, last=last))


def dated_span(session: QuerySession) -> tuple[date, date] | None:
    """The first and the last day with a valid set; none where no set is dated."""
    first, last = session.one(f"select min(s.day), max(s.day) from sets s where {_valid()} and s.day is not null")
    return (first, last) if first else None


def _rows(session: QuerySession, name: str, *, first: date, last: date, **more: int) -> list[dict[str, Any]]:
    prepare_unit_names(session)
    return session.named_rows(judge_sql(name).format(valid=_valid()), {"first_day": first, "last_day": last, **more})


def _valid() -> str:
    return f"s.status in ({', '.join(quote_text(status) for status in sorted(VALID))})"
