"""A month's figures, assembled so that contamination never stands alone."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.domain.answer import Figure, figures_by_key
from cubital.domain.charter import Charter
from cubital.indicators.contamination import contamination_rate, waiting_counts
from cubital.indicators.process import bottle_completeness, collector_known, fill, positivity, receipt_times, use_rate
from cubital.indicators.shares import LEVEL
from cubital.indicators.solitary import solitary_shares
from cubital.judge.counts import MonthCounts, ProcessCounts, ProcessLimits

# A programme that lowers contamination by discouraging cultures or by dropping second sets is a failure.
ALWAYS_BESIDE = (
    "solitary_by_set", "solitary_by_episode", "bottles_complete", "positivity", "fill_median", "use_rate",
    "to_adjudicate", "unresolved", "solitary_commensals",
)  # fmt: skip


def month_figures(
    counts: MonthCounts,
    process: ProcessCounts,
    *,
    charter: Charter,
    limits: ProcessLimits,
    patient_days: int | None = None,
    level: float = LEVEL,
) -> tuple[Figure, ...]:
    """Every figure of one month and place in reading order, contamination first, its companions after it.

    Counts and process of different months or places raise ``ValueError``.
    """
    if (counts.month, counts.facility, counts.unit) != (process.month, process.facility, process.unit):
        raise ValueError("counts and process are of different months or places")
    return check_company(
        (
            contamination_rate(counts, charter, level=level),
            *waiting_counts(counts),
            *solitary_shares(counts, level=level),
            bottle_completeness(process, level=level),
            positivity(counts, level=level),
            *receipt_times(process, limits, level=level),
            collector_known(process, level=level),
            *fill(process, limits, level=level),
            use_rate(counts, patient_days),
        )
    )


def check_company(figures: Sequence[Figure]) -> tuple[Figure, ...]:
    """The figures as they are, unless contamination lacks a companion: that is a ``ValueError``.

    A companion that cannot be computed still stands there, with a note that says why.
    """
    found = figures_by_key(figures)
    if "contamination" in found:
        missing = [key for key in ALWAYS_BESIDE if key not in found]
        if missing:
            raise ValueError(f"contamination is never shown alone: {', '.join(missing)} missing")
        silent = [key for key in ALWAYS_BESIDE if found[key].value is None and not found[key].note]
        if silent:
            raise ValueError(f"without a value and without a reason: {', '.join(silent)}")
    return tuple(figures)
