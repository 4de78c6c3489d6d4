"""Overfilled bottles by month, from the fill that laboratory files give."""

from __future__ import annotations

from cubital.answers.overfilled import FillMonth, build_overfilled_answer
from cubital.domain.answer import Answer
from cubital.judge.api import count_process
from cubital.workspace.charters import current_charter
from cubital.workspace.missed_gathering import PlaceAsk, asked_scope
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.policy_rules import policy_limits
from cubital.workspace.snapshots import open_snapshot, snapshot_words


def overfilled_answer(workspace: Workspace, ask: PlaceAsk) -> Answer:
    """Share of measured bottles above policy's limit; ``RequestProblem`` where nothing was taken in."""
    version, policy = current_charter(workspace), current_policy(workspace)
    limits = policy_limits(policy)
    with open_snapshot(workspace) as session:
        rows = count_process(session, version.charter, scope=asked_scope(workspace, ask), limits=limits)
    months = [FillMonth(month=row.month, bottles=row.fills, over=row.fills_high or 0) for row in rows]
    receipt = receipt_of(snapshot_words(workspace), version, policy)
    return build_overfilled_answer(months, limit_ml=limits.fill_high_ml, receipt=receipt)
