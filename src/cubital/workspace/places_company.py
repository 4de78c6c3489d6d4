"""What stands beside contamination over a span of months: single sets, both bottles, growth, collector, use."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any, TypeVar

from cubital.domain.answer import Figure
from cubital.domain.charter import Charter
from cubital.domain.policy import Policy
from cubital.engine import QuerySession
from cubital.indicators.process import bottle_completeness, collector_known, positivity, use_rate
from cubital.indicators.solitary import solitary_shares
from cubital.judge.api import count_months, count_process
from cubital.judge.counts import MonthCounts, ProcessCounts, Scope
from cubital.workspace.policy_rules import policy_limits

Counts = TypeVar("Counts", MonthCounts, ProcessCounts)


def company_figures(session: QuerySession, charter: Charter, *, scope: Scope, policy: Policy) -> tuple[Figure, ...]:
    """The figures over all months of ``scope``; judges, so that the call after may use it. Empty without a month."""
    months = count_months(session, charter, scope=scope, by="network")
    process = count_process(
        session, charter, scope=scope, by="network", limits=policy_limits(policy), judge=False
    )  # fmt: skip
    if not months or not process:
        return ()
    counts, drawn = _summed(months), _summed(process)
    return (
        *solitary_shares(counts),
        bottle_completeness(drawn),
        positivity(counts),
        collector_known(drawn),
        use_rate(counts, None),
    )


def _summed(rows: Sequence[Counts]) -> Counts:
    """Whole numbers added up; medians and what one month does not know are none of the whole."""
    changes: dict[str, Any] = {}
    for one in fields(rows[0]):
        values = [getattr(row, one.name) for row in rows]
        if one.name.endswith(("median_minutes", "median_ml")):
            changes[one.name] = None
        elif all(isinstance(value, int) for value in values):
            changes[one.name] = sum(values)
        elif any(isinstance(value, int) for value in values):
            changes[one.name] = None
    return replace(rows[0], **changes)
