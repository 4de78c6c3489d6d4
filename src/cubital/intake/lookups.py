"""Reads each distinct text once and gives the engine a small table from text to code."""

from __future__ import annotations

import csv
import itertools
from collections.abc import Iterable, Mapping, Sequence

from cubital.engine import Session
from cubital.engine.session import quote_name, quote_text

Cell = str | int | float | bool | None
_NULL = "\\N"
_count = itertools.count()


def distinct_texts(session: Session, expression: str, *, table: str = "parsed") -> list[str]:
    """Every distinct text of an SQL expression over ``table`` but blanks, sorted: codes do not depend on row order."""
    found = session.rows(f"select distinct {expression} as text from {table} where {expression} is not null order by 1")
    return [row[0] for row in found if row[0].strip()]


def add_lookup(session: Session, name: str, columns: Mapping[str, str], rows: Iterable[Sequence[Cell]]) -> None:
    """A table from Python rows, through a CSV in the scratch folder: much faster than single inserts.

    ``columns`` maps each name to its SQL type in the order of the cells; none becomes null.
    """
    path = session.scratch / f"lookup-{next(_count)}.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, quoting=csv.QUOTE_ALL)
        writer.writerows([_NULL if cell is None else cell for cell in row] for row in rows)
    shape = ", ".join(f"{quote_text(column)}: {quote_text(kind)}" for column, kind in columns.items())
    session.do(
        f"create or replace temp table {quote_name(name)} as select * from read_csv({quote_text(str(path))},"
        f" columns={{{shape}}}, header=false, auto_detect=false, delim=',', quote='\"', escape='\"',"
        f" nullstr='{_NULL}', parallel=false)"
    )
    path.unlink()
