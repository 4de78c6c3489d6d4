"""FHIR's dates and times as wall clock and offset: nothing is moved, nothing is filled in."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from cubital.intake.fhir.records import UNKNOWN_MOMENT, Moment
from cubital.intake.fhir.references import text_of
from cubital.intake.message_times import split_time


def read_moment(value: object) -> Moment:
    """``2025-11-03T10:50:00-06:00`` as wall clock ``2025-11-03 10:50:00`` and ``-360`` minutes.

    A day alone stays a day; what is neither a day nor a time comes marked as unreadable, see ``message_times``.
    """
    text = text_of(value)
    return Moment(*split_time(text)) if text else UNKNOWN_MOMENT


def read_moment_of(resource: dict[str, Any], stem: str) -> Moment:
    """A choice such as ``collected[x]`` or ``effective[x]``: the time, the instant, or the start of the period.

    A ``Timing`` is several times; only its first event is one.
    """
    moment = resource.get(stem + "DateTime") or resource.get(stem + "Instant")
    if moment is not None:
        return read_moment(moment)
    period = resource.get(stem + "Period")
    if type(period) is dict:
        return read_moment(period.get("start"))
    timing = resource.get(stem + "Timing")
    events = timing.get("event") if type(timing) is dict else None
    return read_moment(events[0]) if type(events) is list and events else UNKNOWN_MOMENT


def instant_of(moment: Moment) -> datetime | None:
    """The moment in UTC, or as wall clock where no offset was written; none where it is no time."""
    try:
        clock = datetime.fromisoformat(moment.clock)
    except ValueError:
        return None
    return clock - timedelta(minutes=int(moment.offset or 0))
