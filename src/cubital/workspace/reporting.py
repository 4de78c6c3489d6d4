"""Label errors beside reporting, from a small table; and the cannula scenario from the stored sets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import cubital
from cubital.answers.reporting import build_reporting_answer, parse_report_months, report_columns
from cubital.answers.scenario import LocalDraws, build_cannula_answer
from cubital.domain.answer import Answer, Receipt
from cubital.domain.cultures import Method
from cubital.domain.words import _
from cubital.judge.cells import Dimension, count_cells
from cubital.workspace.small_tables import read_rows

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace


def reporting_answer(source: Path | str) -> Answer:
    """Are label errors down, or did people stop reporting? From a file or pasted text; stores nothing.

    ``FileProblem`` where it is no table with month, sets, reports and errors.
    """
    where, rows = read_rows(source, advice=report_columns().advice)
    months = parse_report_months(rows, where=where)
    receipt = Receipt(
        data=_("counts of {count} months").format(count=len(months)),
        charter=_("no charter: counts were given ready made"), policy="", code=cubital.__version__,
    )  # fmt: skip
    return build_reporting_answer(months, receipt=receipt)


def cannula_answer(
    workspace: Workspace,
    *,
    from_month: str | None = None,
    to_month: str | None = None,
    facility: str | None = None,
    unit: str | None = None,
) -> Answer:
    """If we stop drawing from new cannulas, what should happen? Local share times a published ratio, as a range.

    ``RequestProblem`` where nothing is taken in, the place is unknown, or the charter does not count sets.
    """
    from cubital.workspace.asked_places import find_place
    from cubital.workspace.charters import current_charter
    from cubital.workspace.snapshots import open_snapshot, snapshot_words

    version = current_charter(workspace)
    with open_snapshot(workspace) as session:
        place = find_place(workspace, facility=facility, unit=unit)
        scope = place.scope(from_month=from_month, to_month=to_month)
        cells = count_cells(session, version.charter, by=(Dimension.METHOD,), scope=scope)
    cannula = [method == Method.NEW_CANNULA for method in cells.keys[Dimension.METHOD]]
    draws = LocalDraws(
        sets=int(cells.denominator.sum()), contaminated=int(cells.numerator.sum()),
        cannula_sets=int(cells.denominator[cannula].sum()) if len(cells) else 0,
    )  # fmt: skip
    receipt = Receipt(
        data=snapshot_words(workspace),
        charter=_("charter {version} '{name}' {fingerprint}").format(
            version=version.version, name=version.charter.name, fingerprint=version.fingerprint
        ),
        policy="", code=cubital.__version__,
    )  # fmt: skip
    return build_cannula_answer(draws, receipt=receipt)
