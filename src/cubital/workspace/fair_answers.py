"""Fair comparisons and the hours of the week: from the stored cultures, or from a table of counts alone."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import cubital
from cubital.answers.compared import build_compared_answer
from cubital.answers.compared_reading import read_comparison
from cubital.answers.compared_table import parse_comparison
from cubital.answers.hours import build_hours_answer
from cubital.answers.hours_reading import EVERY_DAY, HoursPolicy, read_hours
from cubital.answers.hours_table import parse_hours
from cubital.domain.answer import Answer, Receipt
from cubital.domain.words import _
from cubital.workspace.small_tables import read_small_table

if TYPE_CHECKING:
    from cubital.workspace.fair_gathering import FairAsk
    from cubital.workspace.opening import Workspace


def comparison_answer(workspace: Workspace, ask: FairAsk) -> Answer:
    """Are the groups different, compared fairly, under the charter in force?"""
    from cubital.workspace.fair_gathering import gather_comparison

    material, receipt = gather_comparison(workspace, ask)
    return build_compared_answer(read_comparison(material), receipt=receipt)


def comparison_of_counts(source: Path | str, *, by: str) -> Answer:
    """The same from a file or pasted text with sets, contaminated and the column ``by``; nothing is stored."""
    rows, where = _table(source)
    return build_compared_answer(read_comparison(parse_comparison(rows, by=by, where=where)), receipt=_counts_receipt())


def hours_answer(
    workspace: Workspace, ask: FairAsk, *, length: int = 12, days: Sequence[int] = EVERY_DAY,
    policy: HoursPolicy | None = None,
) -> Answer:  # fmt: skip
    """Which ``length`` hours on ``days`` (0 is Monday) hold most contaminated sets, under the charter in force?"""
    from cubital.workspace.fair_gathering import gather_hours

    material, receipt = gather_hours(workspace, ask)
    return build_hours_answer(read_hours(material, length=length, days=days, policy=policy), receipt=receipt)


def hours_of_counts(
    source: Path | str, *, length: int = 12, days: Sequence[int] = EVERY_DAY, weeks: float | None = None,
    policy: HoursPolicy | None = None,
) -> Answer:  # fmt: skip
    """The same from a file or pasted text with weekday, hour, sets, contaminated; nothing is stored."""
    rows, where = _table(source)
    material = parse_hours(rows, where=where, weeks=weeks)
    reading = read_hours(material, length=length, days=days, policy=policy)
    return build_hours_answer(reading, receipt=_counts_receipt())


def _table(source: Path | str) -> tuple[str | list[list[object]], str]:
    if isinstance(source, str):
        return source, _("pasted counts")
    table = read_small_table(source)
    return (table.rows if table.rows is not None else table.text or ""), table.name


def _counts_receipt() -> Receipt:
    return Receipt(
        data=_("counts"), charter=_("no charter: counts were given ready made"), policy=_("thresholds as asked"),
        code=cubital.__version__,
    )  # fmt: skip
