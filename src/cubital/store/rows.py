"""What became of every row of every file, kept as two Parquet files per batch."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cubital.engine import Session, open_session
from cubital.engine.session import quote_text
from cubital.store.delta import settle

_ROW_FILE = re.compile(r"^b(\d+)-\w+\.parquet$")
_CHUNK = 10_000
_FATES = (
    'select row::bigint as "row", sheet::varchar as sheet, fate::varchar as fate, reason::varchar as reason, '
    "detail::varchar as detail from {table}"
)
_DOUBTS = 'select row::bigint as "row", reason::varchar as reason, detail::varchar as detail from {table}'
_NO_DOUBTS = "(select null::bigint as row, '' as reason, '' as detail where false)"


@dataclass(frozen=True, kw_only=True)
class RowFate:
    """What became of one data row: ``set`` or ``loss``, with the reason as a word and a detail without patient values.

    ``row`` counts as the file does, its header being row 1 where it has one.
    """

    row: int
    sheet: str
    fate: str
    reason: str
    detail: str


@dataclass(frozen=True, kw_only=True)
class RowDoubt:
    """One thing kept and said about a row."""

    row: int
    reason: str
    detail: str


class RowStore:
    """The row files of a workspace, in ``folder``."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()

    def write(self, session: Session, *, batch: int, fates: str, doubts: str | None = None) -> None:
        """Keeps the tables ``fates`` and ``doubts`` (none where there are none) of a session that may write here."""
        self.folder.mkdir(exist_ok=True)
        queries = {"fates": _FATES.format(table=fates), "doubts": _DOUBTS.format(table=doubts or _NO_DOUBTS)}
        for kind, query in queries.items():
            path = self.path(batch, kind)
            session.do(f"copy ({query}) to {quote_text(str(path))} (format parquet, compression zstd)")
        settle(self.path(batch, kind) for kind in queries)

    def sweep(self, last_batch: int) -> int:
        """Deletes the files of batches after ``last_batch``, which were never accepted; gives how many."""
        swept = 0
        for path in self.folder.glob("b*.parquet"):
            named = _ROW_FILE.match(path.name)
            if named and int(named[1]) > last_batch:
                path.unlink()
                swept += 1
        return swept

    def fates(
        self, batch: int, *, reason: str | None = None, limit: int | None = None, offset: int = 0
    ) -> Iterator[RowFate]:
        """The fates of a batch in the order of the file; a million rows pass through little memory."""
        where = "where reason = ?" if reason is not None else ""
        page = f"limit {int(limit)} offset {int(offset)}" if limit is not None else ""
        source = f"select * from read_parquet({quote_text(str(self.path(batch, 'fates')))})"
        with open_session(folders=[self.folder]) as session:
            values = [reason] if reason is not None else []
            result = session.raw.execute(f"{source} {where} order by sheet, row {page}", values)
            while chunk := result.fetchmany(_CHUNK):
                for row, sheet, fate, why, detail in chunk:
                    yield RowFate(row=row, sheet=sheet or "", fate=fate, reason=why or "", detail=detail or "")

    def doubts(self, batch: int, *, reason: str | None = None, limit: int | None = None) -> Iterator[RowDoubt]:
        """The doubts of a batch by row."""
        where = "where reason = ?" if reason is not None else ""
        page = f"limit {int(limit)}" if limit is not None else ""
        source = f"select * from read_parquet({quote_text(str(self.path(batch, 'doubts')))})"
        with open_session(folders=[self.folder]) as session:
            values = [reason] if reason is not None else []
            result = session.raw.execute(f"{source} {where} order by row, reason {page}", values)
            while chunk := result.fetchmany(_CHUNK):
                for row, why, detail in chunk:
                    yield RowDoubt(row=row, reason=why or "", detail=detail or "")

    def path(self, batch: int, kind: str) -> Path:
        """Where the ``fates`` or the ``doubts`` of a batch lie."""
        return self.folder / f"b{batch:06d}-{kind}.parquet"
