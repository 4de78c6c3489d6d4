"""An interval with its level and the method that made it, and the checks every interval shares."""

from __future__ import annotations

from dataclasses import dataclass

from scipy.special import ndtri


@dataclass(frozen=True)
class Interval:
    """``low`` and ``high`` bound the unknown value at ``level`` (0 to 1, exclusive) by ``method``.

    ``high`` may be infinite for a ratio whose denominator shows no event.
    """

    low: float
    high: float
    level: float
    method: str


def normal_quantile(level: float) -> float:
    """The two-sided normal quantile of ``level``: 1.96 for 0.95. A level outside 0 to 1 is a ``ValueError``."""
    if not 0 < level < 1:
        raise ValueError(f"a level of {level} is not between 0 and 1")
    return float(ndtri(0.5 + level / 2))


def check_counts(x: int, n: int) -> None:
    """Raises ``ValueError`` unless ``0 <= x <= n`` and ``n >= 1``."""
    if n < 1:
        raise ValueError(f"an interval needs at least one observation, got n = {n}")
    if not 0 <= x <= n:
        raise ValueError(f"{x} events among {n} observations is impossible")
