"""Overfilled bottles by month, from the fill that laboratory files give."""

from __future__ import annotations

from cubital.answers.overfilled import FillMonth, build_overfilled_answer
from cubital.domain.answer import Answer
from cubital.judge.api import count_process
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import current_charter
from cubital.workspace.missed_gathering import PlaceAsk
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.places_gathering import PlacesAsk, settle_months
from cubital.workspace.policies import current_policy
from cubital.workspace.policy_rules import policy_limits
from cubital.workspace.snapshots import open_snapshot, snapshot_words


def overfilled_answer(workspace: Workspace, ask: PlaceAsk) -> Answer:
    """Share of measured bottles above policy's limit; ``RequestProblem`` where nothing was taken in."""
    settled = settle_months(workspace, PlacesAsk(from_month=ask.from_month, to_month=ask.to_month))
    version, policy = current_charter(workspace), current_policy(workspace)
    limits = policy_limits(policy)
    with open_snapshot(workspace) as session:
        place = find_place(workspace, facility=ask.facility, unit=ask.unit)
        scope = place.scope(from_month=settled.from_month, to_month=settled.to_month)
        rows = count_process(session, version.charter, scope=scope, limits=limits)
    months = [FillMonth(month=row.month, bottles=row.fills, over=row.fills_high or 0) for row in rows]
    receipt = receipt_of(snapshot_words(workspace), version, policy)
    return build_overfilled_answer(months, limit_ml=limits.fill_high_ml, receipt=receipt)
