"""Size of a trial in which every unit begins, one after the other: from the error of its effect, period allowed for."""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import brentq

from cubital.answers.trial_ask import TrialAsk
from cubital.stats.mixed_logistic import Matrix
from cubital.stats.stepped_design import StepAssumptions, stepped_power

LEAST_STEPS = 3  # units: fewer cannot be told from the units themselves
MOST_STEPS = 200
MOST_SETS = 1e7  # sets of a unit in a period: as good as no end


def stepped_sets(ask: TrialAsk, *, icc: float, units: int) -> float | None:
    """Sets with the new way (as many as without it, half of all) that give the power asked for; none where no number
    of sets does. Every unit is a step of its own; all periods are equally long and all units equally large.
    """
    if _power(ask, icc=icc, units=units, sets=MOST_SETS) < ask.power:
        return None

    def short(log_sets: float) -> float:
        return _power(ask, icc=icc, units=units, sets=math.exp(log_sets)) - ask.power

    low = math.log(1e-3)
    if short(low) > 0:
        return math.exp(low) * _cells(units) / 2
    return math.exp(float(brentq(short, low, math.log(MOST_SETS)))) * _cells(units) / 2


def stepped_found(ask: TrialAsk, per_arm: float) -> float | None:
    """The share nearest below the baseline that so many sets in each arm tell from it; none where not even 0."""
    sets = 2 * per_arm / _cells(ask.units)

    def short(share: float) -> float:
        return _power(ask, icc=ask.icc, units=ask.units, sets=sets, expected=share) - ask.power

    lowest = ask.baseline * 1e-6
    if sets <= 0 or short(lowest) < 0:
        return None
    return float(brentq(short, lowest, ask.baseline * (1 - 1e-6)))


def least_steps(ask: TrialAsk) -> int | None:
    """The least number of units with which such a trial can end at all; none where ``MOST_STEPS`` are too few."""
    low, high = LEAST_STEPS, MOST_STEPS
    if _power(ask, icc=ask.icc, units=high, sets=MOST_SETS) < ask.power:
        return None
    while low < high:
        middle = (low + high) // 2
        enough = _power(ask, icc=ask.icc, units=middle, sets=MOST_SETS) >= ask.power
        low, high = (low, middle) if enough else (middle + 1, high)
    return low


def _power(ask: TrialAsk, *, icc: float, units: int, sets: float, expected: float | None = None) -> float:
    """``kept`` of what units have of their own stays from period to period, the rest swings."""
    after = ask.expected if expected is None else expected
    middle = (ask.baseline + after) / 2
    variance = icc * middle * (1 - middle)
    assumed = StepAssumptions(
        before=ask.baseline, after=after, sets=sets, between_sd=math.sqrt(variance * ask.kept),
        period_sd=math.sqrt(variance * (1 - ask.kept)),
    )  # fmt: skip
    return stepped_power(_exposure(units), assumed, alpha=1 - ask.level)


def _exposure(units: int) -> Matrix:
    return np.asarray(np.arange(units + 1)[None, :] >= np.arange(1, units + 1)[:, None], dtype=float)


def _cells(units: int) -> int:
    return units * (units + 1)
