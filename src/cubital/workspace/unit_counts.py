"""Unit-month counts under the charter in force, as the guard takes them."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.domain.charter import SetClass
from cubital.engine import QuerySession
from cubital.indicators.disclosure.unit_months import UnitMonth
from cubital.judge.api import count_rates
from cubital.judge.counts import MonthCounts, Scope
from cubital.workspace.charters import CharterVersion

UNDATED = "undated"


def count_unit_months(session: QuerySession, version: CharterVersion, *, scope: Scope) -> tuple[MonthCounts, ...]:
    """Every dated unit-month in scope that has sets of the charter's population."""
    counted = count_rates(session, version.charter, scope=scope, by="unit")
    return tuple(one for one in counted if one.month != UNDATED and one.sets)


def unit_months(counted: Sequence[MonthCounts]) -> tuple[UnitMonth, ...]:
    """The three counts that have no set in common, each with what it cannot exceed."""
    return tuple(_unit_month(one) for one in counted)


def _unit_month(one: MonthCounts) -> UnitMonth:
    undecided = one.of_class(SetClass.ADJUDICATE)
    other = max(0, one.positives - one.of_class(SetClass.CONTAMINATED) - undecided)
    room = max(one.numerator, min(one.denominator, one.sets - undecided - other))
    return UnitMonth(
        facility=one.facility or "",
        unit=one.unit or "",
        month=one.month,
        counts={"contaminated": one.numerator, "undecided": undecided, "other_growth": other},
        most={"contaminated": room, "undecided": max(undecided, one.sets), "other_growth": max(other, one.sets)},
    )
