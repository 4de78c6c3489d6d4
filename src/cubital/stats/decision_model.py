"""A decision under doubt: the same arithmetic run over many draws of its inputs, and what each input does alone.

A model here is a function from a mapping of named inputs, numbers or arrays of one length, to its result. It knows
nothing of what is decided.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zlib import crc32

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cubital.stats.uncertain_values import Draws, Uncertain

Values = Mapping[str, Any]
Model = Callable[[Values], Any]


@dataclass(frozen=True, kw_only=True)
class Spread:
    """What many draws of a result say: their number, mean, standard deviation, share above 0 and percentiles."""

    draws: int
    mean: float
    sd: float
    above_zero: float
    percentiles: tuple[tuple[float, float], ...]

    def percentile(self, percent: float) -> float:
        """The percentile that was asked for; ``KeyError`` for another one."""
        return dict(self.percentiles)[percent]


@dataclass(frozen=True, kw_only=True)
class Swing:
    """The result with one input at its low and at its high end, all others at their likely values."""

    key: str
    at_low: float
    at_high: float

    @property
    def width(self) -> float:
        """How far apart the two results are, 0 or more."""
        return abs(self.at_high - self.at_low)


def draw_inputs(inputs: Mapping[str, Uncertain], *, draws: int, seed: int) -> dict[str, Draws]:
    """Independent draws of every input, (draws,) each.

    An input's draws depend on the seed and its own name alone, so that the order of the inputs changes nothing, and
    one more input leaves the draws of all others as they were. ``ValueError`` for fewer than one draw.
    """
    if draws < 1:
        raise ValueError(f"{draws} draws are none")
    return {key: one.draw(np.random.default_rng([seed, crc32(key.encode())]), draws) for key, one in inputs.items()}


def stratified_chances(inputs: int, *, draws: int, seed: int) -> NDArray[np.float64]:
    """Chances between 0 and 1, (draws, inputs), such that every input has one in each of ``draws`` equal strips.

    Fed to quantile functions they make few draws nearly as good as many. ``ValueError`` for fewer than one draw.

    References
    ----------
    McKay MD, Beckman RJ, Conover WJ. Technometrics 1979;21:239-245 (from memory).
    """
    if draws < 1:
        raise ValueError(f"{draws} draws are none")
    random = np.random.default_rng(seed)
    strips = np.empty((draws, inputs))
    for column in range(inputs):
        strips[:, column] = random.permutation(draws)
    return np.asarray((strips + random.random((draws, inputs))) / draws, dtype=np.float64)


def spread_of(results: ArrayLike, *, percents: Sequence[float] = (5, 25, 50, 75, 95)) -> Spread:
    """The spread of results, (draws,), at least one and none of them missing (``ValueError``).

    Percentiles interpolate linearly between the ordered results. The standard deviation is that of the draws as a
    sample, 0 for a single one.

    Examples
    --------
    >>> spread_of([-1.0, 1.0, 2.0, 6.0]).above_zero
    0.75
    """
    values = np.asarray(results, dtype=np.float64)
    if values.ndim != 1 or values.size == 0 or not np.isfinite(values).all():
        raise ValueError("one row of results, none of them missing, is needed")
    found = np.percentile(values, list(percents))
    return Spread(
        draws=values.size, mean=float(values.mean()), sd=float(values.std(ddof=1)) if values.size > 1 else 0.0,
        above_zero=float((values > 0).mean()),
        percentiles=tuple((float(p), float(v)) for p, v in zip(percents, found, strict=True)),
    )  # fmt: skip


def one_way(
    model: Model, *, likely: Mapping[str, float], ranges: Mapping[str, tuple[float, float]]
) -> tuple[Swing, ...]:
    """One swing per range, the widest first; equal ones stay in the order of ``ranges``.

    ``likely`` holds a value for every input of the model, ``ranges`` the ends of those to be moved.
    """
    swings = [
        Swing(key=key, at_low=float(model({**likely, key: low})), at_high=float(model({**likely, key: high})))
        for key, (low, high) in ranges.items()
    ]
    return tuple(sorted(swings, key=lambda one: -one.width))


def break_even(model: Model, *, likely: Mapping[str, float], key: str) -> float | None:
    """The value of one input at which the result is 0, all others at their likely values.

    Exact for a result that is a straight line in that input, which is checked at three points (``ValueError``). None
    where the input moves nothing.
    """
    at = likely[key] or 1.0
    zero, one, two = (float(model({**likely, key: value})) for value in (0.0, at, 2 * at))
    slope = (one - zero) / at
    if abs(two - 2 * one + zero) > 1e-9 * max(abs(zero), abs(one), abs(two), 1.0):
        raise ValueError(f"the result is no straight line in '{key}'")
    return None if slope == 0 else -zero / slope


def two_way(
    model: Model,
    *,
    likely: Mapping[str, float],
    first: tuple[str, Sequence[float]],
    second: tuple[str, Sequence[float]],
) -> NDArray[np.float64]:
    """The result over a grid of two inputs: a row for each value of ``first``, a column for each of ``second``."""
    return np.array(
        [[float(model({**likely, first[0]: a, second[0]: b})) for b in second[1]] for a in first[1]], dtype=np.float64
    )


def acceptability(benefits: ArrayLike, costs: ArrayLike, *, worth: Sequence[float]) -> tuple[float, ...]:
    """For each value of one unit of benefit, the share of draws in which benefit times value is above the cost.

    ``benefits`` and ``costs`` are draws of one length, or a single number each.
    """
    benefit, cost = np.broadcast_arrays(np.asarray(benefits, dtype=np.float64), np.asarray(costs, dtype=np.float64))
    return tuple(float((benefit * value > cost).mean()) for value in worth)


def shares_best(results: ArrayLike) -> tuple[float, ...]:
    """For each choice, the share of draws in which its result is the best; ties go to the first. (draws, choices)."""
    table = np.asarray(results, dtype=np.float64)
    if table.ndim != 2 or 0 in table.shape:
        raise ValueError("a table of draws by choices is needed")
    best = np.bincount(table.argmax(axis=1), minlength=table.shape[1])
    return tuple(float(count) / table.shape[0] for count in best)
