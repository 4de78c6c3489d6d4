"""Did the units with the change improve more than those without? Two groups, two periods, shares of sets."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cubital.stats.exact_interaction import ExactInteraction, exact_interaction
from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.two_proportions import Comparison, difference_newcombe

_NO_LIMITS = "Wald on the logarithm (no limits: a cell is empty)"


@dataclass(frozen=True, kw_only=True)
class BeforeAfter:
    """Events among sets of one group, before and after; each period needs sets (``ValueError``)."""

    events_before: int
    n_before: int
    events_after: int
    n_after: int

    def __post_init__(self) -> None:
        if self.n_before < 1 or self.n_after < 1:
            raise ValueError("each period of each group needs sets")
        if not (0 <= self.events_before <= self.n_before and 0 <= self.events_after <= self.n_after):
            raise ValueError("the counts are impossible")

    @property
    def cells(self) -> tuple[int, int, int, int]:
        """Events after, sets after, events before, sets before."""
        return self.events_after, self.n_after, self.events_before, self.n_before


@dataclass(frozen=True)
class DifferenceInDifferences:
    """How much more the treated group changed than the comparison group.

    ``risk_difference`` is (after − before) of the treated minus the same of the others, −2 to 2; below 0 the treated
    fell more. ``ratio_of_ratios`` and ``ratio_of_odds_ratios`` divide the two changes; below 1 the treated fell more,
    not a number where a cell is empty. ``treated_change`` and ``control_change`` are each group's own difference.
    ``exact`` is the exact comparison of the odds ratios, for small counts.
    """

    risk_difference: Comparison
    ratio_of_ratios: Comparison
    ratio_of_odds_ratios: Comparison
    treated_change: Comparison
    control_change: Comparison
    exact: ExactInteraction


def difference_in_differences(
    treated: BeforeAfter, control: BeforeAfter, *, level: float = 0.95
) -> DifferenceInDifferences:
    """Compares the changes of two groups, every set counted as independent of every other.

    Notes
    -----
    The interval of the difference combines the two groups' Newcombe intervals (square-and-add), the ratios' are Wald's
    on the logarithm; with an empty cell they reach from 0 to infinity and ``exact`` is what to read. The two scales can
    disagree: equal differences from unequal starts are unequal ratios. Sets of one unit resemble each other, so with
    several units a side ``cluster_differences`` is the fairer error.

    References
    ----------
    Newcombe RG, Stat Med 1998;17:873-890; Zou GY, Donner A, Stat Med 2008;27:1693-1702 (square-and-add).

    Examples
    --------
    >>> emergency = BeforeAfter(events_before=119, n_before=2700, events_after=75, n_after=2750)
    >>> medical = BeforeAfter(events_before=25, n_before=880, events_after=24, n_after=905)
    >>> found = difference_in_differences(emergency, medical)
    >>> round(100 * found.risk_difference.estimate, 2)
    -1.49
    """
    ours, others = (_change(one, level=level) for one in (treated, control))
    return DifferenceInDifferences(
        risk_difference=_square_and_add(ours, others, level=level),
        ratio_of_ratios=_ratio(treated, control, odds=False, level=level),
        ratio_of_odds_ratios=_ratio(treated, control, odds=True, level=level),
        treated_change=ours,
        control_change=others,
        exact=exact_interaction(treated.cells, control.cells, level=level),
    )


def _change(one: BeforeAfter, *, level: float) -> Comparison:
    return difference_newcombe(one.events_after, one.n_after, x2=one.events_before, n2=one.n_before, level=level)


def _square_and_add(ours: Comparison, others: Comparison, *, level: float) -> Comparison:
    middle = ours.estimate - others.estimate
    down = math.hypot(ours.estimate - ours.interval.low, others.interval.high - others.estimate)
    up = math.hypot(ours.interval.high - ours.estimate, others.estimate - others.interval.low)
    return Comparison(middle, Interval(middle - down, middle + up, level, "Newcombe, square and add"))


def _ratio(treated: BeforeAfter, control: BeforeAfter, *, odds: bool, level: float) -> Comparison:
    """Ratio of the two groups' ratios (or odds ratios), Wald on the logarithm."""
    logs, variance, empty = [], 0.0, False
    for one in (treated, control):
        for x, n, sign in ((one.events_after, one.n_after, 1), (one.events_before, one.n_before, -1)):
            rest = n - x if odds else n
            empty = empty or not x or not rest
            if not empty:
                logs.append(sign * math.log(x / rest))
                variance += 1 / x + (1 / rest if odds else -1 / rest)
    if empty:
        return Comparison(
            math.nan, Interval(0.0, math.inf, level, "Wald on the logarithm (no limits: a cell is empty)")
        )
    middle, reach = sum(logs[:2]) - sum(logs[2:]), normal_quantile(level) * math.sqrt(variance)
    span = Interval(math.exp(middle - reach), math.exp(middle + reach), level, "Wald on the logarithm")
    return Comparison(math.exp(middle), span)
