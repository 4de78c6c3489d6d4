"""The workspace's local policy: versions of thresholds, approved by someone until a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import UTC, date, datetime
from typing import Any

from cubital.domain.errors import PolicyProblem
from cubital.domain.policy import Policy, PolicyValue
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.example_policy import build_example_policy
from cubital.workspace.opening import Workspace
from cubital.workspace.writing import note_change, one_transaction


def list_policies(workspace: Workspace) -> tuple[Policy, ...]:
    """Every version, oldest first. A workspace begins with an example that nobody has approved."""
    entries = records.PolicyRecord.objects.using(workspace.alias).order_by("version")
    if workspace.pinned is None:
        return tuple(_policy_of(entry) for entry in entries)
    approved = {version: approval for version, *approval in workspace.pinned.policies}
    return tuple(_as_approved(_policy_of(one), approved[one.version]) for one in entries if one.version in approved)


def current_policy(workspace: Workspace) -> Policy:
    """The version in force: the newest approved one, or the newest of all while none is approved.

    It may be expired; ``Policy.state`` says so for a day.
    """
    policies = list_policies(workspace)
    approved = [policy for policy in policies if policy.approved_by]
    return (approved or list(policies))[-1]


def save_policy(workspace: Workspace, *, policy: Policy) -> Policy:
    """Keeps the values as the next version, a draft. The same name and values as the newest version are no new one."""
    draft = replace(policy, approved_by="", approved_on=None, review_by=None)
    with one_transaction(workspace):
        newest = list_policies(workspace)[-1]
        if (newest.name, newest.values) == (draft.name, draft.values):
            return newest
        numbered = replace(draft, version=newest.version + 1)
        _record_policy(workspace, numbered)
    return numbered


def approve_policy(workspace: Workspace, *, version: int, approved_by: str, on: date, review_by: date) -> Policy:
    """Approves a version until a day; as the newest approved one it is in force from then on."""
    name = " ".join(approved_by.split())
    if not name:
        raise PolicyProblem(_("an approval needs the name of who approves."))
    with one_transaction(workspace) as database:
        entry = records.PolicyRecord.objects.using(database).filter(version=version).first()
        if entry is None:
            raise PolicyProblem(_("there is no policy version {version}.").format(version=version))
        approved = replace(_policy_of(entry), approved_by=name, approved_on=on, review_by=review_by)
        entry.policy = _plain_policy(approved)
        entry.save(using=database)
        note_change(
            workspace, action="approve_policy", subject=f"policy {version}", on=on.isoformat(),
            review_by=review_by.isoformat(), fingerprint=approved.fingerprint(),
        )  # fmt: skip
    return approved


def seed_policy(workspace: Workspace) -> None:
    """Gives a new workspace the example policy as version 1, not approved."""
    if not records.PolicyRecord.objects.using(workspace.alias).exists():
        _record_policy(workspace, build_example_policy())


def _record_policy(workspace: Workspace, policy: Policy) -> None:
    records.PolicyRecord.objects.using(workspace.alias).create(
        version=policy.version, policy=_plain_policy(policy), created_at=datetime.now(UTC)
    )
    note_change(workspace, action="save_policy", subject=f"policy {policy.version}", fingerprint=policy.fingerprint())


def _as_approved(policy: Policy, approval: Sequence[str]) -> Policy:
    """The version with the approval that it had on the day of a pin."""
    by, on, until = approval
    return replace(
        policy, approved_by=by, approved_on=date.fromisoformat(on) if on else None,
        review_by=date.fromisoformat(until) if until else None,
    )  # fmt: skip


def _plain_policy(policy: Policy) -> dict[str, Any]:
    plain = asdict(policy)
    for name in ("approved_on", "review_by"):
        plain[name] = plain[name].isoformat() if plain[name] else None
    return plain


def _policy_of(entry: records.PolicyRecord) -> Policy:
    plain = dict(entry.policy)
    for name in ("approved_on", "review_by"):
        plain[name] = date.fromisoformat(plain[name]) if plain[name] else None
    plain["values"] = tuple(PolicyValue(**value) for value in plain["values"])
    return Policy(**plain)
