"""Segmented regression of a measured series: least squares with robust errors, and errors that follow each other."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.integrate import quad
from scipy.special import stdtrit

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.mixed_logistic import Matrix, NotIdentifiable, Whole
from cubital.stats.robust_errors import Errors, robust_covariance, usual_lag, with_lag


@dataclass(frozen=True)
class LinearFit:
    """A straight-line model. ``coefficients`` and ``errors`` are in the units of y (shape p), ``covariance`` p × p.

    ``df`` are the degrees of freedom of Student's t. ``residuals`` are of the original rows. ``durbin_watson`` lies
    between 0 and 4, near 2 where neighbours do not resemble each other; ``correlation`` is the AR(1) coefficient that
    the errors were taken to have, 0 where none. ``errors_by`` names the errors, ``lag`` theirs.
    """

    coefficients: Values
    errors: Values
    covariance: Matrix
    residuals: Values
    df: int
    durbin_watson: float
    errors_by: str
    lag: int = 0
    correlation: float = 0.0

    def combine(self, row: Sequence[float] | Values, *, level: float = 0.95) -> tuple[float, Interval]:
        """The value of ``row`` · coefficients, with Student's interval; in units of y."""
        weights = np.asarray(row, dtype=float)
        middle = float(weights @ self.coefficients)
        reach = student_quantile(level, self.df) * math.sqrt(max(0.0, float(weights @ self.covariance @ weights)))
        return middle, Interval(middle - reach, middle + reach, level, f"{self.errors_by}, Student's t")


def student_quantile(level: float, df: float | None) -> float:
    """The two-sided quantile of Student's t; the normal one where ``df`` is none."""
    if df is None:
        return normal_quantile(level)
    normal_quantile(level)  # checks the level
    return float(stdtrit(df, 0.5 + level / 2))


def fit_linear(
    y: Sequence[float] | Values,
    design: Sequence[Sequence[float]] | Matrix,
    *,
    errors: Errors = Errors.NEWEY_WEST,
    lag: int | None = None,
    times: Whole | None = None,
    small_sample: bool = True,
) -> LinearFit:
    """Ordinary least squares with the errors asked for.

    Parameters
    ----------
    y : measured values, one per row (shape r).
    design : the columns, the constant included (r × p), p below r.
    errors : MODEL, WHITE, NEWEY_WEST or NEWEY_WEST_WIDE.
    lag : points over which neighbours may resemble each other; none takes ``usual_lag``.
    times : positions of the rows, where some are missing.
    small_sample : multiplies the variance of White's and Newey and West's errors by r / (r − p).

    Raises
    ------
    NotIdentifiable
        Columns that say the same.
    ValueError
        Shapes that do not fit, or no more rows than columns.

    References
    ----------
    Newey WK, West KD, Econometrica 1987;55:703-708; White H, Econometrica 1980;48:817-838.

    Examples
    --------
    >>> fit = fit_linear([1.0, 2.1, 2.9, 4.2], [[1, 0], [1, 1], [1, 2], [1, 3]], errors=Errors.MODEL)
    >>> [round(float(b), 3) for b in fit.coefficients]
    [0.99, 1.04]
    """
    values, columns = checked_rows(y, design)
    if errors is Errors.QUASI:
        raise ValueError("a dispersion is found for counts only")
    bread: Matrix = np.asarray(np.linalg.inv(columns.T @ columns), dtype=float)
    found = bread @ columns.T @ values
    left = values - columns @ found
    rows, wide = columns.shape
    used = (usual_lag(rows) if lag is None else lag) if with_lag(errors) else 0
    if errors is Errors.MODEL:
        covariance = bread * float(left @ left) / (rows - wide)
    else:
        leverage = np.einsum("ij,jk,ik->i", columns, bread, columns)
        covariance = robust_covariance(
            bread, columns * left[:, None], leverage=leverage, errors=errors, lag=used, times=times,
            small_sample=small_sample,
        )  # fmt: skip
    return LinearFit(
        found, np.sqrt(np.diag(covariance)), covariance, left, rows - wide, durbin_watson(left), errors.value, used
    )


