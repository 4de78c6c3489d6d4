"""What goes where: sharing the blood obtained among the bottles at hand.

Priorities, in this order (a lexicographic optimum, found exactly):

1. bottles reach their minimum, earlier bottles first (aerobic before anaerobic: common practice in adults); a later
   bottle gets blood only when every earlier one reached its minimum;
2. what is left tops up the bottles that reached it to their maximum, earlier ones first;
3. nothing above a maximum; a bottle that cannot reach its minimum stays empty.

Only when not even the first bottle can reach its minimum does it get everything, and the answer says that it is
short: one short bottle is worth more than two useless halves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Room:
    """How much one bottle takes: at least ``minimum_ml`` to be useful, never more than ``maximum_ml``."""

    minimum_ml: float
    maximum_ml: float


@dataclass(frozen=True, kw_only=True)
class Split:
    """mL for each bottle in the order asked, what is not used, and whether the first is below its minimum."""

    amounts_ml: tuple[float, ...]
    unused_ml: float
    short: bool


TENTHS = 10  # volumes are planned in tenths of a millilitre: finer than any scale on a bottle


def split_volume(got_ml: float, rooms: Sequence[Room]) -> Split:
    """Shares ``got_ml`` (mL, zero or more) among ``rooms`` in order of priority.

    Works in whole tenths, rounding what was obtained down, so that sums are exact. With no room at all everything is
    unused. Amounts never exceed what was obtained.
    """
    if not 0 <= got_ml < float("inf"):
        raise ValueError(f"{got_ml} mL cannot be shared")
    left = int(got_ml * TENTHS + 1e-9)
    minima = [round(room.minimum_ml * TENTHS) for room in rooms]
    maxima = [round(room.maximum_ml * TENTHS) for room in rooms]
    amounts = [0] * len(rooms)
    served = 0
    for index, minimum in enumerate(minima):
        if left < minimum or left == 0:
            break
        amounts[index] = minimum
        left -= minimum
        served = index + 1
    short = served == 0 and left > 0 and bool(rooms)
    for index in range(max(served, int(short))):
        more = min(left, maxima[index] - amounts[index])
        amounts[index] += more
        left -= more
    return Split(
        amounts_ml=tuple(amount / TENTHS for amount in amounts),
        unused_ml=left / TENTHS,
        short=short,
    )
