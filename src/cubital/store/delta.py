"""One Delta table in a folder: the files of a version, adding a version, going back to one, sweeping up.

The engine writes the Parquet files, this module the log. A file's name starts with the number of its batch or of
its compaction, so what an interrupted one left behind is known by its name.

Against a power cut everything is written through to the disk in the order in which it relies on each other: the
files and the folders that name them, then the log entry, and only then, by the caller, the record.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from deltalake import CommitProperties, DeltaTable, Schema
from deltalake.transaction import AddAction, PostCommitHookProperties, RemoveAction

from cubital.domain.errors import WorkspaceProblem
from cubital.domain.words import _
from cubital.store.shapes import MONTH, delta_schema

NO_VERSION = -1
# Delta forgets old versions after thirty days unless told otherwise; a figure must be reproducible for years.
KEEP_EVERY_VERSION = {
    "delta.logRetentionDuration": "interval 36500 days",
    "delta.deletedFileRetentionDuration": "interval 36500 days",
    "delta.enableExpiredLogCleanup": "false",
}
_NUMBERED_FILE = re.compile(r"^([bc])(\d+)_.*\.parquet$")
_UNDONE = ".undone"


@dataclass(frozen=True, kw_only=True)
class DataFile:
    """One Parquet file: ``path`` relative to the table's folder with slashes, ``size`` in bytes, its month and rows."""

    path: str
    size: int
    month: str
    rows: int


