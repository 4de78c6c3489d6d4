"""Which months lie in many small files, and the query that reads them together: the same rows in fewer files.

Every file that is taken in adds a file to each month it speaks of. A year of nightly extracts is hundreds of them,
and opening a file costs as much as reading a thousand sets.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from cubital.domain.snapshots import TableVersions
from cubital.store.delta import DataFile
from cubital.store.shapes import MONTH, STORED

SMALL_FILE = 64_000_000  # bytes; some three million sets: joining larger ones gains nothing


@dataclass(frozen=True, kw_only=True)
class FilesOfMonth:
    """The small files that one month of one table lies in."""

    table: str
    month: str
    files: tuple[DataFile, ...]


@dataclass(frozen=True, kw_only=True)
class CompactionOutcome:
    """What a compaction did: the versions to name in its record, and how many files it joined into how many."""

    versions: TableVersions
    files_before: int
    files_after: int


def crowded_months(table: str, files: Iterable[DataFile], *, at_least: int) -> tuple[FilesOfMonth, ...]:
    """The months among ``files`` with ``at_least`` small files (two at the least), oldest first."""
    small = sorted((file for file in files if file.size < SMALL_FILE), key=_month_of)
    months = ((month, tuple(group)) for month, group in groupby(small, key=_month_of))
    return tuple(
        FilesOfMonth(table=table, month=month, files=group) for month, group in months if len(group) >= max(2, at_least)
    )


def joined_rows(crowded: Iterable[FilesOfMonth]) -> Iterator[tuple[str, tuple[DataFile, ...]]]:
    """The files to read together, table by table."""
    ordered = sorted(crowded, key=lambda found: found.table)
    for table, group in groupby(ordered, key=lambda found: found.table):
        yield table, tuple(file for found in group for file in found.files)


def compacting_query(table: str, source: str) -> str:
    """Every row of the query ``source`` with the columns as stored, by month and then by the table's first column."""
    first = next(iter(STORED[table]))
    return f"select * from ({source}) order by {MONTH}, {first}"


def _month_of(file: DataFile) -> str:
    return file.month
