"""Logistic regression in which sets of one person or unit resemble each other: a random intercept per group.

The likelihood of each group is integrated by adaptive Gauss-Hermite quadrature around its own mode (Pinheiro JC, Bates
DM, J Comput Graph Stat 1995;4:12-35); one node is Laplace's approximation. The gradient is the posterior mean of the
score (Louis TA, J R Stat Soc B 1982;44:226-233).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize
from scipy.sparse import csr_array
from scipy.special import expit, gammaln, logsumexp

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval, normal_quantile

Matrix = np.ndarray[tuple[int, int], np.dtype[np.float64]]
Whole = np.ndarray[tuple[int], np.dtype[np.int64]]

DEFAULT_NODES = 25
_LARGEST_EFFECT = 12.0  # an odds ratio of 160,000: the data do not hold the effect back
_STEPS = 60
_FAR = 300.0  # log odds that no double tells from certainty


class NotIdentifiable(ValueError):
    """The data cannot say what was asked: ``why`` is ``rank`` (columns say the same), ``separation`` or ``events``."""

    def __init__(self, why: str, columns: tuple[int, ...] = ()) -> None:
        super().__init__(why)
        self.why = why
        self.columns = columns


@dataclass(frozen=True)
class MixedFit:
    """The fitted model. ``coefficients`` and ``errors`` are log odds (shape p); ``group_sd`` how far groups differ.

    ``log_likelihood`` includes the binomial coefficients. ``group_effects`` are the modes in log odds (shape g), in the
    order of the group numbers. ``covariance`` is that of the coefficients alone (p × p).
    """

    coefficients: Values
    errors: Values
    covariance: Matrix
    group_sd: float
    log_likelihood: float
    group_effects: Values

    def odds_ratio(self, column: int, *, level: float = 0.95) -> Interval:
        """The interval of an odds ratio; its middle is exp(coefficient)."""
        reach = normal_quantile(level) * float(self.errors[column])
        middle = float(self.coefficients[column])
        return Interval(math.exp(middle - reach), math.exp(middle + reach), level, "mixed logistic, Wald")


@dataclass(frozen=True)
class _Data:
    events: Values
    n: Values
    design: Matrix
    group: Whole
    groups: int
    nodes: Values
    log_weights: Values
    adder: Any  # groups × rows, sparse: adding by group is one product

    def sums(self, values: Any) -> Any:
        """Row sums by group; shape (groups, ...)."""
        return self.adder @ values


def fit_mixed_logistic(
    events: Sequence[float],
    n: Sequence[float],
    design: Sequence[Sequence[float]],
    group: Sequence[int],
    *,
    nodes: int = DEFAULT_NODES,
) -> MixedFit:
    """Fits P(event) = logistic(design @ coefficients + effect of the group) to aggregated counts.

    Parameters
    ----------
    events, n : events among draws per row, ``0 <= events <= n``, n above 0 (shape r).
    design : the columns, the constant included (r × p).
    group : the number of each row's group, 0 to g − 1, g at least 2 (shape r).
    nodes : quadrature nodes per group; 1 is Laplace.

    Raises
    ------
    NotIdentifiable
        Columns that say the same (``rank``), no event or nothing else (``events``), an effect without bound
        (``separation``).
    ValueError
        Shapes or counts that do not fit together.
    """
    data = _checked(events, n, design, group, nodes=nodes)
    start = np.append(_plain_fit(data), 0.5)
    bounds = [(None, None)] * (len(start) - 1) + [(0.0, 20.0)]

    def lost(at: Values) -> Any:
        value, slope, _modes = _marginal(data, at)
        return -value if nodes == 1 else (-value, -slope)

    found = minimize(
        lost, start, jac=nodes > 1, bounds=bounds, method="L-BFGS-B",
        options={"ftol": 1e-13, "gtol": 1e-7, "maxiter": 500},
    )  # fmt: skip
    at = np.asarray(found.x)
    _refuse_unbounded(at[:-1], data)
    value, _slope, modes = _marginal(data, at)
    covariance = _covariance(data, at)
    return MixedFit(
        coefficients=at[:-1],
        errors=np.sqrt(np.diag(covariance)),
        covariance=covariance,
        group_sd=float(at[-1]),
        log_likelihood=value + float(_ways(data)),
        group_effects=at[-1] * modes,
    )


def fit_logistic(events: Sequence[float], n: Sequence[float], design: Sequence[Sequence[float]]) -> MixedFit:
    """The same without groups: rows are independent. ``group_sd`` is 0 and there are no group effects."""
    data = _checked(events, n, design, [0] * len(events), nodes=1, least_groups=1)
    at = _plain_fit(data)
    eta = data.design @ at
    mu = data.n * expit(eta)
    information = (data.design * (mu * (1 - expit(eta)))[:, None]).T @ data.design
    covariance = np.linalg.inv(information)
    value = float((data.events * eta - data.n * np.logaddexp(0, eta)).sum()) + float(_ways(data))
    return MixedFit(at, np.sqrt(np.diag(covariance)), covariance, 0.0, value, np.zeros(0))


def _ways(data: _Data) -> float:
    return float((gammaln(data.n + 1) - gammaln(data.events + 1) - gammaln(data.n - data.events + 1)).sum())


def _checked(
    events: Sequence[float],
    n: Sequence[float],
    design: Sequence[Sequence[float]],
    group: Sequence[int],
    *,
    nodes: int,
    least_groups: int = 2,
) -> _Data:
    x, sizes = np.asarray(events, dtype=float), np.asarray(n, dtype=float)
    columns, places = np.asarray(design, dtype=float), np.asarray(group, dtype=np.int64)
    if columns.ndim != 2 or not x.shape == sizes.shape == places.shape == columns.shape[:1]:
        raise ValueError("events, draws, design and groups do not have one length")
    if (sizes <= 0).any() or (x < 0).any() or (x > sizes).any():
        raise ValueError("each row needs draws, and events among them")
    if not 0 < x.sum() < sizes.sum():
        raise NotIdentifiable("events")
    if np.linalg.matrix_rank(columns) < columns.shape[1]:
        raise NotIdentifiable("rank", _tangled(columns))
    groups = int(places.max()) + 1
    if groups < least_groups or (places < 0).any():
        raise NotIdentifiable("groups")
    at, weight = np.polynomial.hermite_e.hermegauss(nodes)
    adder = csr_array((np.ones(len(x)), (places, np.arange(len(x)))), shape=(groups, len(x)))
    return _Data(x, sizes, columns, places, groups, at, np.log(weight) + at**2 / 2, adder)


def _tangled(columns: Matrix) -> tuple[int, ...]:
    """The columns that take part in saying the same thing twice."""
    _u, size, right = np.linalg.svd(columns, full_matrices=True)
    spare = right[int((size > size[0] * 1e-10).sum()) :]
    return tuple(int(i) for i in np.flatnonzero(np.abs(spare).max(axis=0) > 1e-8))


def _plain_fit(data: _Data) -> Values:
    """Logistic regression without groups by Newton's method; raises where an effect has no bound."""
    at = np.zeros(data.design.shape[1])
    for _step in range(_STEPS):
        p = expit(data.design @ at)
        slope = data.design.T @ (data.events - data.n * p)
        information = (data.design * (data.n * p * (1 - p))[:, None]).T @ data.design
        try:
            step = np.linalg.solve(information, slope)
        except np.linalg.LinAlgError:
            raise NotIdentifiable("separation") from None
        at = at + step * min(1.0, 4.0 / max(1e-12, float(np.abs(step).max())))
        _refuse_unbounded(at, data)
        if np.abs(step).max() < 1e-9:
            break
    return np.asarray(at)


