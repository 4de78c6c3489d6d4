"""Counts by weekday and hour from a table: weekday (1 is Monday), hour, sets, contaminated."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from cubital.answers.hours_reading import HoursMaterial
from cubital.answers.small_rows import counted, named_rows, whole
from cubital.domain.errors import FileProblem
from cubital.domain.words import _


def parse_hours(
    table: str | Iterable[Sequence[object]], *, where: str, weeks: float | None = None
) -> HoursMaterial:  # fmt: skip
    """The material in a table; rows without a weekday or an hour count as sets without a known hour.

    Raises ``FileProblem`` for a missing column and numbers that cannot be.
    """
    contaminated, sets, untimed = np.zeros((7, 24), dtype=np.int64), np.zeros((7, 24), dtype=np.int64), 0
    for number, row in named_rows(table, needed=("weekday", "hour", "sets", "contaminated"), where=where):
        n, x = counted(row, number=number, where=where)
        if not row["weekday"] or not row.get("hour"):
            untimed += n
            continue
        day = whole(row, "weekday", number=number, where=where, most=7)
        if not day:
            raise FileProblem(_("row {row}: a weekday is 1 (Monday) to 7 (Sunday).").format(row=number), where=where)
        hour = whole(row, "hour", number=number, where=where, most=23)
        sets[day - 1, hour] += n
        contaminated[day - 1, hour] += x
    return HoursMaterial(contaminated=contaminated, sets=sets, untimed=untimed, weeks=weeks)
