"""The cultures of a workspace: opened at the versions that a committed batch names, changed one batch at a time.

The order of a change: files, then one log entry per table, then, by the caller, the record that names the new
versions. Only that record counts. What an interrupted change left is undone by ``recover`` before the next one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from cubital.domain.snapshots import TableVersions
from cubital.engine import Session, load_sql, open_session
from cubital.engine.session import DEFAULT_MEMORY, quote_text
from cubital.store.delta import NO_VERSION, DataFile, DeltaFolder, file_pattern
from cubital.store.merging import MergePlan, next_set_offset, plan_merge, writing_query
from cubital.store.moving import MovementPlan, plan_movements
from cubital.store.shapes import SHOWN, STORED

CULTURE_TABLES = ("sets", "bottles", "isolates")


@dataclass(frozen=True, kw_only=True)
class MergeOutcome:
    """What a merge did: the versions to name in the record, and the counts of its plan (sets)."""

    versions: TableVersions
    added: int
    changed: int
    unchanged: int
    outdated: int
    reused: int
    changed_months: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class MovementOutcome:
    """What a file of stays did: the versions to name in the record, and the counts of its plan (stays, sets)."""

    versions: TableVersions
    added: int
    changed: int
    unchanged: int
    moved_sets: int
    changed_months: tuple[str, ...]


class CultureStore:
    """The four tables in ``folder``. Safe to read while another process writes; one writer at a time."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()

    def table(self, name: str) -> DeltaFolder:
        """The folder of one table: sets, bottles, isolates or movements."""
        return DeltaFolder(self.folder / name, name)

    def open_snapshot(self, versions: TableVersions, *, memory: str = DEFAULT_MEMORY) -> Session:
        """A session with the views ``sets``, ``bottles``, ``isolates``, ``movements`` as they were at ``versions``."""
        session = open_session(folders=[self.folder], memory=memory)
        for name, columns in SHOWN.items():
            _add_view(session, name, columns, self._paths(name, versions))
        return session

    def add_stored_views(self, session: Session, versions: TableVersions) -> None:
        """Adds ``stored_sets`` and so on, with the store's own columns, to a session that may read the folder."""
        for name, columns in STORED.items():
            _add_view(session, f"stored_{name}", columns, self._paths(name, versions))

    def plan(self, session: Session, *, versions: TableVersions, taken_as: int | None = None) -> MergePlan:
        """What merging the session's new tables would change; nothing is written.

        ``taken_as`` is the batch that took this very file before, if one did: what later batches corrected then stays.
        """
        self.add_stored_views(session, versions)
        return plan_merge(session, taken_as=taken_as)

    def merge(
        self, session: Session, *, versions: TableVersions, batch: int, plan: MergePlan | None = None
    ) -> MergeOutcome:
        """Merges ``new_sets``, ``new_bottles`` and ``new_isolates`` of the session into the state ``versions``.

        New sets are added; changed ones replace their row, bottles and isolates and keep their ``set_id``; the old
        state stays readable at the old versions. Without a change no table gets a new version. ``plan`` is what
        ``plan`` gave for this session, if it was asked before.
        """
        plan = plan or self.plan(session, versions=versions)
        after = versions
        if not plan.changes_nothing:
            offset = next_set_offset(session)
            written = {}
            for table in CULTURE_TABLES:
                query = writing_query(table, offset=offset, batch=batch)
                written[table] = self._write(session, table=table, query=query, batch=batch)
            after = self._commit(versions, written, months=plan.rewritten_months, batch=batch)
        return MergeOutcome(
            versions=after,
            added=plan.added,
            changed=plan.changed,
            unchanged=plan.unchanged,
            outdated=plan.outdated,
            reused=plan.reused,
            changed_months=plan.restated_months,
        )

    def merge_movements(self, session: Session, *, versions: TableVersions, batch: int) -> MovementOutcome:
        """Merges ``new_movements`` of the session and puts every exactly timed set where its patient then was."""
        self.add_stored_views(session, versions)
        plan: MovementPlan = plan_movements(session)
        after = versions
        if plan.added or plan.changed:
            query = load_sql("cubital.store", "write_movements")
            files = self._write(session, table="movements", query=query, batch=batch)
            after = self._commit(after, {"movements": files}, months=plan.rewritten_months, batch=batch)
        if plan.moved_sets:
            query = load_sql("cubital.store", "write_moved_sets")
            files = self._write(session, table="sets", query=query, batch=batch)
            after = self._commit(after, {"sets": files}, months=plan.set_months, batch=batch)
        return MovementOutcome(
            versions=after,
            added=plan.added,
            changed=plan.changed,
            unchanged=plan.unchanged,
            moved_sets=plan.moved_sets,
            changed_months=plan.set_months,
        )

    def recover(self, versions: TableVersions, *, last_batch: int) -> TableVersions:
        """Undoes what an interrupted batch left, and gives the versions that now stand for the committed state.

        Only for a writer that keeps others out. Does nothing where nothing was left.
        """
        found = {}
        for name in STORED:
            table = self.table(name)
            found[name] = table.roll_back(getattr(versions, name))
            table.sweep(last_batch)
        return TableVersions(**found)

    def _paths(self, name: str, versions: TableVersions) -> list[Path]:
        return self.table(name).paths(getattr(versions, name))

    def _write(self, session: Session, *, table: str, query: str, batch: int) -> tuple[DataFile, ...]:
        """Writes the rows of ``query`` as Parquet files by month, named after the batch; nothing refers to them yet."""
        folder = self.table(table).folder
        folder.mkdir(parents=True, exist_ok=True)
        written = session.rows(
            f"copy ({query}) to {quote_text(str(folder))} (format parquet, compression zstd, partition_by (month), "
            f"write_partition_columns true, filename_pattern {quote_text(file_pattern(batch))}, "
            "overwrite_or_ignore true, return_stats true)"
        )
        return tuple(
            DataFile(path=Path(path).relative_to(folder).as_posix(), size=size, month=partition["month"], rows=rows)
            for path, rows, size, _footer, _columns, partition in written
        )

    def _commit(
        self,
        versions: TableVersions,
        written: Mapping[str, tuple[DataFile, ...]],
        *,
        months: Iterable[str],
        batch: int,
    ) -> TableVersions:
        """One log entry per table that has new files or loses some; the others keep their version."""
        rewritten = set(months)
        after = {name: getattr(versions, name) for name in STORED}
        for name, added in written.items():
            table = self.table(name)
            removed = [file for file in table.files(after[name]) if file.month in rewritten]
            if added or removed or after[name] == NO_VERSION:
                after[name] = table.commit(added=added, removed=removed, batch=batch)
        return TableVersions(**after)


def _add_view(session: Session, name: str, columns: Mapping[str, str], files: list[Path]) -> None:
    """A view with exactly ``columns``; an empty one with the right types where there is no file yet."""
    listed = ", ".join(f'"{column}"' for column in columns)
    if files:
        paths = ", ".join(quote_text(str(file)) for file in files)
        source = f"select {listed} from read_parquet([{paths}], hive_partitioning = false)"
    else:
        typed = ", ".join(f'cast(null as {kind}) as "{column}"' for column, kind in columns.items())
        source = f"select {typed} where false"
    session.do(f'create or replace view "{name}" as {source}')
