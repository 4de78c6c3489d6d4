"""The thresholds of a local policy in the shape that the answers take; what it does not hold is Cubital's own."""

from __future__ import annotations

from cubital.answers.signal_reading import SignalPolicy
from cubital.domain.policy import Policy
from cubital.judge.counts import ProcessLimits


def policy_signal(policy: Policy) -> SignalPolicy:
    """The signal rules of a local policy; a value that it does not hold is Cubital's own."""
    held = {value.key: value.value for value in policy.values}
    default = SignalPolicy()
    return SignalPolicy(
        sigmas=held.get("limit_sigmas", default.sigmas),
        most_chance=held.get("signal_chance", default.most_chance),
        shift_points=int(held.get("shift_points", default.shift_points)),
        trend_points=int(held.get("trend_points", default.trend_points)),
        min_points=int(held.get("baseline_min_points", default.min_points)),
        min_sets=int(held.get("baseline_min_sets", default.min_sets)),
        target=held.get("contamination_target", default.target),
    )


def policy_limits(policy: Policy) -> ProcessLimits:
    """The limits of a local policy for what stands beside contamination."""
    held = {value.key: value.value for value in policy.values}
    default = ProcessLimits()
    return ProcessLimits(
        late_minutes=int(held.get("receipt_limit", default.late_minutes)),
        very_late_minutes=int(held.get("receipt_late", default.very_late_minutes)),
        fill_low_ml=held.get("fill_minimum"),
        fill_high_ml=held.get("fill_maximum"),
    )
