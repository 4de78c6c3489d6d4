"""Brings the records of a workspace from its own file to a PostgreSQL server, and back.

The records are copied whole, read again there and compared, row by row; only then does the setting change, and that is
the moment. What they were copied from is kept under another name. A kill at any time leaves the records where they were
or where they should be, never both half.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from cubital.domain.errors import RequestProblem, WorkspaceProblem
from cubital.domain.words import _
from cubital.workspace.migrating import JOURNALS, mark_schema, migrate_records, whole_on_server
from cubital.workspace.opening import (
    RECORDS,
    SCHEMA,
    WAL_IS_SAFE_FROM,
    Workspace,
    journal_mode,
    open_workspace,
    register_records,
)
from cubital.workspace.record_rows import newest_migration, read_records, write_records
from cubital.workspace.records_address import SETTING, VARIABLE, keep_address, parse_address
from cubital.workspace.writing import hold_workspace, said_plainly

DRAFT = ".records-moving"


@dataclass(frozen=True, kw_only=True)
class MovedRecords:
    """Where the records were and are, the rows of each table, and under which name the old ones are kept."""

    source: str
    target: str
    rows: Mapping[str, int]
    kept_as: str


@dataclass(frozen=True, kw_only=True)
class RecordsPlace:
    """Where the records are, kept by what, and what should be known about it."""

    place: str
    software: str
    cautions: tuple[str, ...]


def open_for_moving(folder: Path) -> tuple[Workspace, str]:
    """The workspace wherever its records are now, and the address that the environment asks for.

    Elsewhere the two may not contradict each other; here that is what is to be put right.
    """
    asked = os.environ.get(VARIABLE, "").strip()
    if not (folder / SETTING).exists() and (folder / RECORDS).exists():
        os.environ.pop(VARIABLE, None)
    return open_workspace(folder, create=False), asked


def records_place(workspace: Workspace) -> RecordsPlace:
    """Where the records of this workspace are, with the caution that this computer's SQLite deserves."""
    if workspace.server is not None:
        from cubital.workspace.postgres.server import server_version

        software = f"PostgreSQL {server_version(workspace)}"
        return RecordsPlace(place=workspace.server.words(), software=software, cautions=())
    version = sqlite3.sqlite_version
    cautions = []
    if sqlite3.sqlite_version_info < WAL_IS_SAFE_FROM:
        text = _(
            "SQLite {version} can, rarely, damage a file in its write-ahead mode where two programs write;"
            " from {safe} on it cannot."
            " Cubital therefore uses the older way here ({mode}): safe, but readers wait while somebody writes."
            " Where several people work at once, bring the records to a server."
        )
        safe = ".".join(str(part) for part in WAL_IS_SAFE_FROM)
        cautions.append(text.format(version=version, safe=safe, mode=journal_mode()))
    return RecordsPlace(
        place=str(workspace.folder / RECORDS),
        software=f"SQLite {version}, journal {journal_mode()}",
        cautions=tuple(cautions),
    )


def move_to_server(workspace: Workspace, *, address: str) -> MovedRecords:
    """Brings the records to the server at ``address``; the file is kept beside, under another name.

    Raises ``WorkspaceProblem`` where the server cannot be used or gives other rows back, ``RequestProblem`` where the
    records are on a server already; then the records are where they were.
    """
    if workspace.server is not None:
        raise RequestProblem(
            _("the records are on a server already: {place}.").format(place=workspace.server.words()),
            fix=_("Bring them back first, with --back, and then to the other server."),
        )
    server = parse_address(address, where=VARIABLE)
    target = Workspace(workspace.folder, register_records(workspace.folder, server), server)
    with hold_workspace(workspace):
        tables = read_records(workspace)
        with said_plainly(workspace.folder):
            _fill_server(target, tables, migration=newest_migration(workspace))
        keep_address(workspace.folder, server)
        workspace.close()
        kept = _set_file_aside(workspace.folder)
    return MovedRecords(source=RECORDS, target=server.words(), rows=_counts(tables), kept_as=kept)


def move_to_file(workspace: Workspace) -> MovedRecords:
    """Brings the records back into the folder; the server keeps its own under another name.

    Errors as for ``move_to_server``.
    """
    if workspace.server is None:
        raise RequestProblem(_("the records are in the workspace's own file already."))
    from cubital.workspace.postgres.server import set_aside

    draft = workspace.folder / DRAFT
    with hold_workspace(workspace):
        tables = read_records(workspace)
        shutil.rmtree(draft, ignore_errors=True)
        draft.mkdir(mode=0o700)
        with said_plainly(workspace.folder):
            _fill_file(Workspace(draft, register_records(draft, None)), tables, migration=newest_migration(workspace))
        _set_file_aside(workspace.folder)
        (draft / RECORDS).replace(workspace.folder / RECORDS)
        (workspace.folder / SETTING).unlink()
        shutil.rmtree(draft, ignore_errors=True)
        kept = set_aside(workspace, stamp=_stamp()) or ""
    return MovedRecords(source=workspace.server.words(), target=RECORDS, rows=_counts(tables), kept_as=kept)


def _fill_server(target: Workspace, tables: dict[str, list[dict[str, object]]], *, migration: str) -> None:
    """The records there, proven equal before their mark says that they are complete."""
    from cubital.workspace.postgres.server import set_aside

    set_aside(target, stamp=_stamp())
    with whole_on_server(target):
        migrate_records(target, to=SCHEMA)
        write_records(target, tables, migration=migration)
        mark_schema(target, 0)
    _prove_equal(target, tables)
    mark_schema(target, SCHEMA)


def _fill_file(target: Workspace, tables: dict[str, list[dict[str, object]]], *, migration: str) -> None:
    migrate_records(target, to=SCHEMA)
    write_records(target, tables, migration=migration)
    _prove_equal(target, tables)
    mark_schema(target, SCHEMA)
    target.close()


def _prove_equal(target: Workspace, tables: Mapping[str, list[dict[str, object]]]) -> None:
    found = read_records(target)
    different = [name for name in tables if found.get(name) != tables[name]]
    if different:
        raise WorkspaceProblem(
            _("the copied records are not equal to what they were copied from ({names}). Nothing was changed.").format(
                names=", ".join(different)
            ),
            where=str(target.folder),
            fix=_("Leave the records where they are, and report this."),
        )


def _set_file_aside(folder: Path) -> str:
    """Renames the records' own file, if it is there, and gives its new name."""
    own = folder / RECORDS
    if not own.exists():
        return ""
    kept = own.with_name(f"moved-{_stamp()}-{RECORDS}")
    own.replace(kept)
    for ending in JOURNALS:
        journal = own.with_name(own.name + ending)
        if journal.exists():
            journal.replace(kept.with_name(kept.name + ending))
    return kept.name


def _counts(tables: Mapping[str, list[dict[str, object]]]) -> dict[str, int]:
    return {name: len(rows) for name, rows in tables.items()}


def _stamp() -> str:
    return f"{datetime.now(UTC):%Y%m%d%H%M%S}"
