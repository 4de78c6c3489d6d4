"""Is somebody learning a step? Sequential charts with limits set beforehand, over attempts done well or not.

Wald A, Sequential Analysis, 1947 (two limits: good enough, not good enough). Biau DJ, Porcher R, Stat Med
2010;29:1900-1909 (one limit: competence is signalled, and a bad start does not hang on).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cubital.stats.attribute_charts import Values
from cubital.stats.run_lengths import bernoulli_cusum_run_length
from cubital.stats.sequential_charts import ScoreChart, score_cusum

_LEFT_OUT = 1e-14


@dataclass(frozen=True)
class TwoLimits:
    """The score goes up by ``1 − step`` at a failure and down by ``step`` at a success.

    At or below ``−good`` the failure share is taken for acceptable, at or above ``bad`` for unacceptable.
    """

    step: float
    good: float
    bad: float


@dataclass(frozen=True)
class Cost:
    """What two limits cost at a true share: the chance of each end, and how many attempts it takes on average."""

    accepted: float
    refused: float
    attempts: float


def two_limits(*, acceptable: float, unacceptable: float, false_bad: float = 0.1, false_good: float = 0.1) -> TwoLimits:
    """Wald's limits for two failure shares, ``0 < acceptable < unacceptable < 1``, and the two chances of error."""
    if not 0 < acceptable < unacceptable < 1 or not 0 < false_bad < 0.5 or not 0 < false_good < 0.5:
        raise ValueError("0 < acceptable < unacceptable < 1, and chances of error below a half, are needed")
    up = math.log(unacceptable / acceptable)
    down = math.log((1 - acceptable) / (1 - unacceptable))
    both = up + down
    good = math.log((1 - false_bad) / false_good) / both
    bad = math.log((1 - false_good) / false_bad) / both
    return TwoLimits(step=down / both, good=good, bad=bad)


def scores(failures: Sequence[int], limits: TwoLimits) -> Values:
    """The running score after each attempt; ``failures`` holds 1 for an attempt not done well, 0 otherwise."""
    failed = np.asarray(failures, dtype=float)
    if failed.ndim != 1 or not np.isin(failed, (0.0, 1.0)).all():
        raise ValueError("each attempt is 0 or 1")
    return np.asarray(np.cumsum(failed - limits.step))


def cost_of(limits: TwoLimits, *, share: float) -> Cost:
    """Exactly what the limits do at a true failure ``share``, step by step over the number of failures so far."""
    if not 0 < share < 1:
        raise ValueError(f"a share of {share} is not between 0 and 1")
    alive, accepted, refused, attempts, made = {0: 1.0}, 0.0, 0.0, 0.0, 0
    while (mass := sum(alive.values())) > _LEFT_OUT:
        attempts += mass
        made += 1
        after: dict[int, float] = {}
        for failures, chance in alive.items():
            for more, part in ((1, share), (0, 1 - share)):
                score = failures + more - made * limits.step
                if score >= limits.bad:
                    refused += chance * part
                elif score <= -limits.good:
                    accepted += chance * part
                else:
                    after[failures + more] = after.get(failures + more, 0.0) + chance * part
        alive = after
    return Cost(accepted, refused, attempts)


def competence_chart(failures: Sequence[int], *, inadequate: float, adequate: float, limit: float) -> ScoreChart:
    """The sum that signals competence: up at a success, down at a failure, never below 0."""
    if not 0 < adequate < inadequate < 1:
        raise ValueError("0 < adequate < inadequate < 1 is needed")
    failed = np.asarray(failures, dtype=float)
    if failed.ndim != 1 or not failed.size or not np.isin(failed, (0.0, 1.0)).all():
        raise ValueError("at least one attempt, each 0 or 1, is needed")
    at_failure = math.log(adequate / inadequate)
    at_success = math.log((1 - adequate) / (1 - inadequate))
    return score_cusum(np.where(failed == 1.0, at_failure, at_success).tolist(), limit=limit)


def attempts_to_competence(*, inadequate: float, adequate: float, limit: float, share: float) -> float:
    """Average attempts until competence is signalled when ``share`` is the true share of failures, exactly."""
    return bernoulli_cusum_run_length(usual=1 - inadequate, changed=1 - adequate, limit=limit, rate=1 - share)
