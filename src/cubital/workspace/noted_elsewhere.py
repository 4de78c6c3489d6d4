"""Dated changes that the workspace knows without a diary: renamed units, signed charters, approved policies."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.domain.words import _
from cubital.workspace.charters import list_charters
from cubital.workspace.collecting import list_collection_policies
from cubital.workspace.opening import Workspace
from cubital.workspace.pins import today_of
from cubital.workspace.unit_names import join_labels, label_words, read_renames


def noted_elsewhere(workspace: Workspace) -> Iterator[DiaryEntry]:
    """Every such change as an entry with number 0, in no order; corrected where it was noted, not in the diary."""
    yield from _renames(workspace)
    yield from _charters(workspace)
    yield from _policies(workspace)


def _renames(workspace: Workspace) -> Iterator[DiaryEntry]:
    renames = read_renames(workspace)
    current = join_labels(renames)
    for rename in renames:
        yield DiaryEntry(
            kind=ChangeKind.RENAME,
            on=rename.on,
            words=_("{old} became {new}").format(old=label_words(rename.old_key), new=rename.new_name),
            facility=rename.facility,
            unit=current.get((rename.facility, rename.new_key), rename.new_key),
        )


def _charters(workspace: Workspace) -> Iterator[DiaryEntry]:
    """A charter is in force from its first signature. Every month is judged anew with it, earlier papers were not."""
    for version in list_charters(workspace):
        if version.signatures:
            yield DiaryEntry(
                kind=ChangeKind.LIST,
                on=min(signature.signed_on for signature in version.signatures),
                words=_("Charter {version} was signed: what counts as contaminated").format(version=version.version),
            )


def _policies(workspace: Workspace) -> Iterator[DiaryEntry]:
    """Approvals of policies on collecting up to today, or up to the day of the pin."""
    today = today_of(workspace)
    for version, on in collecting_approvals(workspace):
        if on <= today:
            yield DiaryEntry(
                kind=ChangeKind.POLICY,
                on=on,
                words=_("Version {version} of the policy on collecting was approved").format(version=version),
            )


def collecting_approvals(workspace: Workspace) -> tuple[tuple[int, date], ...]:
    """Version and day of every approved policy on collecting; of a pinned workspace as they were approved then."""
    if workspace.pinned is not None:
        return tuple((version, date.fromisoformat(on)) for version, on in workspace.pinned.collecting)
    return tuple(
        (policy.version, policy.approved_on)
        for policy in list_collection_policies(workspace)
        if policy.approved_by and policy.approved_on is not None
    )
