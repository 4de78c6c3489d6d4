"""The eight pattern rules of a control chart: where each pattern is completed.

Nelson LS, J Qual Technol 1984;16:237-239. Rules 1, 5, 6 and a shift of eight are the older set of the Western Electric
Statistical Quality Control Handbook, 1956.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise

import numpy as np

from cubital.stats.attribute_charts import Values

Fires = Callable[[Values], bool]

SHIFT_POINTS = 8  # Western Electric 1956; Nelson 1984 asks for nine
TREND_POINTS = 6  # Nelson 1984, rule 3


def completed_at(z: Values, *, width: int, fires: Fires) -> tuple[int, ...]:
    """Positions, from 0, of the points whose window of ``width`` ending there satisfies ``fires``."""
    return tuple(end for end in range(width - 1, len(z)) if fires(z[end - width + 1 : end + 1]))


def _some_beyond(window: Values, *, needed: int, zone: float) -> bool:
    return bool((window > zone).sum() >= needed or (window < -zone).sum() >= needed)


def same_side(window: Values) -> bool:
    """Every point strictly on one side of the centre."""
    return bool((window > 0).all() or (window < 0).all())


def steady_trend(window: Values) -> bool:
    """Every point above the one before, or every point below it."""
    steps = np.diff(window)
    return bool((steps > 0).all() or (steps < 0).all())


def _alternating(window: Values) -> bool:
    return all(first * second < 0 for first, second in pairwise(np.diff(window)))


_RULES: Mapping[int, tuple[int, Fires]] = {
    1: (1, lambda w: _some_beyond(w, needed=1, zone=3)),
    2: (9, same_side),
    3: (TREND_POINTS, steady_trend),
    4: (14, _alternating),
    5: (3, lambda w: _some_beyond(w, needed=2, zone=2)),
    6: (5, lambda w: _some_beyond(w, needed=4, zone=1)),
    7: (15, lambda w: bool((np.abs(w) < 1).all())),
    8: (8, lambda w: bool((np.abs(w) > 1).all())),
}


def nelson_rules(x: Sequence[float], *, center: float, sigma: float) -> Mapping[int, tuple[int, ...]]:
    """For each rule 1 to 8 the positions, from 0, of the points that complete its pattern.

    Parameters
    ----------
    x : values in time order; ``center`` and ``sigma`` in the same unit, sigma above 0 (otherwise ``ValueError``).

    Notes
    -----
    Rules: 1 beyond 3 sigma · 2 nine on one side · 3 six steadily rising or falling · 4 fourteen alternating · 5 two of
    three beyond 2 sigma on one side · 6 four of five beyond 1 sigma on one side · 7 fifteen within 1 sigma · 8 eight
    beyond 1 sigma on either side. A window counts where it ends, whether or not its last point lies in the zone.
    """
    if sigma <= 0:
        raise ValueError(f"sigma is {sigma}, it must be above 0")
    z = (np.asarray(x, dtype=float) - center) / sigma
    return {rule: completed_at(z, width=width, fires=fires) for rule, (width, fires) in _RULES.items()}
