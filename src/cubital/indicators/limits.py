"""The policy's limits for how sets are drawn and sent."""

from __future__ import annotations

from cubital.domain.policy import Policy
from cubital.judge.counts import ProcessLimits


def process_limits(policy: Policy) -> ProcessLimits:
    """Limits from the policy's values ``receipt_limit`` and ``receipt_late`` (minutes), ``fill_minimum`` and
    ``fill_maximum`` (millilitres). A fill limit that the policy does not name is none; the two times must be there and
    raise ``PolicyProblem`` where they are not.
    """
    named = {entry.key: entry.value for entry in policy.values}
    return ProcessLimits(
        late_minutes=round(policy.value("receipt_limit")),
        very_late_minutes=round(policy.value("receipt_late")),
        fill_low_ml=named.get("fill_minimum"),
        fill_high_ml=named.get("fill_maximum"),
    )
