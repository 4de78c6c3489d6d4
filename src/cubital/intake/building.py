"""Runs the steps from codes to canonical tables, and settles the hours that a clock change repeats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from types import MappingProxyType
from zoneinfo import ZoneInfo

from cubital.engine import Session, load_sql
from cubital.intake.clocks import DoubtfulTimes, read_clock, resolve_repeated_hours
from cubital.intake.lookups import add_lookup
from cubital.intake.staging import StagedSheet
from cubital.intake.stated_hours import add_stated_hours, settle_stated

_PACKAGE = "cubital.intake"
NOTHING_STATED: Mapping[str, str] = MappingProxyType({})


def build_tables(
    session: Session,
    *,
    facility: str,
    zone: ZoneInfo,
    sheets: Sequence[StagedSheet],
    left_out: Sequence[tuple[str, int]] = (),
    several_lines: bool = False,
    stated: Mapping[str, str] = NOTHING_STATED,
    referenced: bool = False,
) -> None:
    """Creates ``new_sets``, ``new_bottles``, ``new_isolates`` and ``row_fates`` from ``parsed`` and the look-ups.

    ``stated`` has the SQL of instants that the file states with their offset; ``referenced`` is true where every row
    names the message it comes from.
    """
    _scope_rows(session)
    _run(session, "accessions")
    _run(session, "contested")
    _run(session, "lines")
    _run(session, "replaced")
    _run(session, "live")
    _run(session, "bottle_values")
    _run(session, "set_values")
    add_clock(session, zone, _days_of_sets(session))
    _run(session, "new_sets", {"facility": facility})
    _settle_repeated_hours(session, stated)
    _run(session, "new_bottles")
    _run(session, "new_isolates")
    _run(session, "fate_lines") if several_lines else session.do(
        "create or replace temp view fate_lines as select * from lines"
    )
    _run(session, "row_fates")
    if referenced:
        _number_sheet_rows(session, sheets, "number_message_rows")
    else:
        _number_rows(session, sheets, left_out)


def _scope_rows(session: Session) -> None:
    """A blank specimen type counts as blood culture only where the file names no other specimen."""
    (foreign, other_tests) = session.one(
        "select (select count(*) from look_specimens where scope <> 'in'),"
        " (select count(*) from look_tests where scope <> 'in')"
    )
    blank = "no_specimen_type" if foreign else "in"
    session.do(f"create or replace temp macro blank_specimen_scope() as '{blank}'")
    _run(session, "scoped" if foreign or other_tests else "scoped_without_types")


def _run(session: Session, name: str, values: dict[str, str | int] | None = None) -> None:
    statements = [text for text in load_sql(_PACKAGE, name).split(";\n") if text.strip()]
    for statement in statements:
        used = {key: value for key, value in (values or {}).items() if f"${key}" in statement}
        session.do(statement, used)


def _days_of_sets(session: Session) -> list[date]:
    columns = ("collected", "collected_day", "received", "received_day", "loaded", "positive")
    union = " union ".join(f"select cast({column} as date) as day from set_values" for column in columns)
    return [row[0] for row in session.rows(f"select day from ({union}) where day is not null order by day")]


def add_clock(session: Session, zone: ZoneInfo, days: Sequence[date]) -> None:
    """The table ``clock``: one row per day that occurs."""
    shape = {
        "day": "DATE",
        "before": "INTEGER",
        "after": "INTEGER",
        "change_from": "TIMESTAMP",
        "change_to": "TIMESTAMP",
        "repeats": "BOOLEAN",
        "month": "VARCHAR",
    }
    rows = [
        (
            day.day.isoformat(),
            day.before,
            day.after,
            day.change_from.isoformat(" ") if day.change_from else None,
            day.change_to.isoformat(" ") if day.change_to else None,
            day.repeats,
            day.day.strftime("%Y-%m"),
        )
        for day in read_clock(zone, days)
    ]
    add_lookup(session, "clock", shape, rows)


def _settle_repeated_hours(session: Session, stated: Mapping[str, str]) -> None:
    names = tuple(DoubtfulTimes.__dataclass_fields__)
    rows_found = session.rows(load_sql(_PACKAGE, "repeated_hours"))
    found = [DoubtfulTimes(**dict(zip(names, row, strict=True))) for row in rows_found]
    if not found:
        return
    if stated:
        add_stated_hours(session, stated, found)
        found = settle_stated(session, found)
    resolved = resolve_repeated_hours(found)
    rows = [
        (
            times.row_set,
            times.collected_at.isoformat(" ") if times.collected_at else None,
            times.received_at.isoformat(" ") if times.received_at else None,
        )
        for times in resolved
    ]
    add_lookup(
        session,
        "resolved",
        {"row_set": "BIGINT", "collected_at": "TIMESTAMP", "received_at": "TIMESTAMP"},
        rows,
    )
    _run(session, "settle_repeated_hours")
    if stated:
        _run(session, "trust_stated_hours")


def _number_rows(session: Session, sheets: Sequence[StagedSheet], left_out: Sequence[tuple[str, int]]) -> None:
    if len(sheets) == 1 and not sheets[0].numbered:
        _run(session, "number_rows", {"shift": -sheets[0].offset, "sheet": sheets[0].name})
    else:
        _number_sheet_rows(session, sheets, "number_sheet_rows")
    for name, count in left_out:
        session.do(
            "insert into row_fates select i, $sheet, 'loss', 'other_sheet', '' from range(1, $count + 1) t(i)",
            {"sheet": name, "count": count},
        )


def _number_sheet_rows(session: Session, sheets: Sequence[StagedSheet], query: str) -> None:
    rows = [(sheet.first_line, -sheet.offset, sheet.name) for sheet in sheets]
    add_lookup(session, "sheet_lines", {"first_line": "BIGINT", "shift": "BIGINT", "sheet": "VARCHAR"}, rows)
    _run(session, query)
