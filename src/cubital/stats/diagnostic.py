"""Arithmetic of tests that are repeated or combined: likelihood ratios, several sets, pairs of tests, counting sets.

For explaining how counting works and for models over many patients; never a statement about one patient.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cubital.stats.interval import Interval, normal_quantile


@dataclass(frozen=True, kw_only=True)
class Likelihood:
    """A likelihood ratio with its interval; infinite or zero where a cell is empty, and then without an interval."""

    value: float
    interval: Interval | None


def positive_likelihood(tp: int, *, fp: int, fn: int, tn: int, level: float = 0.95) -> Likelihood:
    """Sensitivity over false positives, with the logarithmic interval.

    Parameters
    ----------
    tp, fp, fn, tn : counts, 0 or more; at least one with and one without the condition.

    References
    ----------
    Simel DL, Samsa GP, Matchar DB. J Clin Epidemiol 1991;44:763-770 (from memory).

    Examples
    --------
    >>> round(positive_likelihood(670, fp=202, fn=74, tn=640).value, 2)
    3.75
    """
    return _likelihood(tp, tp + fn, other=fp, others=fp + tn, level=level)


def negative_likelihood(tp: int, *, fp: int, fn: int, tn: int, level: float = 0.95) -> Likelihood:
    """Missed over true negatives, with the logarithmic interval; arguments as for ``positive_likelihood``."""
    return _likelihood(fn, tp + fn, other=tn, others=fp + tn, level=level)


def _likelihood(one: int, ones: int, *, other: int, others: int, level: float) -> Likelihood:
    if min(one, other) < 0 or min(ones, others) < 1 or one > ones or other > others:
        raise ValueError("a table needs counts, and somebody with and somebody without the condition")
    if not one or not other:
        value = math.nan if not one and not other else (math.inf if one else 0.0)
        return Likelihood(value=value, interval=None)
    value = (one / ones) / (other / others)
    half = normal_quantile(level) * math.sqrt(1 / one - 1 / ones + 1 / other - 1 / others)
    spread = Interval(value * math.exp(-half), value * math.exp(half), level, "logarithm of the ratio")
    return Likelihood(value=value, interval=spread)


def post_test(prior: float, *, likelihood: float) -> float:
    """The probability after a finding of that likelihood ratio: odds times ratio.

    Examples
    --------
    >>> round(post_test(0.05, likelihood=0.89 / 0.15), 2)
    0.24
    """
    _check_shares(prior)
    if likelihood < 0:
        raise ValueError("a likelihood ratio is not negative")
    if math.isinf(likelihood):
        return 1.0 if prior else 0.0
    return prior * likelihood / (1 - prior + prior * likelihood)


def naive_bayes(prior: float, *, findings: Sequence[bool], sens: Sequence[float], spec: Sequence[float]) -> float:
    """The probability after several findings, taken as independent of each other given the condition.

    Real findings hardly ever are: the answer is then too sure in both directions.

    Examples
    --------
    >>> round(naive_bayes(0.08, findings=[True, False, True], sens=[0.7, 0.85, 0.6], spec=[0.9, 0.8, 0.95]), 3)
    0.578
    """
    _check_shares(prior, *sens, *spec)
    with_it, without = prior, 1 - prior
    for found, s, c in zip(findings, sens, spec, strict=True):
        with_it *= s if found else 1 - s
        without *= 1 - c if found else c
    if with_it + without == 0:
        raise ValueError("these findings cannot occur together under those sensitivities")
    return with_it / (with_it + without)


def independent_sets(first: float, *, sets: int) -> tuple[float, ...]:
    """The share found with 1, 2 ... ``sets`` sets, if every set were a fresh chance: 1 - (1 - first)**k.

    Series of sets show less with the second set (Lee 2007: 89.7 % and not 92.8 %), because what one set misses the next
    one tends to miss too; so this is an upper line.

    Examples
    --------
    >>> [round(share, 3) for share in independent_sets(460 / 629, sets=2)]
    [0.731, 0.928]
    """
    _check_shares(first)
    if sets < 1:
        raise ValueError("at least one set")
    return tuple(1 - (1 - first) ** k for k in range(1, sets + 1))


@dataclass(frozen=True, kw_only=True)
class Combined:
    """Sensitivity and specificity of two tests read together."""

    sens: float
    spec: float


def in_series(
    sens: tuple[float, float], spec: tuple[float, float], *, cov_sens: float = 0, cov_spec: float = 0
) -> Combined:
    """Two tests of which both must be positive; covariances are 0 where they are independent.

    References
    ----------
    Dohoo I, Martin W, Stryhn H, Veterinary Epidemiologic Research, chapter on screening tests.

    Examples
    --------
    >>> found = in_series((0.90, 0.95), (0.80, 0.85))
    >>> round(found.sens, 3), round(found.spec, 3)
    (0.855, 0.97)
    """
    _check_shares(*sens, *spec)
    both, neither = sens[0] * sens[1] + cov_sens, (1 - spec[0]) * (1 - spec[1]) + cov_spec
    return Combined(sens=both, spec=1 - neither)


def in_parallel(
    sens: tuple[float, float], spec: tuple[float, float], *, cov_sens: float = 0, cov_spec: float = 0
) -> Combined:
    """Two tests of which one positive is enough; otherwise as ``in_series``."""
    _check_shares(*sens, *spec)
    missed, clear = (1 - sens[0]) * (1 - sens[1]) + cov_sens, spec[0] * spec[1] + cov_spec
    return Combined(sens=1 - missed, spec=clear)


def counted_sets_ppv(positive: int, *, sets: int, prior: float, sens: float, contaminated: float) -> float:
    """Among many series with ``positive`` of ``sets`` sets growing a commensal, the share with a true bacteraemia.

    Parameters
    ----------
    positive, sets : 0 to ``sets``, at least one set.
    prior : share of series with a true bacteraemia by that organism.
    sens : share of sets that then grow it.
    contaminated : share of sets that grow it otherwise.

    Notes
    -----
    Binomial on both sides; for blood drawn by vein only. It explains why one positive of three counts for so little. It
    leaves out symptoms, devices and the organism's name, and is no statement about a patient.

    References
    ----------
    Tokars JI. Clin Infect Dis 2004;39:333-341.

    Examples
    --------
    >>> round(counted_sets_ppv(1, sets=3, prior=0.03, sens=0.8, contaminated=0.02), 3)
    0.049
    """
    _check_shares(prior, sens, contaminated)
    if not 0 <= positive <= sets or sets < 1:
        raise ValueError("as many positive sets as there are, at most")
    true = prior * sens**positive * (1 - sens) ** (sets - positive)
    false = (1 - prior) * contaminated**positive * (1 - contaminated) ** (sets - positive)
    if true + false == 0:
        raise ValueError("this pattern cannot occur under those shares")
    return true / (true + false)


def _check_shares(*shares: float) -> None:
    if any(not 0 <= share <= 1 for share in shares):
        raise ValueError("shares lie between 0 and 1")