def checked_rows(y: Sequence[float] | Values, design: Sequence[Sequence[float]] | Matrix) -> tuple[Values, Matrix]:
    """The values and columns as arrays that fit together, with full rank and more rows than columns."""
    values, columns = np.asarray(y, dtype=float), np.asarray(design, dtype=float)
    if columns.ndim != 2 or values.shape != columns.shape[:1]:
        raise ValueError("values and design do not have one length")
    if not np.isfinite(values).all() or not np.isfinite(columns).all():
        raise ValueError("a value is missing")
    if np.linalg.matrix_rank(columns) < columns.shape[1]:
        raise NotIdentifiable("rank", _tangled_columns(columns))
    if len(values) <= columns.shape[1]:
        raise ValueError("no more points than columns: nothing is left to judge the fit by")
    return values, columns


def _tangled_columns(columns: Matrix) -> tuple[int, ...]:
    from cubital.stats.identifiability import check_columns

    names = tuple(str(at) for at in range(columns.shape[1]))
    return tuple(int(name) for name in check_columns(names, columns).inseparable)


def fit_prais_winsten(
    y: Sequence[float] | Values,
    design: Sequence[Sequence[float]] | Matrix,
    *,
    tolerance: float = 1e-8,
    most_rounds: int = 200,
) -> LinearFit:
    """Least squares where each error is a share of the one before plus something new: AR(1), iterated to rest.

    The first point is kept. Rows must follow each other without gaps. ``correlation`` is the regression of the
    residuals on those a point earlier.

    Notes
    -----
    Where it does not come to rest, or the correlation passes 1, the rounds end; ``correlation`` is held below 0.999.

    References
    ----------
    Prais SJ, Winsten CB, Cowles Commission Discussion Paper 383, 1954.
    """
    values, columns = checked_rows(y, design)
    correlation = 0.0
    for _round in range(most_rounds):
        left = values - columns @ np.linalg.lstsq(whiten(columns, correlation), whiten(values, correlation))[0]
        earlier = float(left[:-1] @ left[:-1])
        following = float(np.clip(left[1:] @ left[:-1] / earlier, -0.999, 0.999)) if earlier > 0 else 0.0
        settled = abs(following - correlation) < tolerance
        correlation = following
        if settled:
            break
    fit = fit_linear(whiten(values, correlation), whiten(columns, correlation), errors=Errors.MODEL)
    return replace(
        fit, residuals=values - columns @ fit.coefficients, errors_by="Prais-Winsten", correlation=correlation
    )


def whiten(rows: Any, correlation: float) -> Any:
    """Rows freed of an AR(1) correlation: each minus its share of the one before, the first drawn in."""
    out = rows.copy()
    out[1:] = rows[1:] - correlation * rows[:-1]
    out[0] = rows[0] * math.sqrt(1 - correlation**2)
    return out


def durbin_watson(residuals: Sequence[float] | Values) -> float:
    """Squared steps between neighbours over squared residuals: 2 without, 0 with full positive correlation.

    Not a number where every residual is 0. References: Durbin J, Watson GS, Biometrika 1950;37:409-428.
    """
    left = np.asarray(residuals, dtype=float)
    whole = float(left @ left)
    return float((np.diff(left) ** 2).sum() / whole) if whole > 0 else math.nan


def durbin_watson_chance(statistic: float, design: Sequence[Sequence[float]] | Matrix) -> float:
    """How often independent normal errors give a Durbin–Watson statistic this low: small says neighbours are alike.

    Exact for the design by Imhof's integral.

    References: Imhof JP, Biometrika 1961;48:419-426.
    """
    columns = np.asarray(design, dtype=float)
    rows = len(columns)
    steps = np.diff(np.eye(rows), axis=0)
    basis = np.linalg.qr(columns, mode="complete")[0][:, columns.shape[1] :]
    weights = np.linalg.eigvalsh(basis.T @ (steps.T @ steps) @ basis) - statistic

    def wave(u: float) -> float:
        # P(sum of weights × chi-squares > 0); quad's nodes never lie at 0 itself.
        angle = float(np.arctan(weights * u).sum()) / 2
        shrink = float(np.log1p((weights * u) ** 2).sum()) / 4
        return math.sin(angle) / (u * math.exp(shrink))

    above = 0.5 + quad(wave, 0, np.inf, limit=500)[0] / math.pi
    return float(np.clip(1 - above, 0.0, 1.0))
