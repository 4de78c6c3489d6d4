"""The run chart: the longest run on one side of the middle and how often the line crosses it.

Both limits grow with the number of useful points, so that a long chart does not cry wolf. Anhøj J, Olesen AV, PLoS One
2014;9:e113825 (doi:10.1371/journal.pone.0113825).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import bdtr


@dataclass(frozen=True)
class RunLimits:
    """For ``useful`` points: a run above ``longest_run_max`` or fewer crossings than ``crossings_min`` signals."""

    useful: int
    longest_run_max: int
    crossings_min: int


@dataclass(frozen=True)
class RunChart:
    """``useful`` counts the points off the centre; ``current_run`` is signed and belongs to the last useful point."""

    center: float
    useful: int
    longest_run: int
    current_run: int
    crossings: int
    limits: RunLimits | None
    signal: bool


@dataclass(frozen=True)
class FalseAlarm:
    """Chance that independent points around a fixed centre break a limit: either, the run's, the crossings'."""

    either: float
    long_run: float
    few_crossings: float


@lru_cache
def run_limits(useful: int) -> RunLimits:
    """The limits for that many points off the centre; fewer than 2 is a ``ValueError``."""
    if useful < 2:
        raise ValueError("a run needs at least two points off the centre")
    crossings = int(np.searchsorted(bdtr(np.arange(useful), useful - 1, 0.5), 0.05))
    return RunLimits(useful, round(math.log2(useful) + 3), crossings)


def run_lengths(values: Sequence[float], *, center: float) -> tuple[int, ...]:
    """The runs in order, signed: +3 is three points above the centre in a row. Points on the centre are skipped."""
    runs: list[int] = []
    for value in values:
        side = int(value > center) - int(value < center)
        if not side:
            continue
        if runs and (runs[-1] > 0) == (side > 0):
            runs[-1] += side
        else:
            runs.append(side)
    return tuple(runs)


def run_chart(values: Sequence[float], *, center: float | None = None) -> RunChart:
    """Runs and crossings of ``values`` about ``center`` (their own median when none).

    With fewer than two useful points there are no limits and no signal.
    """
    if not len(values):
        raise ValueError("a run chart needs a point")
    middle = float(np.median(values)) if center is None else center
    runs = run_lengths(values, center=middle)
    useful = sum(abs(run) for run in runs)
    longest, crossings = max((abs(run) for run in runs), default=0), max(0, len(runs) - 1)
    limits = run_limits(useful) if useful >= 2 else None
    signal = limits is not None and (longest > limits.longest_run_max or crossings < limits.crossings_min)
    return RunChart(middle, useful, longest, runs[-1] if runs else 0, crossings, limits, signal)


def run_false_alarm(useful: int) -> FalseAlarm:
    """Exact chance of a false alarm for independent points, each above the fixed centre with probability one half."""
    limits = run_limits(useful)
    # quiet[r, c]: no long run so far, the current run is r + 1 long, c crossings so far
    quiet = np.zeros((limits.longest_run_max, useful))
    quiet[0, 0] = 1.0
    for _point in range(useful - 1):
        step = np.zeros_like(quiet)
        step[1:] = quiet[:-1] / 2
        step[0, 1:] = quiet[:, :-1].sum(axis=0) / 2
        quiet = step
    long_run = 1 - float(quiet.sum())
    few = float(bdtr(limits.crossings_min - 1, useful - 1, 0.5)) if limits.crossings_min else 0.0
    return FalseAlarm(1 - float(quiet[:, limits.crossings_min :].sum()), long_run, few)
