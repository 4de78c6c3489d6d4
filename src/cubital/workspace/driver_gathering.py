"""The local shares that changes of policy would touch: lines, nights, single sets, short bottles, late, unnamed."""

from __future__ import annotations

from typing import Any

from cubital.answers.driver_table import LocalShares, build_driver_answer
from cubital.answers.observation_plan import Shift, shift_of
from cubital.domain.answer import Answer
from cubital.domain.cultures import Method
from cubital.judge.api import count_process
from cubital.judge.cells import CellCounts, Dimension, count_cells
from cubital.judge.counts import ProcessCounts
from cubital.reference.policy_drivers import Share
from cubital.workspace.charters import current_charter
from cubital.workspace.missed_gathering import FoundHere, PlaceAsk, asked_scope, found_in
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.policy_rules import policy_limits
from cubital.workspace.snapshots import open_snapshot

LINES = (Method.CENTRAL_LINE, Method.ARTERIAL)


def driver_answer(workspace: Workspace, ask: PlaceAsk) -> Answer:
    """The table of changes over the shares of a place; errors as for ``gather_found``."""
    charter, limits = current_charter(workspace).charter, policy_limits(current_policy(workspace))
    with open_snapshot(workspace) as session:
        scope = asked_scope(workspace, ask)
        found = found_in(session, workspace, scope=scope)
        by = (Dimension.METHOD, Dimension.HOUR)
        cells = count_cells(session, charter, by=by, scope=scope, judge=False)
        process = count_process(session, charter, scope=scope, limits=limits, judge=False)
    shares = _method_shares(cells) | _hour_share(cells) | _process_shares(process) | _single_share(found)
    local = LocalShares(
        sets=int(cells.denominator.sum()), contaminated=int(cells.numerator.sum()), shares=shares, found=found.found
    )
    return build_driver_answer(local, receipt=found.receipt)


def _method_shares(cells: CellCounts) -> dict[Share, float]:
    """Of sets whose way of drawing is known; none where no file says it."""
    methods = cells.keys[Dimension.METHOD]
    known = sum(n for method, n in _sets(cells, methods) if method not in (None, "", Method.UNKNOWN))
    if not known:
        return {}
    return {
        Share.LINE: sum(n for method, n in _sets(cells, methods) if method in LINES) / known,
        Share.NEW_CANNULA: sum(n for method, n in _sets(cells, methods) if method == Method.NEW_CANNULA) / known,
    }


def _hour_share(cells: CellCounts) -> dict[Share, float]:
    hours = cells.keys[Dimension.HOUR]
    timed = sum(n for hour, n in _sets(cells, hours) if hour is not None)
    night = sum(n for hour, n in _sets(cells, hours) if hour is not None and shift_of(int(hour)) is Shift.NIGHT)
    return {Share.NIGHT: night / timed} if timed else {}


def _sets(cells: CellCounts, keys: tuple[Any, ...]) -> list[tuple[Any, int]]:
    return list(zip(keys, cells.denominator.tolist(), strict=True))


def _process_shares(months: tuple[ProcessCounts, ...]) -> dict[Share, float]:
    timed, late = sum(one.timed for one in months), sum(one.very_late for one in months)
    named = sum(one.collector_measurable for one in months)
    attributed = sum(one.attributed for one in months)
    fills = sum(one.fills for one in months if one.fills_low is not None)
    low = sum(one.fills_low or 0 for one in months)
    parts = (
        (Share.VERY_LATE, late, timed),
        (Share.UNATTRIBUTED, max(0, named - attributed), named),
        (Share.UNDER_FILLED, low, fills),
    )
    return {share: part / whole for share, part, whole in parts if whole}


def _single_share(found: FoundHere) -> dict[Share, float]:
    return {} if found.single_share is None else {Share.SINGLE: found.single_share}
