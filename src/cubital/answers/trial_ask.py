"""What is asked about the length of a trial."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from cubital.domain.trial import TrialDesign

USUAL_ICC = 0.01  # what sets of one unit have in common where nothing is known here: an assumption, no source
ICC_RANGE = (0.002, 0.05)  # as far as it may reasonably lie: an assumption, no source
KEPT = 0.8  # how much of that is still there in the unit's next turn: an assumption, no source


class IccSource(Enum):
    """Where the correlation between sets of one unit comes from."""

    ASSUMED = "assumed"
    GIVEN = "given"
    LEARNT = "learnt"


@dataclass(frozen=True, kw_only=True)
class TrialAsk:
    """What is asked. Shares run 0 to 1; ``per_month`` are the sets a month of all units that take part, together.

    ``icc`` is the correlation between sets of one unit, with ``icc_range`` as far as it may lie; ``icc_source``
    says where it comes from. ``variation`` is how unequal the units are (standard deviation over mean). ``months`` is
    how long there is, none where that is open.
    """

    baseline: float
    expected: float
    per_month: float
    units: int = 1
    design: TrialDesign = TrialDesign.WEEKS
    level: float = 0.95
    power: float = 0.8
    icc: float = USUAL_ICC
    icc_range: tuple[float, float] = ICC_RANGE
    icc_source: IccSource = IccSource.ASSUMED
    variation: float = 0.0
    kept: float = KEPT
    months: float | None = None
