"""The thresholds of a local policy in the shape that the answers take; what it does not hold is Cubital's own."""

from __future__ import annotations

from cubital.answers.people_reading import PeoplePolicy
from cubital.answers.signal_reading import SignalPolicy
from cubital.domain.policy import Policy
from cubital.judge.counts import ProcessLimits

MOST_AT_ONCE = 5  # however much time there is: a longer queue would be a list of names
KEEP_MONTHS = 24  # individual data are kept so long where a policy does not say (common practice, no source)


def policy_people(policy: Policy) -> PeoplePolicy:
    """Target, minimum of draws and capacity for what is said of single people; never more than five at once."""
    held = {value.key: value.value for value in policy.values}
    default = PeoplePolicy()
    return PeoplePolicy(
        target=held.get("contamination_target", default.target),
        min_draws=int(held.get("individual_min_draws", default.min_draws)),
        capacity=min(MOST_AT_ONCE, int(held.get("coaching_capacity", default.capacity))),
        worth_offering=held.get("coaching_worth", default.worth_offering),
    )


def individual_keep_months(policy: Policy) -> int:
    """How many months figures and letters of single people are kept."""
    return max(1, int(next((v.value for v in policy.values if v.key == "individual_keep_months"), KEEP_MONTHS)))


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
