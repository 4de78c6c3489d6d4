"""The sets that certain collectors drew, one by one: for the list behind one person's letter."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from cubital.domain.charter import Charter, SetClass
from cubital.domain.cultures import Attribution
from cubital.engine import QuerySession
from cubital.judge.counts import Scope
from cubital.judge.judging import judge_sets
from cubital.judge.preparing import judge_sql


@dataclass(frozen=True, kw_only=True)
class DrawnSet:
    """One set of the charter's denominator as its collector sees it; ``collector`` is as the file wrote it, tidied."""

    set_id: int
    facility: str
    accession: str
    day: date | None
    unit: str
    collector: str
    attribution: Attribution
    set_class: SetClass


def drawn_sets(
    session: QuerySession,
    charter: Charter,
    *,
    collectors: Collection[tuple[str, str]],
    scope: Scope | None = None,
    judge: bool = True,
) -> tuple[DrawnSet, ...]:
    """The counted sets of ``collectors`` (facility, collector key), by facility and day; empty without collectors.

    ``judge=False`` uses the judgement of the call before.
    """
    if not collectors:
        return ()
    if judge:
        judge_sets(session, charter, scope=scope)
    session.add_rows("asked_collectors", {"facility": "VARCHAR", "collector": "VARCHAR"}, sorted(collectors))
    return tuple(
        DrawnSet(
            **row | {"attribution": Attribution(row["attribution"]), "set_class": SetClass(row["set_class"])},
        )
        for row in session.named_rows(judge_sql("drawn_sets"), {})
    )
