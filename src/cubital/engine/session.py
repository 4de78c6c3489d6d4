"""Opens a locked-down, in-memory DuckDB and runs the SQL files of the floors above.

SQL lives in files, one idea each, in the engine's dialect; values are bound, never pasted. The few names that
cannot be bound (a view's Parquet files, a list of columns) are quoted here.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from importlib import resources
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import duckdb

from cubital.domain.scratch import ScratchFolder
from cubital.engine.face import Values

DEFAULT_MEMORY = "1GB"  # an educator's old laptop has 4 GB; DuckDB spills to disk beyond this
DEFAULT_THREADS = 2
ROWS_AT_ONCE = 200


def load_sql(package: str, name: str) -> str:
    """The text of ``sql/NAME.sql`` beside the modules of ``package``."""
    return (resources.files(package) / "sql" / f"{name}.sql").read_text(encoding="utf-8")


def quote_text(text: str) -> str:
    """``text`` as an SQL string literal."""
    return "'" + text.replace("'", "''") + "'"


def quote_name(name: str) -> str:
    """``name`` as an SQL identifier."""
    return '"' + name.replace('"', '""') + '"'


class Session:
    """One engine connection with its own scratch folder; a context manager.

    Not for sharing between threads. ``raw`` is the DuckDB connection, for the few callers that stream.
    """

    def __init__(self, raw: duckdb.DuckDBPyConnection, scratch: ScratchFolder) -> None:
        self.raw = raw
        self.scratch = scratch.folder
        self._scratch = scratch

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Ends the connection and removes its scratch folder."""
        self.raw.close()
        self._scratch.close()

    def rows(self, sql: str, values: Values = ()) -> list[tuple[Any, ...]]:
        """Every row of one statement."""
        return self.raw.execute(sql, values or None).fetchall()

    def named_rows(self, sql: str, values: Values = ()) -> list[dict[str, Any]]:
        """Every row of one statement by the names of its columns."""
        found = self.raw.execute(sql, values or None)
        names = [column[0] for column in found.description or []]
        return [dict(zip(names, row, strict=True)) for row in found.fetchall()]

    def one(self, sql: str, values: Values = ()) -> tuple[Any, ...]:
        """The only row of a statement that returns exactly one."""
        found = self.rows(sql, values)
        if len(found) != 1:
            raise ValueError(f"expected one row, got {len(found)}")
        return found[0]

    def do(self, sql: str, values: Values = ()) -> None:
        """Runs a statement for its effect."""
        self.raw.execute(sql, values or None)

    def has_table(self, name: str) -> bool:
        """Whether the session holds a table or view of that name."""
        return bool(self.rows("select 1 from information_schema.tables where table_name = ?", [name]))

    def add_parquet_view(self, name: str, files: Iterable[Path], columns: Mapping[str, str] | None = None) -> None:
        """A view over Parquet files, read where they lie; nothing is read out of the names of their folders.

        ``columns`` maps each name to its SQL type: the view then has exactly these, and may be over no file at all.
        """
        listed = ", ".join(quote_text(str(file)) for file in files)
        if listed:
            shown = ", ".join(map(quote_name, columns)) if columns else "*"
            source = f"select {shown} from read_parquet([{listed}], hive_partitioning = false)"
        else:
            typed = (f"cast(null as {kind}) as {quote_name(column)}" for column, kind in (columns or {}).items())
            source = f"select {', '.join(typed)} where false"
        self.do(f"create or replace view {quote_name(name)} as {source}")

    def add_rows(self, name: str, columns: Mapping[str, str], rows: Sequence[Sequence[Any]]) -> None:
        """A small table from Python rows: ``columns`` maps each name to its SQL type, in the order of the cells."""
        shape = ", ".join(f"{quote_name(column)} {kind}" for column, kind in columns.items())
        self.do(f"create or replace table {quote_name(name)} ({shape})")
        marks = f"({', '.join('?' for _ in columns)})"
        for start in range(0, len(rows), ROWS_AT_ONCE):  # one by one they take ten times as long
            some = rows[start : start + ROWS_AT_ONCE]
            values = [cell for row in some for cell in row]
            self.raw.execute(f"insert into {quote_name(name)} values {', '.join([marks] * len(some))}", values)


def open_session(
    *,
    folders: Iterable[Path] = (),
    memory: str = DEFAULT_MEMORY,
    threads: int | None = None,
    ordered: bool = False,
) -> Session:
    """A fresh session that can read and write only in ``folders`` and in its own scratch folder.

    No extension is ever fetched and the configuration is locked: a file name inside the data cannot make the engine
    open anything else. ``ordered`` keeps rows in the order of their file, which costs memory on large files.
    """
    scratch = ScratchFolder()
    raw = duckdb.connect(":memory:")
    allowed = ", ".join(quote_text(str(Path(folder).resolve())) for folder in (*folders, scratch.folder))
    workers = threads or min(os.cpu_count() or DEFAULT_THREADS, 8)
    for statement in (
        f"set memory_limit = {quote_text(memory)}",
        f"set threads = {workers}",
        f"set temp_directory = {quote_text(str(scratch.folder))}",
        "set timezone = 'UTC'",
        "set autoinstall_known_extensions = false",
        "set autoload_known_extensions = false",
        f"set allowed_directories = [{allowed}]",
        "set enable_external_access = false",
        "set enable_progress_bar = false",
        f"set preserve_insertion_order = {str(ordered).lower()}",
        "set lock_configuration = true",
    ):
        raw.execute(statement)
    return Session(raw, scratch)
