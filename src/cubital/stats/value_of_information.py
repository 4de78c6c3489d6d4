"""What knowing better would be worth before a choice is made: of everything, or of one input alone."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from cubital.stats.uncertain_values import Uncertain

POINTS = 4_000


@dataclass(frozen=True, kw_only=True)
class PerfectInformation:
    """Mean results of the choices, of always choosing best, and the difference that perfect knowledge would make.

    ``losses`` are, per draw, what choosing the one that is best on average gives away.
    """

    means: tuple[float, ...]
    mean_of_best: float
    value: float
    losses: NDArray[np.float64]


def perfect_information(results: ArrayLike) -> PerfectInformation:
    """The expected value of perfect information from draws of net benefit, (draws, choices).

    ``ValueError`` for an empty table.

    Notes
    -----
    The mean over draws of the best choice's result, minus the best mean. 0 or more.

    References
    ----------
    Claxton K. J Health Econ 1999;18:341-364 (from memory); Micieli A et al. J Am Heart Assoc 2014, Table 1.

    Examples
    --------
    >>> perfect_information([[1.0, 0.0], [-1.0, 0.0]]).value
    0.5
    """
    table = np.asarray(results, dtype=np.float64)
    if table.ndim != 2 or 0 in table.shape:
        raise ValueError("a table of draws by choices is needed")
    means = table.mean(axis=0)
    best = table.max(axis=1)
    return PerfectInformation(
        means=tuple(float(one) for one in means), mean_of_best=float(best.mean()),
        value=_above_noise(float(best.mean()), float(means.max())), losses=best - table[:, int(means.argmax())],
    )  # fmt: skip


def _above_noise(best: float, mean: float) -> float:
    """The difference, 0 where it is no more than what adding up leaves behind."""
    return best - mean if best - mean > 1e-12 * max(abs(best), abs(mean)) else 0.0


def perfect_information_normal(mean: float, sd: float) -> tuple[float, float]:
    """Chance that the choice by the mean is right, and value of perfect information, for a normal net benefit.

    One choice against doing nothing (0). ``ValueError`` for a standard deviation of 0 or less.

    Examples
    --------
    >>> [round(one, 4) for one in perfect_information_normal(1, 5 ** 0.5)]
    [0.6726, 0.4798]
    """
    if not sd > 0:
        raise ValueError(f"a standard deviation of {sd} is none")
    distance = abs(mean) / sd
    density = math.exp(-(distance**2) / 2) / math.sqrt(2 * math.pi)
    return float(ndtr(distance)), sd * (density - distance * float(ndtr(-distance)))


def information_on_one(
    choices: Callable[[Mapping[str, Any]], NDArray[np.float64]],
    inputs: Mapping[str, Uncertain],
    *,
    key: str,
    points: int = POINTS,
) -> float:
    """The value of knowing one input exactly, the others remaining as unsure as they are.

    Parameters
    ----------
    choices : a function from inputs, arrays of one length, to net benefits (length, choices).
    inputs : what every input may be; independent of each other.
    points : equally likely values of the input that are looked at.

    Notes
    -----
    Exact but for the points, for results that are straight lines in every single other input: then the mean over the
    others, given this one, is the result at their means, and no inner simulation is needed. It is for the caller to
    know that. ``information_by_sorting`` needs no such thing and is the check of it.
    """
    values = inputs[key].quantile((np.arange(points) + 0.5) / points)
    at_means = {name: np.full(points, one.mean) for name, one in inputs.items()}
    return perfect_information(choices({**at_means, key: values})).value


def information_by_sorting(results: ArrayLike, values: ArrayLike, *, groups: int = 50) -> float:
    """The same value from draws alone: sorted by the input's draws and averaged within groups of neighbours.

    Parameters
    ----------
    results : (draws, choices) net benefits. values : (draws,) the input's draws.
    groups : how many; more of them show finer turns and more noise. At most one group per draw (``ValueError``).

    References
    ----------
    Strong M, Oakley JE. Med Decis Making 2013;33:755-766 (from memory).
    """
    table, given = np.asarray(results, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if table.ndim != 2 or given.shape != table.shape[:1] or not 1 <= groups <= len(given):
        raise ValueError("draws by choices, one value per draw and no more groups than draws are needed")
    parts = np.array_split(table[np.argsort(given, kind="stable")], groups)
    best = sum(float(part.mean(axis=0).max()) * len(part) for part in parts) / len(given)
    return max(0.0, best - float(table.mean(axis=0).max()))