@dataclass(frozen=True)
class DeltaFolder:
    """The folder of one table. ``table`` is its canonical name, which fixes its columns."""

    folder: Path
    table: str

    def latest(self) -> int:
        """The newest version in the log, whether its batch was accepted or not; -1 where there is no table."""
        if not DeltaTable.is_deltatable(self.folder.as_uri()):
            return NO_VERSION
        return self._open(None).version()

    def files(self, version: int) -> tuple[DataFile, ...]:
        """The files that make up ``version``; none for version -1."""
        if version == NO_VERSION:
            return ()
        actions = self._open(version).get_add_actions()
        return tuple(
            DataFile(path=path, size=size, month=partition[MONTH], rows=rows)
            for path, size, partition, rows in zip(
                actions["path"].to_pylist(),
                actions["size_bytes"].to_pylist(),
                actions["partition"].to_pylist(),
                actions["num_records"].to_pylist(),
                strict=True,
            )
        )

    def paths(self, version: int) -> list[Path]:
        """Where the files of ``version`` lie now."""
        return [self.folder / file.path for file in self.files(version)]

    def commit(
        self, *, added: Sequence[DataFile], removed: Sequence[DataFile], by: str, same_rows: bool = False
    ) -> int:
        """Adds one version to the log and gives its number. The files are on disk, settled, before the log says so.

        ``by`` says what wrote it, such as ``batch 7``; with ``same_rows`` other files hold the rows that were there.
        """
        schema = delta_schema(self.table)
        table = self._widened(schema) if self.latest() != NO_VERSION else self._create()
        now = int(time.time() * 1000)
        change = not same_rows
        actions: list[AddAction | RemoveAction] = [_add(file, now, change=change) for file in added]
        actions += [RemoveAction(file.path, change, now, file.size, {MONTH: file.month}) for file in removed]
        settle([self.folder / file.path for file in added], top=self.folder.parent)
        table.create_write_transaction(
            actions,
            "append",
            schema,
            [MONTH],
            commit_properties=CommitProperties(custom_metadata={"by": by}),
            post_commithook_properties=PostCommitHookProperties(create_checkpoint=True, cleanup_expired_logs=False),
        )
        version = self._open(None).version()
        self._settle_log(version)
        return version

    def roll_back(self, version: int) -> int:
        """Undoes what came after ``version``, which no record ever named; gives the number of what remains."""
        latest = self.latest()
        if latest == version:
            return version
        if latest < version:
            raise WorkspaceProblem(
                _("the records name a state of the table {table} that this folder does not hold.").format(
                    table=self.table
                ),
                where=str(self.folder),
                fix=_("This may be an older copy of the workspace: use the newest one, or restore a backup."),
            )
        if version == NO_VERSION:
            self._undo_creation()
            return NO_VERSION
        table = self._open(None)
        table.restore(version)
        self._settle_log(table.version())
        return table.version()

    def sweep(self, *, last_batch: int, last_compaction: int) -> int:
        """Deletes the files of later batches and compactions, which were never accepted; gives how many."""
        self._clear_undone()
        last = {"b": last_batch, "c": last_compaction}
        swept = 0
        for path in self.stored_files():
            named = _NUMBERED_FILE.match(path.name)
            if named and int(named[2]) > last[named[1]]:
                path.unlink()
                swept += 1
        return swept

    def stored_files(self) -> list[Path]:
        """Every Parquet file of rows in the folder, whether a version needs it or not."""
        return sorted(self.folder.glob(f"{MONTH}=*/*.parquet"))

    def forget_birthplace(self) -> None:
        """Takes out of the first log entry where the table was made: a workspace knows no place, and no reader asks."""
        first = self._log_entry(0)
        if not first.exists():
            return
        entries = [json.loads(line) for line in first.read_text("utf-8").splitlines()]
        for entry in entries:
            entry.get("commitInfo", {}).get("operationParameters", {}).pop("location", None)
        draft = first.with_name(f".{first.name}.part")
        draft.write_text("\n".join(json.dumps(entry, separators=(",", ":")) for entry in entries), "utf-8")
        settle([draft])
        draft.replace(first)
        settle([first])

    def _log_entry(self, version: int) -> Path:
        return self.folder / "_delta_log" / f"{version:020d}.json"

    def _open(self, version: int | None) -> DeltaTable:
        return DeltaTable(self.folder.as_uri(), version=version)

    def _widened(self, schema: Schema) -> DeltaTable:
        """The newest state, with the columns that tables did not have when this one was made."""
        table = self._open(None)
        known = {field.name for field in table.schema().fields}
        if missing := [field for field in schema.fields if field.name not in known]:
            table.alter.add_columns(missing)
            table = self._open(None)
            self._settle_log(table.version())
        return table

    def _create(self) -> DeltaTable:
        self.folder.mkdir(parents=True, exist_ok=True)
        DeltaTable.create(
            self.folder.as_uri(),
            delta_schema(self.table),
            partition_by=[MONTH],
            configuration=KEEP_EVERY_VERSION,
        )
        self.forget_birthplace()
        return self._open(None)

    def _undo_creation(self) -> None:
        """Deletes a table that no record ever named: out of sight in one step, so that a kill leaves no half log."""
        self._clear_undone()
        self.folder.rename(self._undone)
        self._clear_undone()

    def _clear_undone(self) -> None:
        if self._undone.exists():
            shutil.rmtree(self._undone)

    @property
    def _undone(self) -> Path:
        return self.folder.with_name(f".{self.folder.name}{_UNDONE}")

    def _settle_log(self, version: int) -> None:
        """The log entry, and the summary of the log where this version was the one to make it."""
        log = self.folder / "_delta_log"
        summaries = list(log.glob(f"{version:020d}.checkpoint*"))
        settle([log / f"{version:020d}.json", *summaries], top=self.folder.parent)
        if summaries:
            settle([log / "_last_checkpoint"])


def batch_files(batch: int) -> str:
    """The engine's pattern for the names of the files of a batch."""
    return f"b{batch:06d}_{{uuid}}"


def compaction_files(compaction: int) -> str:
    """The engine's pattern for the names of the files of a compaction."""
    return f"c{compaction:06d}_{{uuid}}"


def settle(paths: Iterable[Path], *, top: Path | None = None) -> None:
    """Has the system write these files and their folders through to the disk, so that a power cut finds them whole.

    A new folder is known only once the folder above it is written: ``top`` says up to where.
    """
    folders = set()
    for path in paths:
        _sync(path)
        folders |= {path.parent} | {above for above in path.parents if top and above.is_relative_to(top)}
    if os.name == "posix":  # a folder cannot be opened for this elsewhere
        for folder in folders:
            _sync(folder)


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY if os.name == "posix" else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _add(file: DataFile, now: int, *, change: bool) -> AddAction:
    return AddAction(
        path=file.path,
        size=file.size,
        partition_values={MONTH: file.month},
        modification_time=now,
        data_change=change,
        stats=json.dumps({"numRecords": file.rows}),
    )
