"""Which units and months the sets lie in: small tables for menus and for names."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.engine import QuerySession, load_sql


@dataclass(frozen=True, kw_only=True)
class UnitLabel:
    """One label of a unit as files or movements gave it, with its sets and the first and last dated month they lie in.

    ``first_month`` and ``last_month`` are none where no set has a date.
    """

    facility: str
    unit_key: str
    sets: int
    first_month: str | None
    last_month: str | None


@dataclass(frozen=True, kw_only=True)
class FacilityMonth:
    """The sets of one facility in one month (``YYYY-MM``, or ``undated``), cancelled and rejected ones not counted."""

    facility: str
    month: str
    sets: int


def read_unit_labels(session: QuerySession) -> tuple[UnitLabel, ...]:
    """Every label in the session's ``sets``, by facility and label."""
    rows = session.rows(load_sql("cubital.store", "unit_labels"))
    return tuple(
        UnitLabel(facility=facility, unit_key=key, sets=sets, first_month=first, last_month=last)
        for facility, key, sets, first, last in rows
    )


def read_facility_months(session: QuerySession) -> tuple[FacilityMonth, ...]:
    """Every facility and month in the session's ``sets``, in order."""
    rows = session.rows(load_sql("cubital.store", "facility_months"))
    return tuple(FacilityMonth(facility=facility, month=month, sets=sets) for facility, month, sets in rows)
