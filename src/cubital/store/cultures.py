"""The cultures of a workspace: opened at the versions that a committed batch names, changed one batch at a time.

The order of a change: files, then one log entry per table, then, by the caller, the record that names the new
versions. Only that record counts. What an interrupted change left is undone by ``recover`` before the next one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from cubital.domain.errors import WorkspaceProblem
from cubital.domain.snapshots import TableVersions
from cubital.domain.tables import SET_ISOLATES
from cubital.domain.words import _
from cubital.engine import Session, load_sql, open_session
from cubital.engine.session import DEFAULT_MEMORY, quote_text
from cubital.store.compacting import CompactionOutcome, FilesOfMonth, compacting_query, crowded_months, joined_rows
from cubital.store.delta import NO_VERSION, DataFile, DeltaFolder, batch_files, compaction_files
from cubital.store.merging import MergePlan, next_set_offset, plan_merge, writing_query
from cubital.store.moving import MovementPlan, plan_movements
from cubital.store.shapes import SHOWN, STORED
from cubital.store.sources import add_table_view, table_source

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
        """A session with the views ``sets``, ``bottles``, ``isolates``, ``movements`` as they were at ``versions``.

        ``set_isolates`` are the isolates with the facts of their sets, for the judge.
        """
        session = open_session(folders=[self.folder], memory=memory)
        paths = {name: self._paths(name, versions) for name in SHOWN}
        for name, columns in SHOWN.items():
            add_table_view(session, name, name, columns, files=paths[name], set_files=paths["sets"])
        files, set_files = paths["isolates"], paths["sets"]
        add_table_view(session, "set_isolates", "isolates", SET_ISOLATES, files=files, set_files=set_files)
        return session

    def add_stored_views(self, session: Session, versions: TableVersions) -> None:
        """Adds ``stored_sets`` and so on, with the store's own columns, to a session that may read the folder."""
        paths = {name: self._paths(name, versions) for name in STORED}
        for name, columns in STORED.items():
            add_table_view(session, f"stored_{name}", name, columns, files=paths[name], set_files=paths["sets"])

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
                written[table] = self._write(session, table=table, query=query, named=batch_files(batch))
            bottles = {"bottles": written.pop("bottles")}
            after = self._commit(versions, written, months=plan.rewritten_months, batch=batch)
            after = self._commit(after, bottles, months=plan.bottle_months, batch=batch)
        return MergeOutcome(
            versions=after,
            added=plan.added,
            changed=plan.changed,
            unchanged=plan.unchanged,
            outdated=plan.outdated,
            reused=plan.reused,
            changed_months=plan.restated_months,
        )

    def plan_movements(self, session: Session, *, versions: TableVersions) -> MovementPlan:
        """What merging ``new_movements`` of the session would change; nothing is written."""
        self.add_stored_views(session, versions)
        return plan_movements(session)

    def merge_movements(self, session: Session, *, versions: TableVersions, batch: int) -> MovementOutcome:
        """Merges ``new_movements`` of the session and puts every exactly timed set where its patient then was."""
        plan = self.plan_movements(session, versions=versions)
        after = versions
        if plan.added or plan.changed:
            query = load_sql("cubital.store", "write_movements")
            files = self._write(session, table="movements", query=query, named=batch_files(batch))
            after = self._commit(after, {"movements": files}, months=plan.rewritten_months, batch=batch)
        if plan.moved_sets:
            moved = {}
            for table in ("sets", "isolates"):
                query = load_sql("cubital.store", f"write_moved_{table}")
                moved[table] = self._write(session, table=table, query=query, named=batch_files(batch))
            after = self._commit(after, moved, months=plan.set_months, batch=batch)
        return MovementOutcome(
            versions=after,
            added=plan.added,
            changed=plan.changed,
            unchanged=plan.unchanged,
            moved_sets=plan.moved_sets,
            changed_months=plan.set_months,
        )

    def crowded_months(self, versions: TableVersions, *, at_least: int) -> tuple[FilesOfMonth, ...]:
        """The months of each table that lie in ``at_least`` small files or more."""
        return tuple(
            found
            for name in STORED
            for found in crowded_months(name, self.table(name).files(getattr(versions, name)), at_least=at_least)
        )

    def compact(self, crowded: Iterable[FilesOfMonth], *, versions: TableVersions, number: int) -> CompactionOutcome:
        """Writes the rows of each crowded month anew into one file (more where it is large), row for row the same.

        ``crowded`` is what ``crowded_months`` gave for ``versions``, which stay readable; ``number`` names the files.
        """
        after = {name: getattr(versions, name) for name in STORED}
        files_before = files_after = 0
        with open_session(folders=[self.folder], ordered=True) as session:
            for name, group in joined_rows(crowded):
                sets = self._paths("sets", versions)
                added = self._write_compacted(session, table=name, files=group, set_files=sets, number=number)
                after[name] = self.table(name).commit(
                    added=added, removed=group, by=f"compaction {number}", same_rows=True
                )
                files_before += len(group)
                files_after += len(added)
        return CompactionOutcome(versions=TableVersions(**after), files_before=files_before, files_after=files_after)

    def unneeded_files(self, needed: Iterable[TableVersions]) -> tuple[Path, ...]:
        """The Parquet files of the tables that none of the ``needed`` versions is made of."""
        states = tuple(needed)
        found: list[Path] = []
        for name in STORED:
            table = self.table(name)
            kept = {path for version in {getattr(state, name) for state in states} for path in table.paths(version)}
            found += [path for path in table.stored_files() if path not in kept]
        return tuple(found)

    def recover(self, versions: TableVersions, *, last_batch: int, last_compaction: int) -> TableVersions:
        """Undoes what an interrupted batch or compaction left; gives the versions that now stand for what is committed.

        Only for a writer that keeps others out. Does nothing where nothing was left.
        """
        found = {}
        for name in STORED:
            table = self.table(name)
            found[name] = table.roll_back(getattr(versions, name))
            table.sweep(last_batch=last_batch, last_compaction=last_compaction)
        return TableVersions(**found)

    def _paths(self, name: str, versions: TableVersions) -> list[Path]:
        paths = self.table(name).paths(getattr(versions, name))
        for path in paths:
            if not path.exists():
                raise WorkspaceProblem(
                    _("a file of the table {table} is missing.").format(table=name),
                    where=str(path),
                    fix=_("Put it back from a backup."),
                )
        return paths

    def _write_compacted(
        self, session: Session, *, table: str, files: Sequence[DataFile], set_files: Sequence[Path], number: int
    ) -> tuple[DataFile, ...]:
        paths = [self.table(table).folder / file.path for file in files]
        query = compacting_query(table, table_source(session, table, STORED[table], files=paths, set_files=set_files))
        added = self._write(session, table=table, query=query, named=compaction_files(number))
        if sum(file.rows for file in added) != sum(file.rows for file in files):
            raise WorkspaceProblem(
                _("a compaction of the table {table} did not give the same rows, and was not kept.").format(
                    table=table
                ),
                where=str(self.folder),
                fix=_("Check the workspace against its last backup."),
            )
        return added

    def _write(self, session: Session, *, table: str, query: str, named: str) -> tuple[DataFile, ...]:
        """Writes the rows of ``query`` as Parquet files by month; nothing refers to them yet."""
        folder = self.table(table).folder
        folder.mkdir(parents=True, exist_ok=True)
        written = session.rows(
            f"copy ({query}) to {quote_text(str(folder))} (format parquet, parquet_version v2, compression zstd, "
            f"partition_by (month), write_partition_columns true, filename_pattern {quote_text(named)}, "
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
                after[name] = table.commit(added=added, removed=removed, by=f"batch {batch}")
        return TableVersions(**after)
