"""The same session over Spark: the SQL files translated, the same Parquet files read, the same face.

Spark runs on this computer or on a network of many. A temporary table is computed once and kept by the workers, spilled
to disk where memory ends; a temporary view is a name for a query. Everything belongs to one session and goes with it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from cubital.engine.dialect import name_values, translate
from cubital.engine.face import Values
from cubital.engine.spark_running import start_spark

if TYPE_CHECKING:
    from pyspark.sql import DataFrame

HELD_WHOLE = 2_000  # rows; a table of more is kept by the workers, in parts
SENT_WHOLE = 64_000_000  # bytes of a table that each worker is sent in full rather than sorted against a large one
_TYPES = {
    "BIGINT": "bigint",
    "INTEGER": "int",
    "UTINYINT": "smallint",
    "DOUBLE": "double",
    "BOOLEAN": "boolean",
    "VARCHAR": "string",
    "DATE": "date",
    "TIMESTAMP": "timestamp_ntz",
}


class SparkQuerySession:
    """One session on a running Spark, with views and tables of its own; a context manager. ``QuerySession`` tells more.

    ``raw`` is Spark's own session.
    """

    def __init__(self, raw: Any) -> None:
        self.raw = raw
        self._kept: dict[str, dict[int, Any]] = {}
        self._names: set[str] = set()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Forgets the session's views and tables; Spark goes on running for the next session."""
        for name in sorted(self._names):
            self.raw.catalog.dropTempView(name)
        for kept in self._kept.values():
            _drop(kept)
        self._names.clear()
        self._kept.clear()

    def rows(self, sql: str, values: Values = ()) -> list[tuple[Any, ...]]:
        """Every row of one statement."""
        return [tuple(row) for row in self._query(translate(sql).text, values).collect()]

    def named_rows(self, sql: str, values: Values = ()) -> list[dict[str, Any]]:
        """Every row of one statement by the names of its columns."""
        found = self._query(translate(sql).text, values)
        names = found.columns
        return [dict(zip(names, row, strict=True)) for row in found.collect()]

    def one(self, sql: str, values: Values = ()) -> tuple[Any, ...]:
        """The only row of a statement that returns exactly one."""
        found = self.rows(sql, values)
        if len(found) != 1:
            raise ValueError(f"expected one row, got {len(found)}")
        return found[0]

    def do(self, sql: str, values: Values = ()) -> None:
        """Makes a temporary table, computed now, or a temporary view."""
        statement = translate(sql)
        if statement.kind == "query":
            raise ValueError(f"nothing is made by a query alone: {sql[:80]}")
        made = self._query(statement.text, values)
        if statement.kind == "table":
            self._keep(statement.name, made)
        else:
            self._forget(statement.name)
            self._show(statement.name, made)

    def has_table(self, name: str) -> bool:
        """Whether the session holds a table or view of that name."""
        return name in self._names

    def add_parquet_view(self, name: str, files: Iterable[Path], columns: Mapping[str, str] | None = None) -> None:
        """A view over Parquet files that lie where every worker finds them; ``columns`` as for the embedded engine."""
        listed = [_escaped(file) for file in files]
        if not listed:
            self.add_rows(name, columns or {}, [])
            return
        reader = self.raw.read.schema(_shape(columns)) if columns else self.raw.read
        self._forget(name)
        self._show(name, reader.parquet(*listed))

    def add_rows(self, name: str, columns: Mapping[str, str], rows: Sequence[Sequence[Any]]) -> None:
        """A small table from Python rows, known to Spark in full, so that it is sent to the workers whole."""
        shape = _shape(columns)
        written = json.dumps([dict(zip(columns, row, strict=True)) for row in rows], default=_json)
        # The rows are one bound value; what Spark makes of them stays on its side and becomes a table held in memory.
        read = self.raw.sql(
            f"select inline(from_json(:rows, 'array<struct<{shape}>>', map('mode', 'FAILFAST')))",
            args={"rows": written},
        )
        self._forget(name)
        self._show(name, self._held(read, read._jdf.collectAsList()))

    def _query(self, text: str, values: Values) -> DataFrame:
        found: DataFrame = self.raw.sql(text, args=name_values(values))
        return found

    def _keep(self, name: str, made: DataFrame) -> None:
        """Computes ``made`` once, by what is known of its size afterwards. How it was made is forgotten.

        A plain view of it would hold every step behind it again, so that plans double with each table made of tables.
        """
        self._forget(name)
        before = set(self._stored())
        kept = made.localCheckpoint()
        first = kept._jdf.takeAsList(HELD_WHOLE + 1)
        new = {number: rdd for number, rdd in self._stored().items() if number not in before}
        if first.size() <= HELD_WHOLE:
            self._show(name, self._held(kept, first))
            _drop(new)
            return
        self._kept[name] = new
        rows, width = kept.count(), kept._jdf.schema().defaultSize()
        self._show(name, kept.hint("broadcast") if rows * width <= SENT_WHOLE else kept)

    def _stored(self) -> dict[int, Any]:
        """What the workers keep, by Spark's numbers."""
        stored = self.raw.sparkContext._jsc.getPersistentRDDs()
        # An array knows its length; an iterator's end is an error on Spark's side, which takes longer than many tables.
        return {number: stored[number] for number in stored.keySet().toArray()}

    def _held(self, small: DataFrame, rows: Any) -> DataFrame:
        """The ``rows`` of a small frame as part of the plan: sent to the workers whole, and its size is known."""
        return type(small)(self.raw._jsparkSession.createDataFrame(rows, small._jdf.schema()), self.raw)

    def _show(self, name: str, made: DataFrame) -> None:
        made.createOrReplaceTempView(name)
        self._names.add(name)

    def _forget(self, name: str) -> None:
        kept = self._kept.pop(name, None)
        if kept is not None:
            _drop(kept)


def open_spark(master: str, *, settings: Mapping[str, str] | None = None) -> SparkQuerySession:
    """A fresh session on the Spark at ``master``: ``local[2]`` on this computer, ``spark://host:7077`` on a cluster.

    Raises ``MachineProblem`` where Spark is missing or does not start.
    """
    return SparkQuerySession(start_spark(master, settings=settings).newSession())


def _drop(stored: Mapping[int, Any]) -> None:
    for rdd in stored.values():
        rdd.unpersist()


def _shape(columns: Mapping[str, str]) -> str:
    return ", ".join(f"`{name}` {_TYPES[kind]}" for name, kind in columns.items())


def _json(value: object) -> str:
    if isinstance(value, date):  # a time is a date too
        return value.isoformat()
    raise TypeError(f"no cell for {type(value).__name__}")


def _escaped(file: Path) -> str:
    """Spark takes ``*?[]{}`` in a path for a pattern."""
    return "".join(f"\\{sign}" if sign in "*?[]{}\\" else sign for sign in str(file))
