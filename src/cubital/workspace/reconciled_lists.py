"""A laboratory's own list of contaminated sets beside what the charter counts. Their list is not kept."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from cubital.answers.reconciled import build_reconciled_answer, list_columns, parse_their_list, reconcile
from cubital.domain.answer import Answer
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.judge.api import judged_sets
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import current_charter
from cubital.workspace.left_answers import workspace_receipt
from cubital.workspace.opening import Workspace
from cubital.workspace.small_tables import read_rows
from cubital.workspace.snapshots import open_snapshot


def reconciled_answer(
    workspace: Workspace, source: Path | str, *, from_month: str, to_month: str | None = None,
    facility: str | None = None,
) -> Answer:  # fmt: skip
    """Which sets both count, only they, only we, from ``from_month`` to ``to_month`` (``YYYY-MM``; none: one month).

    ``source`` is a file or pasted text. ``FileProblem`` where it is no such list; ``RequestProblem`` for an unknown
    hospital or months without sets.
    """
    where, rows = read_rows(source, advice=list_columns().advice, pasted=_("pasted list"))
    theirs = parse_their_list(rows, where=where)
    last = to_month or from_month
    version = current_charter(workspace)
    place = find_place(workspace, facility=facility, unit=None)
    with open_snapshot(workspace) as session:
        every = judged_sets(session, version.charter, scope=place.scope())
    ours = [one for one in every if from_month <= one.month <= last and one.month[:1].isdigit()]
    if not ours:
        raise RequestProblem(_("there are no sets in these months."), fix=_("Ask for other months."))
    held = {one.set_id for one in ours}
    found = reconcile(theirs, ours=ours, elsewhere=[one for one in every if one.set_id not in held])
    receipt = workspace_receipt(workspace)
    given = _("{data}; {count} rows of {where}, given and not kept").format(
        data=receipt.data, count=len(theirs), where=where
    )
    name = _("charter {version}").format(version=version.version)
    return build_reconciled_answer(found, months=(from_month, last), charter=name, receipt=replace(receipt, data=given))
