"""From weighed sets to the blood of an episode: single sets as they are, other episodes as two sets drawn apart."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np

from cubital.answers.missed_models import EpisodeVolumes
from cubital.stats.interval import normal_quantile

MOST_POINTS = 40  # so many quantiles stand for the weighed sets; their pairs are few enough to go through
LEVEL = 0.95


def build_episode_volumes(
    totals_ml: Sequence[float], *, single_share: float, shared_error_ml: float = 0.0
) -> EpisodeVolumes:
    """mL per episode from the totals of weighed sets and the share of episodes with a single set (0 to 1).

    An episode with more sets is taken as two that were drawn independently: nobody weighs by episode. Volumes below
    zero (an empty bottle and a tare that is a little off) count as none. ``shared_error_ml`` is the standard deviation
    of a set's mL that all sets share, from one common tare; what differs from bottle to bottle is in the spread of the
    totals already. ``ValueError`` for fewer than two sets.
    """
    if len(totals_ml) < 2 or not 0 <= single_share <= 1:
        raise ValueError("two weighed sets or more, and a share between 0 and 1")
    totals = np.clip(np.asarray(totals_ml, dtype=float), 0.0, None)
    points = _points(totals)
    pairs = (points[:, None] + points[None, :]).ravel()
    singles = np.full(len(points), single_share / len(points))
    doubles = np.full(len(pairs), (1 - single_share) / len(pairs))
    sets_each = 2 - single_share
    sampling = float(totals.std(ddof=1)) / sqrt(len(totals))
    error = normal_quantile(LEVEL) * sets_each * sqrt(sampling**2 + shared_error_ml**2)
    return EpisodeVolumes(
        volumes=tuple(np.concatenate([points, pairs]).tolist()),
        weights=tuple(np.concatenate([singles, doubles]).tolist()), weighed_sets=len(totals), error_ml=error,
    )  # fmt: skip


Row = np.ndarray[tuple[int], np.dtype[np.float64]]


def _points(totals: Row) -> Row:
    """The totals themselves, or as many means of neighbours where there are more; their mean is that of all."""
    ordered = np.sort(totals)
    if len(ordered) <= MOST_POINTS:
        return ordered
    parts = np.array_split(ordered, MOST_POINTS)
    middle = np.asarray([part.mean() for part in parts], dtype=float)
    moved: Row = middle + (ordered.mean() - middle.mean())
    return np.clip(moved, 0.0, None)
