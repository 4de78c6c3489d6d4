"""The workspace's policy on collecting: versions, approval under seal, and which one may speak.

An approval is sealed with the workspace's secret over everything the policy says. A policy whose text was changed after
approval, or that brings an approval from elsewhere, is a draft here.
"""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from cubital.bedside.policy_file import (
    EXAMPLE_SOURCE,
    example_policy,
    flat_values,
    policy_fingerprint,
    read_policy,
    write_policy,
)
from cubital.domain.collection import CollectionPolicy
from cubital.domain.errors import FileProblem, PolicyProblem
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.opening import Workspace
from cubital.workspace.writing import note_change, one_transaction

LONGEST_POLICY_FILE = 2_000_000  # bytes; the example has 20,000
CLOCK_SLACK = timedelta(days=1)  # a travelling laptop may stand in another time zone
LONGEST_APPROVAL = timedelta(days=3 * 366)  # two- or three-year cycles are usual (common practice, no source)
DEMO_ACTION = "mark_demo"


def list_collection_policies(workspace: Workspace) -> tuple[CollectionPolicy, ...]:
    """Every version, oldest first; approvals whose seal does not hold are taken off."""
    entries = records.CollectionPolicyRecord.objects.using(workspace.alias).order_by("version")
    return tuple(_policy_of(workspace, entry.text, entry.seal) for entry in entries)


def current_collection_policy(workspace: Workspace) -> CollectionPolicy:
    """The newest approved version, or the newest draft, or the shipped example as a draft where there is none.

    Refuses to hand anything out while the computer's clock stands before the workspace's last change: an expired policy
    must not come back to life by a wrong date.
    """
    _check_clock(workspace)
    policies = list_collection_policies(workspace)
    approved = [policy for policy in policies if policy.approved_by]
    return (approved or list(policies) or [example_policy()])[-1]


def find_collection_policy(workspace: Workspace, version: int) -> CollectionPolicy:
    """The version of that number; ``PolicyProblem`` where there is none."""
    entry = records.CollectionPolicyRecord.objects.using(workspace.alias).filter(version=version).first()
    if entry is None:
        raise PolicyProblem(_("there is no version {version} of the policy on collecting.").format(version=version))
    return _policy_of(workspace, entry.text, entry.seal)


def save_collection_policy(workspace: Workspace, *, policy: CollectionPolicy) -> CollectionPolicy:
    """Keeps the policy as the next version, a draft whatever approval it brought along."""
    with one_transaction(workspace) as database:
        newest = records.CollectionPolicyRecord.objects.using(database).order_by("-version").first()
        version = (newest.version if newest else 0) + 1
        draft = replace(policy, version=version, approved_by="", approved_on=None, review_by=None)
        records.CollectionPolicyRecord.objects.using(database).create(
            version=version, text=write_policy(draft), created_at=datetime.now(UTC)
        )
        note_change(
            workspace, action="save_collection_policy", subject=f"policy on collecting {version}",
            fingerprint=policy_fingerprint(draft),
        )  # fmt: skip
    return draft


def approve_collection_policy(
    workspace: Workspace, *, version: int, approved_by: str, on: date, review_by: date
) -> CollectionPolicy:
    """Approves a version until a day and seals it. The example can be approved only in a demo workspace."""
    name = " ".join(approved_by.split())
    if not name:
        raise PolicyProblem(_("an approval needs the name of who approves."))
    if review_by - on > LONGEST_APPROVAL:
        raise PolicyProblem(
            _("the review day {day} is more than three years after the approval.").format(day=review_by.isoformat()),
            fix=_("Choose a day within three years; policies on bedside volumes are looked at again."),
        )
    with one_transaction(workspace) as database:
        entry = records.CollectionPolicyRecord.objects.using(database).filter(version=version).first()
        if entry is None:
            raise PolicyProblem(_("there is no version {version} of the policy on collecting.").format(version=version))
        policy = read_policy(entry.text)
        if policy.example and not is_demo(workspace):
            raise PolicyProblem(
                _("the example policy is of an invented hospital and cannot be approved here."),
                fix=_("Put your own values in, set example = false, and have your own policy owner approve it."),
            )
        _refuse_example_values(policy, demo=is_demo(workspace))
        approved = replace(policy, approved_by=name, approved_on=on, review_by=review_by)
        entry.text, entry.seal = write_policy(approved), _seal(workspace, approved)
        entry.save(using=database)
        note_change(
            workspace, action="approve_collection_policy", subject=f"policy on collecting {version}",
            on=on.isoformat(), review_by=review_by.isoformat(), fingerprint=policy_fingerprint(approved),
        )  # fmt: skip
    return approved


def _refuse_example_values(policy: CollectionPolicy, *, demo: bool) -> None:
    """Taking the example mark off does not make an invented number a hospital's own."""
    values = flat_values(policy)
    invented = [path for path, value in values.items() if path.endswith(".source") and value == EXAMPLE_SOURCE]
    if invented and not demo:
        raise PolicyProblem(
            _("{count} values still carry the example's source, the first is {path}.").format(
                count=len(invented), path=invented[0].removesuffix(".source")
            ),
            fix=_("Put in your own value, and say where it comes from and who owns it."),
        )


def read_policy_file(path: Path) -> CollectionPolicy:
    """A policy from a TOML file; ``FileProblem`` or ``PolicyProblem`` names what is wrong and where."""
    try:
        if path.stat().st_size > LONGEST_POLICY_FILE:
            raise FileProblem(_("this is far too long for a policy."), where=path.name)
        return read_policy(path.read_text(encoding="utf-8"), where=path.name)
    except (OSError, UnicodeDecodeError) as problem:
        raise FileProblem(
            _("the file cannot be read ({reason}).").format(reason=type(problem).__name__), where=path.name
        ) from problem


def example_for_a_look(today: date) -> CollectionPolicy:
    """The shipped example as if approved today, for one look on the command line; it says EXAMPLE everywhere."""
    return replace(
        example_policy(),
        approved_by=_("nobody (example)"),
        approved_on=today,
        review_by=today + timedelta(days=1),
    )


def mark_demo(workspace: Workspace) -> None:
    """Marks the workspace as a demonstration, in which the example policy may be approved. It stays one."""
    with one_transaction(workspace):
        if not is_demo(workspace):
            note_change(workspace, action=DEMO_ACTION, subject="workspace")


def is_demo(workspace: Workspace) -> bool:
    """Whether this workspace was made to show the invented network."""
    return bool(records.AuditLine.objects.using(workspace.alias).filter(action=DEMO_ACTION).exists())


def _policy_of(workspace: Workspace, text: str, seal: str) -> CollectionPolicy:
    policy = read_policy(text)
    if policy.approved_by and not hmac.compare_digest(seal, _seal(workspace, policy)):
        return replace(policy, approved_by="", approved_on=None, review_by=None)
    return policy


def _seal(workspace: Workspace, policy: CollectionPolicy) -> str:
    said = f"{policy_fingerprint(policy)}|{policy.version}|{policy.approved_by}|{policy.approved_on}|{policy.review_by}"
    return hmac.new(workspace.secret, said.encode(), hashlib.sha256).hexdigest()


def _check_clock(workspace: Workspace) -> None:
    last = records.AuditLine.objects.using(workspace.alias).order_by("-at").first()
    if last is not None and datetime.now(UTC) + CLOCK_SLACK < last.at:
        raise PolicyProblem(
            _("this computer's clock stands before the last change of this workspace."),
            fix=_("Set the clock right; until then no bedside number is given."),
        )
