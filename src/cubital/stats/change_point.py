"""In which month a rate most likely changed, and how sure that is: one change, both rates unknown, exactly integrated.

Smith AFM, Biometrika 1975;62:407-416 (the posterior of a single change point). Each side has Jeffreys' Beta prior, the
month of the change is equally likely to be any, and change and no change are equally likely beforehand unless said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaln

from cubital.stats.attribute_charts import Values

_PRIOR = 0.5
_SURE = 0.9  # the months named as likely hold this much of the chance


@dataclass(frozen=True)
class ChangePoint:
    """``first`` is the position, from 0, of the most likely first point of the new rate.

    ``chance`` is the posterior probability that there was a change at all. ``starts`` (shape n) holds, given a change,
    the probability of each point to be its first; ``likely`` the positions that together hold nine tenths of it, in
    order. ``before`` and ``after`` are the observed shares on either side of ``first``.
    """

    first: int
    chance: float
    starts: Values
    likely: tuple[int, ...]
    before: float
    after: float


def find_change(
    events: Sequence[int],
    n: Sequence[int],
    *,
    prior: tuple[float, float] = (_PRIOR, _PRIOR),
    chance_before: float = 0.5,
    sure: float = _SURE,
) -> ChangePoint:
    """The most likely change among points of ``events`` in ``n``; needs two points with observations (``ValueError``).

    A point without observations is never named as the first. ``prior`` are the Beta prior's parameters for any rate,
    ``chance_before`` the chance of a change before looking, ``sure`` the chance that ``likely`` holds (all above 0,
    the latter two below 1: ``ValueError``).
    """
    x, sizes = np.asarray(events, dtype=float), np.asarray(n, dtype=float)
    if x.shape != sizes.shape or (x < 0).any() or (x > sizes).any():
        raise ValueError("as many sizes as counts, and counts between 0 and the size, are needed")
    if min(prior) <= 0 or not 0 < chance_before < 1 or not 0 < sure < 1:
        raise ValueError("a prior needs parameters above 0, and chances lie between 0 and 1")
    held = np.flatnonzero(sizes > 0)
    if held.size < 2:
        raise ValueError("a change needs two points with observations")
    left_x, left_n = np.cumsum(x[held])[:-1], np.cumsum(sizes[held])[:-1]
    right_x, right_n = x.sum() - left_x, sizes.sum() - left_n
    split = _evidence(left_x, left_n, prior) + _evidence(right_x, right_n, prior)
    best = float(split.max())
    weights = np.exp(split - best)
    log_odds = best + np.log(weights.mean()) - float(_evidence(x.sum(), sizes.sum(), prior))
    log_odds += math.log(chance_before / (1 - chance_before))
    starts = np.zeros(len(x))
    starts[held[1:]] = weights / weights.sum()
    at = int(np.argmax(split))
    return ChangePoint(
        first=int(held[1:][at]),
        chance=float(1 / (1 + np.exp(-np.clip(log_odds, -700, 700)))),
        starts=starts,
        likely=_likely(starts, sure),
        before=float(left_x[at] / left_n[at]),
        after=float(right_x[at] / right_n[at]),
    )


def _evidence(x: Values | float, n: Values | float, prior: tuple[float, float]) -> Values:
    a, b = prior
    return np.asarray(betaln(x + a, n - x + b) - betaln(a, b))


def _likely(starts: Values, sure: float) -> tuple[int, ...]:
    order = np.argsort(-starts, kind="stable")
    needed = int(np.searchsorted(np.cumsum(starts[order]), sure)) + 1
    return tuple(sorted(int(place) for place in order[:needed]))
