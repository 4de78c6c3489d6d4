"""The policy on collecting in a workspace: approval under seal, no way around it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from cubital.bedside.policy_file import EXAMPLE_SOURCE, example_policy, read_policy, write_policy
from cubital.domain.errors import FileProblem, PolicyProblem
from cubital.domain.policy import PolicyState
from cubital.workspace import records
from cubital.workspace.collecting import (
    approve_collection_policy,
    current_collection_policy,
    mark_demo,
    read_policy_file,
    save_collection_policy,
)
from cubital.workspace.opening import open_workspace

ON, REVIEW = date(2026, 1, 5), date(2027, 1, 5)


@pytest.fixture
def workspace(tmp_path):
    return open_workspace(tmp_path / "workspace")


@pytest.fixture
def own_policy():
    text = write_policy(replace(example_policy(), name="Our own", example=False))
    return read_policy(text.replace(EXAMPLE_SOURCE, "our pharmacy and laboratory, minutes of January"))


def approve(workspace, version):
    return approve_collection_policy(workspace, version=version, approved_by="I. Quay", on=ON, review_by=REVIEW)


def test_a_new_workspace_speaks_only_as_a_draft(workspace):
    assert current_collection_policy(workspace).state(ON) is PolicyState.DRAFT


def test_a_saved_policy_is_a_draft_whatever_it_brings(workspace, own_policy):
    brought = replace(own_policy, approved_by="Elsewhere", approved_on=ON, review_by=REVIEW)
    assert save_collection_policy(workspace, policy=brought).approved_by == ""


def test_approval_makes_it_speak_until_the_review_day(workspace, own_policy):
    approve(workspace, save_collection_policy(workspace, policy=own_policy).version)
    policy = current_collection_policy(workspace)
    assert policy.state(REVIEW) is PolicyState.APPROVED
    assert policy.state(REVIEW + timedelta(days=1)) is PolicyState.EXPIRED


def test_the_example_cannot_be_approved_outside_a_demo(workspace):
    saved = save_collection_policy(workspace, policy=example_policy())
    with pytest.raises(PolicyProblem, match="invented hospital"):
        approve(workspace, saved.version)
    mark_demo(workspace)
    assert approve(workspace, saved.version).approved_by == "I. Quay"


def test_taking_off_the_example_mark_is_not_enough(workspace):
    saved = save_collection_policy(workspace, policy=replace(example_policy(), example=False))
    with pytest.raises(PolicyProblem, match="example's source"):
        approve(workspace, saved.version)


def test_a_value_changed_after_approval_loses_the_approval(workspace, own_policy):
    saved = save_collection_policy(workspace, policy=own_policy)
    approve(workspace, saved.version)
    entry = records.CollectionPolicyRecord.objects.using(workspace.alias).get()
    entry.text = entry.text.replace("minimum_ml = { value = 8.0", "minimum_ml = { value = 7.0", 1)
    entry.save(using=workspace.alias)
    assert current_collection_policy(workspace).state(ON) is PolicyState.DRAFT


def test_a_forged_approval_is_no_approval(workspace, own_policy):
    forged = replace(own_policy, version=1, approved_by="Forger", approved_on=ON, review_by=REVIEW)
    records.CollectionPolicyRecord.objects.using(workspace.alias).create(
        version=1, text=write_policy(forged), seal="0" * 64, created_at=datetime.now(UTC)
    )
    assert current_collection_policy(workspace).state(ON) is PolicyState.DRAFT


def test_a_clock_set_back_silences_the_policy(workspace, own_policy):
    save_collection_policy(workspace, policy=own_policy)
    later = datetime.now(UTC) + timedelta(days=30)
    records.AuditLine.objects.using(workspace.alias).update(at=later)
    with pytest.raises(PolicyProblem, match="clock"):
        current_collection_policy(workspace)


@pytest.mark.parametrize("content", [b"", b"\x00\xff", b"format = 'cubital-policy/1'\n", b"[[["])
def test_a_file_that_is_no_policy_is_refused_with_a_sentence(tmp_path, content):
    path = tmp_path / "policy.toml"
    path.write_bytes(content)
    with pytest.raises((FileProblem, PolicyProblem), match="policy"):
        read_policy_file(path)


def test_a_review_day_far_away_is_no_review_day(workspace, own_policy):
    saved = save_collection_policy(workspace, policy=own_policy)
    with pytest.raises(PolicyProblem, match="three years"):
        approve_collection_policy(
            workspace, version=saved.version, approved_by="I. Quay", on=ON, review_by=date(2999, 1, 1)
        )
