"""Counts in the cells that any choice of dimensions makes: by unit, person, hour, role's raw material, and so on.

What every question about place, person or hour is answered from. A cell is a few numbers; a network of 300,000 sets
has at most that many cells, so they come up as columns and not as one object each.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np

from cubital.domain.charter import Charter, UnitOfCount
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.engine import QuerySession
from cubital.engine.session import quote_text
from cubital.judge.counts import Scope
from cubital.judge.flora import Flora
from cubital.judge.judging import judge_sets
from cubital.judge.preparing import judge_sql

Whole = np.ndarray[tuple[int], np.dtype[np.int64]]


class Dimension(StrEnum):
    """What sets can be told apart by. ``UNIT`` is the current key, within its facility; ``WEEKDAY`` 1 is Monday."""

    MONTH = "month"
    DAY = "day"
    FACILITY = "facility"
    UNIT = "unit"
    COLLECTOR = "collector"
    ATTRIBUTION = "attribution"
    AGE_GROUP = "age_group"
    METHOD = "method"
    SITE = "site"
    WEEKDAY = "weekday"
    HOUR = "hour"


@dataclass(frozen=True, kw_only=True)
class CellCounts:
    """One row per cell that holds a set of the charter's population, as columns of equal length n.

    ``keys`` has one tuple of n values per asked dimension, in the order asked: text, a date for the day, a whole number
    for hour and weekday, none where the file does not say (no collector, no clock). ``denominator`` are the counted
    sets, ``numerator`` the contaminated ones among them, ``sets`` all of the population, ``positives`` those that grew.
    """

    keys: Mapping[Dimension, tuple[Any, ...]]
    numerator: Whole
    denominator: Whole
    sets: Whole
    positives: Whole

    def __len__(self) -> int:
        return len(self.sets)


_OF_SET = {
    Dimension.WEEKDAY: "isodow(collected_local)::integer",
    Dimension.HOUR: "case when time_quality in ('exact', 'ambiguous_hour') then hour(collected_local)::integer end",
    Dimension.AGE_GROUP: "age_group",
    Dimension.METHOD: "method",
    Dimension.SITE: "site",
}


def cell_words(cell: Mapping[Dimension, Any]) -> str:
    """The condition that keeps judged sets to the counted ones of a cell, by facility, unit, weekday, hour, age group,
    method or site; ``ValueError`` for another dimension.
    """
    parts = ["counted"]
    for dimension, value in cell.items():
        said = str(value) if isinstance(value, int) else quote_text(str(value))
        if dimension in (Dimension.FACILITY, Dimension.UNIT):
            parts.append(f"{dimension} = {said}")
        elif dimension in _OF_SET:
            parts.append(f"set_id in (select set_id from sets where {_OF_SET[dimension]} = {said})")
        else:
            raise ValueError(f"sets are not listed by {dimension}")
    return " and ".join(parts)


def count_cells(
    session: QuerySession,
    charter: Charter,
    *,
    by: Sequence[Dimension],
    scope: Scope | None = None,
    flora: Flora | None = None,
    judge: bool = True,
    together: Mapping[Dimension, Mapping[int, int]] | None = None,
) -> CellCounts:
    """The charter's numerator and denominator in every cell of ``by``, in the order of the cells.

    The numerators add up to that of ``count_months`` over the same scope, and so do the denominators. ``judge=False``
    uses the judgement of the call before. ``together`` counts hours or weekdays together that a question does not tell
    apart: each stands for the value it is mapped to, and one that is not mapped for none. Raises ``ValueError`` without
    a dimension, with one named twice or with another dimension put together, and ``RequestProblem`` under a charter
    that does not count sets: a bottle, series or patient has no hour and no collector of its own.
    """
    if not by or len(set(by)) != len(by):
        raise ValueError("cells need at least one dimension, and none twice")
    if not set(together or ()) <= {Dimension.HOUR, Dimension.WEEKDAY}:
        raise ValueError("only hours and weekdays are counted together")
    if charter.unit_of_count is not UnitOfCount.SET:
        raise RequestProblem(
            _("charter '{name}' does not count sets, so its counts cannot be split by hour or person.").format(
                name=charter.name
            ),
            fix=_("Choose a charter that counts sets."),
        )
    if judge:
        judge_sets(session, charter, scope=scope, flora=flora)
    shown = ", ".join(_together_sql(one, together[one]) if together and one in together else one for one in by)
    places = ", ".join(str(1 + place) for place in range(len(by)))
    rows = session.rows(judge_sql("cells").format(cells=shown, places=places))
    columns = list(zip(*rows, strict=True)) if rows else [()] * (len(by) + 4)
    counts = [np.asarray(column, dtype=np.int64) for column in columns[len(by) :]]
    return CellCounts(
        keys=dict(zip(by, columns, strict=False)),
        denominator=counts[0],
        numerator=counts[1],
        sets=counts[2],
        positives=counts[3],
    )


def _together_sql(dimension: Dimension, groups: Mapping[int, int]) -> str:
    cases = " ".join(f"when {int(value)} then {int(first)}" for value, first in groups.items())
    return f"case {dimension} {cases} end as {dimension}"