def _refuse_unbounded(at: Values, data: _Data) -> None:
    """An effect beyond any that a set of this kind could have means that one side holds no event at all."""
    reach = np.abs(at) * np.ptp(data.design, axis=0)
    large = np.flatnonzero(reach > _LARGEST_EFFECT)
    if large.size or not np.isfinite(at).all() or np.abs(data.design @ at).max() > 4 * _LARGEST_EFFECT:
        raise NotIdentifiable("separation", tuple(int(i) for i in large))


def _modes(data: _Data, eta: Values, sd: float) -> tuple[Values, Values]:
    """The mode of each group's standardised effect u, and its curvature there, by Newton's method for all at once."""
    u = np.zeros(data.groups)
    curvature = np.ones(data.groups)
    for _step in range(_STEPS):
        p = expit(eta + sd * u[data.group])
        slope = data.sums(sd * (data.events - data.n * p)) - u
        curvature = data.sums(sd**2 * data.n * p * (1 - p)) + 1
        step = np.clip(slope / curvature, -3.0, 3.0)
        u = u + step
        if np.abs(step).max() < 1e-11:
            break
    return u, curvature


def _marginal(data: _Data, at: Values) -> tuple[float, Values, Values]:
    """Log likelihood without binomial coefficients, its gradient in (coefficients, sd), and the modes."""
    eta, sd = np.clip(data.design @ at[:-1], -_FAR, _FAR), float(at[-1])
    modes, curvature = _modes(data, eta, sd)
    scale = 1 / np.sqrt(curvature)
    u = modes[:, None] + scale[:, None] * data.nodes  # groups × nodes
    # e^(eta + effect) as a product: an exponential per row and per group's node, not for each of their pairs. And node
    # by node: arrays of one column stay in the processor's cache, which is three times as fast as all at once.
    reach = np.clip(sd * u, -_FAR, _FAR)
    base, far = np.exp(eta), np.exp(reach)
    rows = data.sums(data.events * eta)[:, None] + data.sums(data.events)[:, None] * reach
    residuals, by_group = np.empty((len(data.nodes), len(eta))), np.empty_like(u)
    for node, residual in enumerate(residuals):
        odds = base * far[data.group, node]
        rows[:, node] -= data.sums(data.n * np.log1p(odds))
        np.subtract(data.events, data.n * (odds / (1 + odds)), out=residual)
        by_group[:, node] = data.sums(residual)
    inside = rows - u**2 / 2 + data.log_weights
    whole = logsumexp(inside, axis=1)
    value = float((whole + np.log(scale)).sum()) - data.groups * math.log(2 * math.pi) / 2
    share = np.exp(inside - whole[:, None])
    weighted = sum((residual * share[data.group, node] for node, residual in enumerate(residuals)), np.zeros(len(eta)))
    by_sd = float((by_group * u * share).sum())
    return value, np.append(data.design.T @ weighted, by_sd), modes


