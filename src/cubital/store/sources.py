"""What is read out of the files of a table: a query with the columns of today, also over files of earlier versions.

Isolates did not always repeat the facts of their set. What an older file lacks is put together from the sets of the
same state, so that every state that a record names gives the answers that it gave.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from cubital.domain.tables import SET_FACTS
from cubital.engine import Session, load_sql
from cubital.engine.session import quote_name, quote_text
from cubital.store.shapes import PLACED, STORED


def table_source(
    session: Session, name: str, columns: Iterable[str], *, files: Sequence[Path], set_files: Sequence[Path]
) -> str:
    """A query for ``columns`` of the table ``name`` in ``files``; ``set_files`` are those of its sets.

    Without a file it gives no row, with the right types.
    """
    wanted = list(columns)
    if not files:
        typed = (f"cast(null as {STORED[name][column]}) as {quote_name(column)}" for column in wanted)
        return f"select {', '.join(typed)} where false"
    listed = ", ".join(map(quote_name, wanted))
    old = set(_unplaced(session, files)) if name == "isolates" else set()
    parts = []
    if newer := [file for file in files if file not in old]:
        parts.append(f"select {listed} from {_reading(newer)}")
    if old:
        reading = _reading(sorted(old))
        source = _placed(reading, set_files) if PLACED.keys() & set(wanted) - {"month"} else f"select * from {reading}"
        parts.append(f"select {listed} from ({source})")
    return " union all ".join(parts)


def add_table_view(session: Session, view: str, name: str, columns: Mapping[str, str], **files: Sequence[Path]) -> None:
    """The view ``view`` of ``table_source``; ``files`` and ``set_files`` as there."""
    session.do(f"create or replace view {quote_name(view)} as {table_source(session, name, columns, **files)}")


def _unplaced(session: Session, files: Sequence[Path]) -> list[Path]:
    """The files of isolates that do not repeat the facts of their sets."""
    listed = ", ".join(quote_text(str(file)) for file in files)
    found = session.rows(
        f"select file_name from parquet_schema([{listed}]) group by file_name having not bool_or(name = 'leads')"
    )
    return [Path(file) for (file,) in found]


def _placed(reading: str, set_files: Sequence[Path]) -> str:
    facts = ", ".join(f"s.{fact}" for fact in SET_FACTS)
    return load_sql("cubital.store", "placed_isolates").format(isolates=reading, sets=_reading(set_files), facts=facts)


def _reading(files: Iterable[Path]) -> str:
    listed = ", ".join(quote_text(str(file)) for file in files)
    return f"read_parquet([{listed}], hive_partitioning = false)"
