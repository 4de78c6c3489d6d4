"""Why an overall share changed: because groups changed within, or because other groups now do the work (the mix)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.mixed_logistic import Matrix


class MixConvention(StrEnum):
    """Which period weighs what; each makes the two parts add up to the whole without a rest.

    BEFORE asks what would have changed had the old mix stayed: within uses the old weights, the mix the new shares.
    AFTER is its mirror. SYMMETRIC uses the mean of both periods for either part (Kitagawa).
    """

    BEFORE = "before"
    SYMMETRIC = "symmetric"
    AFTER = "after"


_TURN = {MixConvention.BEFORE: 0.0, MixConvention.SYMMETRIC: 0.5, MixConvention.AFTER: 1.0}


@dataclass(frozen=True, kw_only=True)
class GroupCounts:
    """Events among sets of one group in either period; a group may be new (no sets before) or gone (none after)."""

    name: str
    events_before: int
    n_before: int
    events_after: int
    n_after: int

    def __post_init__(self) -> None:
        if not (0 <= self.events_before <= self.n_before and 0 <= self.events_after <= self.n_after):
            raise ValueError(f"the counts of group '{self.name}' are impossible")


@dataclass(frozen=True)
class GroupPart:
    """What one group adds to either part, as shares. ``weight_before`` and ``weight_after`` are its part of all sets.

    ``mix`` is counted against the overall share before, so that drawing more from a good group counts as a fall.
    """

    name: str
    weight_before: float
    weight_after: float
    within: float
    mix: float


@dataclass(frozen=True)
class MixDecomposition:
    """The change ``total`` = ``within`` + ``mix``, all as differences of shares (after minus before), with intervals.

    ``mix_share`` is mix / total, and ``mix_share_interval`` by Fieller's method; the share is none where nothing
    changed overall, its interval none where the total change could be none (a share of nothing is no number).
    """

    total: float
    within: float
    mix: float
    mix_share: float | None
    total_interval: Interval
    within_interval: Interval
    mix_interval: Interval
    mix_share_interval: Interval | None
    groups: tuple[GroupPart, ...]
    convention: MixConvention


def decompose_mix(
    groups: Sequence[GroupCounts],
    *,
    convention: MixConvention = MixConvention.BEFORE,
    level: float = 0.95,
    mix_known: bool = True,
) -> MixDecomposition:
    """Splits the change of an overall share into change within groups and change of who does the work.

    Parameters
    ----------
    groups : every group with its counts; sets in both periods are needed (``ValueError``).
    convention : which period weighs what.
    mix_known : takes who drew as a fact, so that only the shares are uncertain; false lets chance move the mix too.

    Notes
    -----
    With weights w and shares p per group, BEFORE has within = Σ w0 (p1 − p0) and mix = Σ (w1 − w0) p1. A new group has
    no share before, one that is gone none after: it is given the share it has, so it changes nothing within and all it
    does is mix. Intervals by the delta method, with (x + ½) / (n + 1) in the variances so that no event is not taken
    for no chance.

    References
    ----------
    Kitagawa EM, J Am Stat Assoc 1955;50:1168-1194. Fieller EC, J R Stat Soc B 1954;16:175-185.

    Examples
    --------
    >>> found = decompose_mix([
    ...     GroupCounts(name="nurse", events_before=119, n_before=2700, events_after=49, n_after=1240),
    ...     GroupCounts(name="phlebotomist", events_before=0, n_before=0, events_after=26, n_after=1510)])
    >>> [round(100 * part, 2) for part in (found.total, found.within, found.mix)]
    [-1.68, -0.46, -1.22]
    """
    terms = _terms(groups, _TURN[convention])
    covariance = terms.covariance(mix_known=mix_known)
    within, mix = float(terms.within.sum()), float(terms.mix.sum())
    total = within + mix
    errors = np.sqrt(np.maximum(0.0, [covariance[0, 0], covariance[1, 1], covariance.sum()]))
    reach = [normal_quantile(level) * float(error) for error in errors]
    spans = [
        Interval(middle - half, middle + half, level, "delta method")
        for middle, half in zip((within, mix, total), reach, strict=True)
    ]
    return MixDecomposition(
        total=total,
        within=within,
        mix=mix,
        mix_share=mix / total if abs(total) > 1e-12 else None,
        total_interval=spans[2],
        within_interval=spans[0],
        mix_interval=spans[1],
        mix_share_interval=_fieller(mix, total, covariance, level=level),
        groups=terms.parts(),
        convention=convention,
    )


@dataclass(frozen=True)
class _Terms:
    """Per group: weights and shares of both periods, the factors of either part, and the two parts."""

    names: tuple[str, ...]
    sizes: tuple[float, float]  # sets of all groups, before and after
    weights: tuple[Values, Values]
    shares: tuple[Values, Values]
    spread: tuple[Values, Values]  # variances of the shares
    factor: Values  # what the change within is multiplied by
    lean: Values  # 0 weighs the mix with the shares after, 1 with those before
    turn: float

    @property
    def within(self) -> Values:
        return self.factor * (self.shares[1] - self.shares[0])

    @property
    def used(self) -> Values:
        """The share by which a change of weight counts."""
        return np.asarray((1 - self.lean) * self.shares[1] + self.lean * self.shares[0])

    @property
    def mix(self) -> Values:
        overall = float(self.weights[0] @ self.shares[0])
        return (self.weights[1] - self.weights[0]) * (self.used - overall)

    def covariance(self, *, mix_known: bool) -> Matrix:
        """Of (within, mix), 2 × 2."""
        moved = self.weights[1] - self.weights[0]
        by_share = (np.array([-self.factor, moved * self.lean]), np.array([self.factor, moved * (1 - self.lean)]))
        found = sum((g * v) @ g.T for g, v in zip(by_share, self.spread, strict=True))
        if not mix_known:
            change = self.shares[1] - self.shares[0]
            lean = (1 - self.turn, self.turn)
            for sign, part, weight, size in zip((-1, 1), lean, self.weights, self.sizes, strict=True):
                gradient = np.array([part * change, sign * self.used])
                found = found + gradient @ ((np.diag(weight) - np.outer(weight, weight)) / size) @ gradient.T
        return np.asarray(found)

    def parts(self) -> tuple[GroupPart, ...]:
        rows = zip(self.names, *self.weights, self.within, self.mix, strict=True)
        return tuple(GroupPart(name, float(w0), float(w1), float(a), float(b)) for name, w0, w1, a, b in rows)


def _terms(groups: Sequence[GroupCounts], turn: float) -> _Terms:
    held = [one for one in groups if one.n_before or one.n_after]
    x0, n0, x1, n1 = (
        np.array([getattr(one, name) for one in held], dtype=float)
        for name in ("events_before", "n_before", "events_after", "n_after")
    )
    if not n0.sum() or not n1.sum():
        raise ValueError("sets before and after are needed")
    new, gone = n0 == 0, n1 == 0
    p0, p1 = x0 / np.maximum(n0, 1), x1 / np.maximum(n1, 1)
    p0, p1 = np.where(new, p1, p0), np.where(gone, p0, p1)
    w0, w1 = n0 / n0.sum(), n1 / n1.sum()
    factor = np.where(new | gone, 0.0, (1 - turn) * w0 + turn * w1)
    lean = np.where(new, 0.0, np.where(gone, 1.0, turn))
    return _Terms(
        names=tuple(one.name for one in held),
        sizes=(float(n0.sum()), float(n1.sum())),
        weights=(w0, w1),
        shares=(p0, p1),
        spread=(_variance(x0, n0), _variance(x1, n1)),
        factor=factor,
        lean=lean,
        turn=turn,
    )


def _variance(x: Values, n: Values) -> Values:
    middle = (x + 0.5) / (n + 1)
    return np.where(n > 0, middle * (1 - middle) / np.maximum(n, 1), 0.0)


def _fieller(mix: float, total: float, covariance: Matrix, *, level: float) -> Interval | None:
    """Limits of mix / total; none where the total change could be 0."""
    z2 = normal_quantile(level) ** 2
    v_mix, v_total = float(covariance[1, 1]), float(covariance.sum())
    both = float(covariance[1, 0] + covariance[1, 1])
    a = total**2 - z2 * v_total
    if a <= 0:
        return None
    b, c = mix * total - z2 * both, mix**2 - z2 * v_mix
    root = math.sqrt(max(0.0, b * b - a * c))
    return Interval((b - root) / a, (b + root) / a, level, "Fieller")