def _covariance(data: _Data, at: Values) -> Matrix:
    """Inverse of the observed information, by differences of the gradient (of the value where there is one node)."""
    slope = _numeric_slope(data) if len(data.nodes) == 1 else (lambda point: _marginal(data, point)[1])
    size = len(at)
    step = _steps(data, at)
    free = size if at[-1] > 1e-3 else size - 1  # at no spread the spread is held: it cannot go below
    information = np.empty((free, free))
    for column in range(free):
        move = np.zeros(size)
        move[column] = step[column]
        information[column] = -((slope(at + move) - slope(at - move)) / (2 * step[column]))[:free]
    information = (information + information.T) / 2
    try:
        covariance = np.linalg.inv(information)
    except np.linalg.LinAlgError:
        raise NotIdentifiable("separation") from None
    if (np.diag(covariance) <= 0).any():
        raise NotIdentifiable("separation")
    return np.asarray(covariance[: size - 1, : size - 1])


def _steps(data: _Data, at: Values) -> Values:
    """Steps for differences: small in log odds, whatever the unit of a column is."""
    unit = np.append(np.abs(data.design).max(axis=0), 1.0)
    return np.asarray(1e-4 * np.maximum(1.0, np.abs(at) * unit) / unit)


def _numeric_slope(data: _Data) -> Callable[[Values], Values]:
    def slope(at: Values) -> Values:
        step = _steps(data, at)
        found = np.empty_like(at)
        for place in range(len(at)):
            move = np.zeros_like(at)
            move[place] = step[place]
            found[place] = (_marginal(data, at + move)[0] - _marginal(data, at - move)[0]) / (2 * step[place])
        return found

    return slope
