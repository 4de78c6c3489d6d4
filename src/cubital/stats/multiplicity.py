"""Several questions asked at once: p values adjusted so that chance among many is not taken for a finding.

Benjamini Y, Hochberg Y, J R Stat Soc B 1995;57:289-300. Benjamini Y, Yekutieli D, Ann Stat 2001;29:1165-1188. Holm S,
Scand J Stat 1979;6:65-70. Hochberg Y, Biometrika 1988;75:800-802.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

Method = Literal["bonferroni", "holm", "hochberg", "bh", "by"]


def adjust_p_values(p: Sequence[float], *, method: Method) -> tuple[float, ...]:
    """Adjusted p values in the order given; one at or below a level is a finding at that level.

    Parameters
    ----------
    p : p values, 0 to 1 each (anything else is a ``ValueError``); none gives none.
    method : ``bonferroni``, ``holm`` and ``hochberg`` bound the chance of any false finding, ``bh`` (independent or
        positively related tests) and ``by`` (any) the expected share of false ones among the findings.

    Examples
    --------
    >>> adjust_p_values([0.01, 0.04, 0.03], method="holm")
    (0.03, 0.06, 0.06)
    """
    values = np.asarray(p, dtype=float)
    if values.ndim != 1 or not ((values >= 0) & (values <= 1)).all():
        raise ValueError("p values lie between 0 and 1")
    m = values.size
    if not m:
        return ()
    if method == "bonferroni":
        return tuple(float(one) for one in np.minimum(1.0, m * values))
    order = np.argsort(values, kind="stable")
    rising = values[order]
    if method == "holm":
        adjusted = np.maximum.accumulate(rising * (m - np.arange(m)))
    else:
        adjusted = np.minimum.accumulate((rising * _steps(m, method))[::-1])[::-1]
    back = np.empty(m)
    back[order] = np.minimum(1.0, adjusted)
    return tuple(float(one) for one in back)


def _steps(m: int, method: Method) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    ranks = np.arange(1, m + 1)
    if method == "hochberg":
        return np.asarray(m - ranks + 1.0)
    if method not in ("bh", "by"):
        raise ValueError(f"'{method}' is no method; choose bonferroni, holm, hochberg, bh or by")
    return np.asarray(m / ranks * (float((1 / ranks).sum()) if method == "by" else 1.0))
