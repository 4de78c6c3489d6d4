"""Looks into stored files without trusting them: how many rows they hold, whether every value can be read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

import duckdb
from deltalake.exceptions import DeltaError

from cubital.domain.snapshots import TableVersions
from cubital.engine import open_session
from cubital.engine.session import quote_text
from cubital.store.cultures import CultureStore
from cubital.store.delta import DataFile, DeltaFolder

_UNREADABLE = (duckdb.Error, OSError)
_LOOSE_ENDS = {
    "bottles": "select count(*) from bottles anti join sets using (set_id)",
    "isolates": "select count(*) from isolates anti join sets using (set_id)",
    "sets": "select count(*) - count(distinct set_id) from sets",
}


@dataclass(frozen=True, kw_only=True)
class FateCount:
    """How many rows of a file met this fate for this reason."""

    fate: str
    reason: str
    rows: int


class FileChecker:
    """Reads files in ``folders``, and nothing else. A context manager."""

    def __init__(self, folders: Iterable[Path]) -> None:
        self._session = open_session(folders=folders)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._session.close()

    def rows(self, path: Path, *, every_value: bool = False) -> int | None:
        """The rows of a Parquet file, none where it cannot be read. With ``every_value`` each one is decoded."""
        source = f"read_parquet({quote_text(str(path.resolve()))}, hive_partitioning = false)"
        try:
            if every_value:
                self._session.one(f"select sum(hash(t)::hugeint) from {source} t")
            (rows,) = self._session.one(f"select count(*) from {source}")
        except _UNREADABLE:
            return None
        return int(rows)

    def fates(self, path: Path) -> tuple[FateCount, ...] | None:
        """The account that a file of fates gives, none where it cannot be read."""
        source = f"read_parquet({quote_text(str(path.resolve()))})"
        try:
            found = self._session.rows(f"select fate, coalesce(reason, ''), count(*) from {source} group by all")
        except _UNREADABLE:
            return None
        return tuple(FateCount(fate=fate, reason=reason, rows=rows) for fate, reason, rows in found)


def readable_files(table: DeltaFolder, version: int) -> tuple[DataFile, ...] | None:
    """The files of a version as its log names them, none where the log cannot be read."""
    try:
        return table.files(version)
    except (DeltaError, OSError, ValueError, KeyError, TypeError):
        return None


def loose_ends(store: CultureStore, versions: TableVersions) -> dict[str, int]:
    """Rows by table that stand for nothing: bottles and isolates without their set, sets that share a number."""
    with store.open_snapshot(versions) as session:
        counts = {table: session.one(query)[0] for table, query in _LOOSE_ENDS.items()}
    return {table: int(count) for table, count in counts.items() if count}
