"""What a change did, read from a segmented fit: ratio after so many months, the line without it, events it spared."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import Matrix
from cubital.stats.segmented import LinearFit, student_quantile
from cubital.stats.segmented_counts import CountFit, Family
from cubital.stats.segmented_design import SegmentedDesign, change_row, level_name, slope_name


@dataclass(frozen=True)
class Effect:
    """An ``estimate`` and its ``interval``; 1 is no effect for a ratio, 0 for a difference."""

    estimate: float
    interval: Interval


@dataclass(frozen=True)
class CountLines:
    """Shares, rates or measured values per point fitted: ``expected``, and ``without`` the last change, with limits.

    All have one value per time of the design; before the change the two lines are one.
    """

    times: tuple[int, ...]
    expected: Values
    without: Values
    without_low: Values
    without_high: Values


def level_ratio(fit: CountFit, design: SegmentedDesign, *, which: int = 0, level: float = 0.95) -> Effect:
    """The step at the first (0) or second (1) change as a ratio of rates or odds."""
    return _ratio(fit, _unit(design, level_name(which)), level=level)


def slope_ratio(fit: CountFit, design: SegmentedDesign, *, which: int = 0, level: float = 0.95) -> Effect:
    """By how much a change bends the slope, as a ratio per point; ``ValueError`` where no bend was fitted."""
    return _ratio(fit, _unit(design, slope_name(which)), level=level)


def ratio_after(fit: CountFit, design: SegmentedDesign, months: float, *, level: float = 0.95) -> Effect:
    """The last change's effect ``months`` after its first point against no change, as a ratio of rates or odds."""
    return _ratio(fit, change_row(design, months), level=level)


def difference_after(fit: CountFit, design: SegmentedDesign, months: int, *, level: float = 0.95) -> Effect:
    """The same as a difference of shares or rates (with minus without), by the delta method; −1 to 1 for shares.

    ``months`` after the last change must be a point that was fitted (``ValueError``).
    """
    at = [int(time) for time in design.times].index(design.shape.changes[-1] + months)
    gradient = _slopes(fit, design.matrix[[at]]) - _slopes(fit, design.without[[at]])
    estimate = float((_level(fit, design.matrix[[at]]) - _level(fit, design.without[[at]]))[0])
    return _delta(fit, estimate, gradient[0], level=level)


def events_spared(fit: CountFit, design: SegmentedDesign, n: Values, *, level: float = 0.95) -> Effect:
    """Events expected without the last change minus those expected with it, over all points from it on.

    ``n`` is the exposure per fitted point. Negative where the change added events. Delta method; it takes the line
    before the change as if it would have gone on.
    """
    after = np.asarray(design.times) >= design.shape.changes[-1]
    sizes = np.asarray(n, dtype=float)[after]
    kept, left = design.matrix[after], design.without[after]
    estimate = float(sizes @ (_level(fit, left) - _level(fit, kept)))
    return _delta(fit, estimate, sizes @ (_slopes(fit, left) - _slopes(fit, kept)), level=level)


def count_lines(fit: CountFit, design: SegmentedDesign, *, level: float = 0.95) -> CountLines:
    """The fitted line and the line that would have been without the last change."""
    middle = design.without @ fit.coefficients
    spread = np.sqrt(np.maximum(0.0, np.einsum("ij,jk,ik->i", design.without, fit.covariance, design.without)))
    reach = student_quantile(level, fit.df) * spread
    back = _link_back(fit)
    return CountLines(
        times=tuple(int(at) for at in design.times),
        expected=_level(fit, design.matrix),
        without=back(middle),
        without_low=back(middle - reach),
        without_high=back(middle + reach),
    )


def value_lines(fit: LinearFit, design: SegmentedDesign, *, level: float = 0.95) -> CountLines:
    """The same two lines for a measured series, in its own units."""
    found = [fit.combine(row, level=level)[1] for row in design.without]
    return CountLines(
        times=tuple(int(at) for at in design.times),
        expected=np.asarray(design.matrix @ fit.coefficients),
        without=np.asarray(design.without @ fit.coefficients),
        without_low=np.array([span.low for span in found]),
        without_high=np.array([span.high for span in found]),
    )


def value_after(fit: LinearFit, design: SegmentedDesign, months: float, *, level: float = 0.95) -> Effect:
    """The last change's effect on a measured series ``months`` after its first point, in the series' own units."""
    return Effect(*fit.combine(change_row(design, months), level=level))


def _unit(design: SegmentedDesign, name: str) -> Values:
    row = np.zeros(len(design.columns))
    row[design.column(name)] = 1.0
    return row


def _ratio(fit: CountFit, row: Values, *, level: float) -> Effect:
    return Effect(*fit.ratio(row, level=level))


def _link_back(fit: CountFit) -> np.ufunc:
    return np.exp if fit.family is Family.POISSON else expit


def _level(fit: CountFit, rows: Matrix) -> Values:
    return np.asarray(_link_back(fit)(rows @ fit.coefficients))


def _slopes(fit: CountFit, rows: Matrix) -> Matrix:
    """The gradient of each row's share or rate in the coefficients."""
    value = _level(fit, rows)
    return np.asarray(rows * (value if fit.family is Family.POISSON else value * (1 - value))[:, None])


def _delta(fit: CountFit, estimate: float, gradient: Values, *, level: float) -> Effect:
    reach = student_quantile(level, fit.df) * math.sqrt(max(0.0, float(gradient @ fit.covariance @ gradient)))
    return Effect(estimate, Interval(estimate - reach, estimate + reach, level, "delta method"))
