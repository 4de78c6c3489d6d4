"""One place before and after a visit: first the fall that comes by itself, then what is left of the change.

A place that is visited because it was worst was worst partly by chance, and chance does not repeat itself. What it
would have shown next without any visit is estimated from all places before it, and moved by what all others did
meanwhile; only the rest is a change, and even that says nothing of its cause.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.answers.places_reading import PlaceCount, PlacesPolicy
from cubital.stats.interval import Interval
from cubital.stats.proportions import wilson_interval
from cubital.stats.shrinkage import fit_prior

LEAST_MONTHS = 2
LEAST_OTHERS = 2


class VisitState(StrEnum):
    """Whether anything can be said."""

    ALONE = "alone"  # fewer than two other places: what is usual cannot be learnt
    SHORT = "short"  # fewer than two months on a side
    THIN = "thin"  # too few sets of the place on a side
    NO_EVENTS = "no_events"  # nothing contaminated anywhere before: no fall to expect
    SAID = "said"


@dataclass(frozen=True, kw_only=True)
class VisitReading:
    """The visited place before and after; ``others`` are all other places together (contaminated, sets), both times.

    ``expected`` is the share to be expected afterwards without any visit, ``others_change`` what the others' share
    changed by, ``left`` the change beyond both, each with its interval; none where ``state`` is not ``SAID``.
    """

    state: VisitState
    before: PlaceCount | None
    after: PlaceCount | None
    months: tuple[int, int]
    others_before: tuple[int, int]
    others_after: tuple[int, int]
    was_worst: bool
    policy: PlacesPolicy
    expected: float | None = None
    expected_interval: Interval | None = None
    others_change: float | None = None
    left: float | None = None
    left_interval: Interval | None = None

    @property
    def fall(self) -> float | None:
        """The fall (below 0: a rise) that was to be expected by itself."""
        if self.expected is None or self.before is None:
            return None
        return self.before.contaminated / self.before.sets - self.expected


def read_visit(
    before: Sequence[PlaceCount],
    after: Sequence[PlaceCount],
    *,
    key: str,
    months: tuple[int, int],
    policy: PlacesPolicy,
) -> VisitReading:
    """Reads all places' counts before and after; ``months`` are how many months either holds.

    A place twice in one of them is a ``ValueError``. The visited place may be missing in either: then it is too thin.
    """
    for counts in (before, after):
        if len({one.key for one in counts}) != len(counts):
            raise ValueError("a place stands twice")
    mine, now = ([one for one in counts if one.key == key] for counts in (before, after))
    others = [one for one in before if one.key != key]
    highest = max((_share(one) for one in before if _fair(one, policy)), default=0.0)
    reading = VisitReading(
        state=VisitState.SAID, before=mine[0] if mine else None, after=now[0] if now else None, months=months,
        others_before=_total(others), others_after=_total([one for one in after if one.key != key]),
        was_worst=bool(mine) and _share(mine[0]) >= highest, policy=policy,
    )  # fmt: skip
    state = _state(reading, others=len(others))
    if state is not VisitState.SAID or reading.before is None or reading.after is None:
        return _changed(reading, state=state)
    return _estimated(reading, before, one=reading.before, now=reading.after)


def _state(reading: VisitReading, *, others: int) -> VisitState:
    if others < LEAST_OTHERS or not reading.others_after[1]:
        return VisitState.ALONE
    if min(reading.months) < LEAST_MONTHS:
        return VisitState.SHORT
    if any(one is None or not _fair(one, reading.policy) for one in (reading.before, reading.after)):
        return VisitState.THIN
    contaminated = reading.others_before[0] + (reading.before.contaminated if reading.before else 0)
    sets = reading.others_before[1] + (reading.before.sets if reading.before else 0)
    return VisitState.SAID if 0 < contaminated < sets else VisitState.NO_EVENTS


def _estimated(
    reading: VisitReading, before: Sequence[PlaceCount], *, one: PlaceCount, now: PlaceCount
) -> VisitReading:
    """Differences of independent shares, each with its own interval: joined by their squared half-widths.

    Donner A, Zou GY, Stat Methods Med Res 2012;21:347-359 (from memory); for two shares this is Newcombe's interval.
    """
    prior = fit_prior([c.contaminated for c in before], [c.sets for c in before])
    expectation = prior.after(one.contaminated, one.sets)
    parts = [
        (_share(now), wilson_interval(now.contaminated, now.sets), 1),
        (expectation.mean, expectation.interval(), -1),
        (_part(reading.others_after), wilson_interval(*reading.others_after), -1),
        (_part(reading.others_before), wilson_interval(*reading.others_before), 1),
    ]
    left, interval = _joined(parts)
    return _changed(
        reading, state=VisitState.SAID, expected=expectation.mean, expected_interval=expectation.interval(),
        others_change=_part(reading.others_after) - _part(reading.others_before), left=left, left_interval=interval,
    )  # fmt: skip


def _joined(parts: Sequence[tuple[float, Interval, int]]) -> tuple[float, Interval]:
    """The signed sum of estimates with its interval."""
    middle = sum(sign * value for value, _interval, sign in parts)
    down = math.hypot(*(v - i.low if sign > 0 else i.high - v for v, i, sign in parts))
    up = math.hypot(*(i.high - v if sign > 0 else v - i.low for v, i, sign in parts))
    return middle, Interval(middle - down, middle + up, parts[0][1].level, "joined score intervals")


def _changed(reading: VisitReading, **changes: object) -> VisitReading:
    return VisitReading(**{**vars(reading), **changes})


def _fair(one: PlaceCount, policy: PlacesPolicy) -> bool:
    return one.sets >= policy.min_sets


def _share(one: PlaceCount) -> float:
    return one.contaminated / one.sets


def _part(pair: tuple[int, int]) -> float:
    return pair[0] / pair[1] if pair[1] else 0.0


def _total(counts: Sequence[PlaceCount]) -> tuple[int, int]:
    return sum(one.contaminated for one in counts), sum(one.sets for one in counts)
