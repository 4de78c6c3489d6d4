"""How far a look must reach: the limits that were agreed, spent over the looks that were really made."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from cubital.domain.trial import Spending, TrialPlan
from cubital.stats.alpha_spending import Spending as Curve
from cubital.stats.alpha_spending import inflation, plan_looks

CLOSEST = 0.001  # looks less of the information apart than this hold nothing new
_CURVES = {Spending.CAUTIOUS: Curve.OBRIEN_FLEMING, Spending.EVEN: Curve.POCOCK}


@dataclass(frozen=True, kw_only=True)
class Limit:
    """``z`` is reached or not (infinite where nothing is left to spend), ``nominal_p`` the two-sided p that reaches it,
    ``spent`` the whole chance of a false finding used up to and including this look.
    """

    z: float
    nominal_p: float
    spent: float

    def crossed(self, z: float | None) -> bool:
        """Whether a score lies at or beyond it."""
        return z is not None and math.isfinite(self.z) and abs(z) >= self.z


def limit_of_look(plan: TrialPlan, shares: Sequence[float], *, last: bool) -> Limit:
    """The limit of the last of these looks; ``last`` says that it ends the trial, where all that is left is spent.

    ``shares`` are what every look made so far held of the planned sets, rising.
    """
    found = plan_looks(shares, alpha=1 - plan.level, spending=_CURVES[plan.spending], spend_rest=last)
    return Limit(z=float(found.z[-1]), nominal_p=float(found.nominal_p[-1]), spent=float(found.spent[-1]))


def planned_limits(plan: TrialPlan) -> tuple[Limit, ...]:
    """The limits of the looks that are planned, in order."""
    found = plan_looks(plan.looks, alpha=1 - plan.level, spending=_CURVES[plan.spending])
    return tuple(
        Limit(z=float(z), nominal_p=float(p), spent=float(spent))
        for z, p, spent in zip(found.z, found.nominal_p, found.spent, strict=True)
    )


@lru_cache(maxsize=64)
def price_of_looking(looks: tuple[float, ...], *, level: float, power: float, spending: Spending) -> float:
    """How many times the sets of a trial without looks it takes for the same power: 1 with one look."""
    return inflation(plan_looks(looks, alpha=1 - level, spending=_CURVES[spending]), power)
