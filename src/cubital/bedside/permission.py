"""Whether a policy may speak at the bedside today, and the line of deference under everything it says."""

from __future__ import annotations

from datetime import date

from cubital.domain.collection import CollectionPolicy
from cubital.domain.policy import PolicyState
from cubital.domain.words import _, day_words


def why_silent(policy: CollectionPolicy, today: date) -> str:
    """Why the policy gives no number today; empty when it may speak.

    A draft and an expired policy never speak. An example policy speaks only where its own workspace approved it.
    """
    state = policy.state(today)
    if state is PolicyState.APPROVED:
        return ""
    if state is PolicyState.EXPIRED and policy.review_by is not None:
        return _("No number: this policy was due for review on {day} and has not been approved again.").format(
            day=day_words(policy.review_by)
        )
    if policy.approved_on is not None and policy.approved_on > today:
        return _("No number: this policy is approved from {day} on. Check this device's clock.").format(
            day=day_words(policy.approved_on)
        )
    return _("No number: nobody has approved this policy yet.")


def deferral(policy: CollectionPolicy) -> str:
    """The line that stands under every bedside answer: whose policy this is, and whom to ask."""
    approved = ""
    if policy.approved_by and policy.approved_on and policy.review_by:
        approved = _(", approved by {who} on {day}, review by {review}").format(
            who=policy.approved_by, day=day_words(policy.approved_on), review=day_words(policy.review_by)
        )
    return _(
        "{name}, version {version}{approved}. Follow local policy and your scope of practice; ask the responsible "
        "clinician or laboratory when they differ."
    ).format(name=policy.name, version=policy.version, approved=approved)


def marked(policy: CollectionPolicy, sentence: str) -> str:
    """The sentence, with the word EXAMPLE before it where the policy is the shipped example."""
    return _("EXAMPLE. {sentence}").format(sentence=sentence) if policy.example else sentence


def policy_cautions(policy: CollectionPolicy) -> tuple[str, ...]:
    """The cautions that every bedside answer carries, the example mark first."""
    example = (_("EXAMPLE policy of an invented hospital: not for patients."),) if policy.example else ()
    return (*example, deferral(policy))
