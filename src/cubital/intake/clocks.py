"""From the wall clock of a facility to UTC, with the hours that a clock change repeats or skips."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _

MINUTE = timedelta(minutes=1)


@dataclass(frozen=True, kw_only=True)
class ClockDay:
    """One local day: minutes east of UTC at its start and its end, and the wall-clock stretch that a change touches.

    ``repeats`` is true when the stretch occurs twice (clock put back), false when it never occurs (put forward);
    ``change_from`` is none on an ordinary day.
    """

    day: date
    before: int
    after: int
    change_from: datetime | None = None
    change_to: datetime | None = None
    repeats: bool = False


def find_zone(name: str) -> ZoneInfo:
    """The zone of that IANA name; a ``RequestProblem`` for an unknown one."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise RequestProblem(
            _("the time zone '{name}' is not known.").format(name=name),
            fix=_("Give an IANA name such as America/Chicago or Europe/Madrid."),
        ) from error


def read_clock(zone: ZoneInfo, days: Iterable[date]) -> list[ClockDay]:
    """The clock of each day; a day costs two look-ups, a day with a change eleven more."""
    return [_clock_day(zone, day) for day in days]


def _clock_day(zone: ZoneInfo, day: date) -> ClockDay:
    start = datetime.combine(day, time(), tzinfo=zone)
    end = start + timedelta(days=1)  # wall-clock arithmetic: the next midnight
    before, after = _offset(start), _offset(end)
    if before == after:
        return ClockDay(day=day, before=before, after=after)
    instant = _change(zone, start.astimezone(UTC), end.astimezone(UTC), before)
    walls = sorted(instant.replace(tzinfo=None) + timedelta(minutes=offset) for offset in (before, after))
    return ClockDay(
        day=day, before=before, after=after, change_from=walls[0], change_to=walls[1], repeats=after < before
    )


def _offset(moment: datetime) -> int:
    return round((moment.utcoffset() or timedelta()) / MINUTE)


def _change(zone: ZoneInfo, start: datetime, end: datetime, before: int) -> datetime:
    """The first UTC minute with another offset than ``before``, by halving."""
    low, high = start, end
    while high - low > MINUTE:
        middle = low + (high - low) // 2
        middle = middle.replace(second=0, microsecond=0)
        if middle <= low:
            break
        if _offset(middle.astimezone(zone)) == before:
            low = middle
        else:
            high = middle
    return high


@dataclass(frozen=True, kw_only=True)
class DoubtfulTimes:
    """A set whose collection or receipt fell into a repeated hour. Both as wall clock, none where not known.

    ``before`` and ``after`` are the offsets of that day; ``collected_twice`` and ``received_twice`` say which of the
    two times occurs twice; the other one has a fixed ``..._at`` in UTC.
    """

    row_set: int
    accession: str
    collected: datetime | None
    received: datetime | None
    collected_at: datetime | None
    received_at: datetime | None
    collected_twice: bool
    received_twice: bool
    before: int
    after: int


@dataclass(frozen=True, kw_only=True)
class ResolvedTimes:
    row_set: int
    collected_at: datetime | None
    received_at: datetime | None


def natural_order(text: str) -> tuple[tuple[int, int, str], ...]:
    """A sort key under which ``A9`` stands before ``A10``."""
    parts = re.findall(r"\d+|\D+", text)
    return tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in parts)


def resolve_repeated_hours(doubtful: Sequence[DoubtfulTimes]) -> list[ResolvedTimes]:
    """Settles which of the two hours was meant, set by set in accession order.

    Accession numbers are given out at receipt, so receipt never runs backwards along them. Among the readings with
    receipt not before collection and not before the set in front, the shortest way to the laboratory is taken, then
    the earlier one. Where no reading puts receipt after collection, the earlier hour is kept for both.
    """
    resolved: list[ResolvedTimes] = []
    previous: datetime | None = None
    for times in sorted(doubtful, key=lambda times: natural_order(times.accession)):
        best = min(_readings(times), key=lambda reading: _rank(reading, previous))
        resolved.append(ResolvedTimes(row_set=times.row_set, collected_at=best[0], received_at=best[1]))
        previous = best[1] or best[0] or previous
    return resolved


_Reading = tuple[datetime | None, datetime | None]


def _readings(times: DoubtfulTimes) -> list[_Reading]:
    collected = _both(times.collected, times) if times.collected_twice else [times.collected_at]
    received = _both(times.received, times) if times.received_twice else [times.received_at]
    return [(one, other) for one in collected for other in received]


def _both(wall: datetime | None, times: DoubtfulTimes) -> list[datetime | None]:
    return [None] if wall is None else [wall - times.before * MINUTE, wall - times.after * MINUTE]


def _rank(reading: _Reading, previous: datetime | None) -> tuple[bool, bool, timedelta, datetime]:
    collected, received = reading
    backwards = collected is not None and received is not None and received < collected
    anchor = received or collected or datetime.max  # noqa: DTZ901
    out_of_order = previous is not None and anchor < previous
    way = received - collected if received and collected and not backwards else timedelta(days=1)
    return backwards, out_of_order, way, anchor
