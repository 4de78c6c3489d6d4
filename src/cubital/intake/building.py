"""Runs the steps from codes to canonical tables, stretch by stretch, and settles the hours that a clock change repeats.

Rows become lines of codes once, over the whole file. Each set belongs to the stretch of the file in which its first row
stands, with all its rows wherever they are: so sets are right across the borders of stretches, and however long the
file is, only one stretch of it is in memory. What comes out is appended, as Parquet, in the scratch folder.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

from cubital.engine import Session, load_sql
from cubital.engine.session import quote_name, quote_text
from cubital.intake.clocks import DoubtfulTimes, read_clock, resolve_repeated_hours
from cubital.intake.lookups import Cell, add_lookup
from cubital.intake.staging import StagedSheet
from cubital.intake.stated_hours import add_stated_hours, settle_stated

ROWS_AT_ONCE = 1_000_000  # one stretch holds about 200 MB
_PACKAGE = "cubital.intake"
_CLOCK = {
    "day": "DATE",
    "before": "INTEGER",
    "after": "INTEGER",
    "change_from": "TIMESTAMP",
    "change_to": "TIMESTAMP",
    "repeats": "BOOLEAN",
    "month": "VARCHAR",
}
_count = itertools.count()


@dataclass(frozen=True, kw_only=True)
class BuildPlan:
    """What the tables are built with.

    ``left_out`` names sheets that were not read and how many rows they have, ``several_lines`` is true where one row
    holds several results, ``has_patients`` and ``has_results`` say whether the file has such columns, so that an empty
    cell is worth a doubt. ``stated`` has the SQL of instants that the file states with their offset. ``rows_at_once``
    is the length of a stretch. ``by_bottle`` is true for messages, which may speak of one bottle of a set only.
    """

    facility: str
    zone: ZoneInfo
    sheets: Sequence[StagedSheet]
    left_out: Sequence[tuple[str, int]] = ()
    several_lines: bool = False
    has_patients: bool = True
    has_results: bool = True
    stated: Mapping[str, str] = field(default_factory=dict)
    by_bottle: bool = False
    rows_at_once: int = ROWS_AT_ONCE

    @property
    def rows(self) -> int:
        return self.sheets[-1].last_line + 1


@dataclass(frozen=True)
class _Parts:
    """The Parquet files of each table so far."""

    folder: Path
    files: dict[str, list[Path]] = field(default_factory=dict)

    def add(self, session: Session, table: str, query: str, values: Mapping[str, str | int] | None = None) -> str:
        """Writes the rows of ``query`` as a further part of ``table``; gives the SQL that reads this part."""
        path = self.folder / f"{table}-{next(_count)}.parquet"
        session.do(f"copy ({query}) to {quote_text(str(path))} (format parquet, compression snappy)", values or {})
        self.files.setdefault(table, []).append(path)
        return f"read_parquet({quote_text(str(path))})"

    def show(self, session: Session) -> None:
        """A view over the files of each table."""
        for table, files in self.files.items():
            listed = ", ".join(quote_text(str(file)) for file in files)
            shown = "* exclude (keep_line, received_local)" if table == "new_sets" else "*"
            session.do(f"create or replace view {quote_name(table)} as select {shown} from read_parquet([{listed}])")


def build_tables(session: Session, plan: BuildPlan, *, progress: Callable[[float], None]) -> None:
    """Creates ``new_sets``, ``new_bottles``, ``new_isolates``, ``row_fates`` and ``doubts``; needs the look-ups.

    ``progress`` is called with the share of the rows that are done.
    """
    _scope_rows(session)
    _run(session, "accessions")
    _run(session, "contested")
    parts = _Parts(session.scratch)
    parts.add(session, "coded", load_sql(_PACKAGE, "coded"))
    parts.show(session)
    session.do("drop table accessions")
    _begin(session, plan)
    for start in range(0, plan.rows, plan.rows_at_once):
        session.do(load_sql(_PACKAGE, "stretch").format(start=start, until=start + plan.rows_at_once))
        _build_stretch(session, plan, parts)
        progress(min(1.0, (start + plan.rows_at_once) / plan.rows))
    _build_unsettled(session, plan, parts)
    for name, count in plan.left_out:
        query = "select i as row, $sheet as sheet, 'loss' as fate, 'other_sheet' as reason, '' as detail"
        parts.add(
            session, "row_fates", f"{query} from range(1, $count::bigint + 1) t(i)", {"sheet": name, "count": count}
        )
    parts.show(session)


def _scope_rows(session: Session) -> None:
    """A blank specimen type counts as blood culture only where the file names no other specimen."""
    (foreign, other_tests) = session.one(
        "select (select count(*) from look_specimens where scope <> 'in'),"
        " (select count(*) from look_tests where scope <> 'in')"
    )
    blank = "no_specimen_type" if foreign else "in"
    session.do(f"create or replace temp macro blank_specimen_scope() as '{blank}'")
    _run(session, "scoped" if foreign or other_tests else "scoped_without_types")


def _begin(session: Session, plan: BuildPlan) -> None:
    """What all stretches share: the clock and the doubts so far, and the sheets of a workbook."""
    add_lookup(session, "clock", _CLOCK, [])
    session.do("create or replace temp table doubts (line bigint, reason varchar, detail varchar)")
    session.do("create or replace temp table reading_counts (reading integer, lines bigint)")
    session.do("drop table if exists unsettled_values; drop table if exists unsettled_openings")
    rows = [(sheet.first_line, -sheet.offset, sheet.name) for sheet in plan.sheets]
    add_lookup(session, "sheet_lines", {"first_line": "BIGINT", "shift": "BIGINT", "sheet": "VARCHAR"}, rows)


def _build_stretch(session: Session, plan: BuildPlan, parts: _Parts) -> None:
    for name in ("replaced", "live", "bottle_values", "set_values"):
        _run(session, name)
    _extend_clock(session, plan.zone)
    _run(session, "unsettled")
    sets = parts.add(session, "new_sets", load_sql(_PACKAGE, "new_sets"), {"facility": plan.facility})
    parts.add(session, "new_bottles", load_sql(_PACKAGE, "new_bottles"))
    parts.add(session, "new_isolates", load_sql(_PACKAGE, "new_isolates"))
    if plan.by_bottle:
        parts.add(session, "new_said", load_sql(_PACKAGE, "new_said"))
    fate_lines = "create or replace temp view fate_lines as select * from lines"
    session.do(load_sql(_PACKAGE, "fate_lines") if plan.several_lines else fate_lines)
    _run(session, "row_fates")
    _number_rows(session, plan, parts)
    session.do(load_sql(_PACKAGE, "doubts_of_sets").format(sets=sets))
    _run(session, "doubts_of_rows", {"has_patients": plan.has_patients, "has_results": plan.has_results})
    _run(session, "reading_counts")


def _run(session: Session, name: str, values: Mapping[str, str | int] | None = None) -> None:
    statements = [text for text in load_sql(_PACKAGE, name).split(";\n") if text.strip()]
    for statement in statements:
        used = {key: value for key, value in (values or {}).items() if f"${key}" in statement}
        session.do(statement, used)


def _extend_clock(session: Session, zone: ZoneInfo) -> None:
    columns = ("collected", "collected_day", "received", "received_day", "loaded", "positive")
    union = " union ".join(f"select cast({column} as date) as day from set_values" for column in columns)
    days = session.rows(f"select day from ({union}) anti join clock using (day) where day is not null order by day")
    if days:
        add_lookup(session, "clock_of_stretch", _CLOCK, _clock_rows(zone, [row[0] for row in days]))
        session.do("insert into clock from clock_of_stretch")


def add_clock(session: Session, zone: ZoneInfo, days: Sequence[date]) -> None:
    """The table ``clock``: one row per day of ``days``."""
    add_lookup(session, "clock", _CLOCK, _clock_rows(zone, days))


def _clock_rows(zone: ZoneInfo, days: Sequence[date]) -> list[tuple[Cell, ...]]:
    return [
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


def _build_unsettled(session: Session, plan: BuildPlan, parts: _Parts) -> None:
    """The sets whose hours only the order of all accessions could settle."""
    _run(session, "unsettled_in_hand")
    query = load_sql(_PACKAGE, "new_sets")
    session.do(f"create or replace temp table unsettled as {query}", {"facility": plan.facility})
    _settle_repeated_hours(session, plan.stated)
    parts.add(session, "new_sets", "from unsettled")
    session.do(load_sql(_PACKAGE, "doubts_of_sets").format(sets="unsettled"))


def _settle_repeated_hours(session: Session, stated: Mapping[str, str]) -> None:
    names = tuple(DoubtfulTimes.__dataclass_fields__)
    rows_found = session.rows(load_sql(_PACKAGE, "repeated_hours"))
    found = [DoubtfulTimes(**dict(zip(names, row, strict=True))) for row in rows_found]
    if not found:
        return
    if stated:
        add_stated_hours(session, stated)
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


def _number_rows(session: Session, plan: BuildPlan, parts: _Parts) -> None:
    sheets = plan.sheets
    if len(sheets) == 1 and not sheets[0].numbered:
        values: dict[str, str | int] = {"shift": -sheets[0].offset, "sheet": sheets[0].name}
        parts.add(session, "row_fates", load_sql(_PACKAGE, "number_rows"), values)
    else:
        parts.add(session, "row_fates", load_sql(_PACKAGE, "number_sheet_rows"))
