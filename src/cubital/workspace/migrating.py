"""Makes the records of a new workspace, and brings an older workspace forward, each step with a copy first.

The copy of what a step changes lies in the workspace as ``before-schema-N``. While the workspace still carries a number
below N, that folder means that the step was interrupted: the copy is put back and the step begins anew. Afterwards it
is the way back until somebody has verified the workspace.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from cubital.domain.errors import MachineProblem
from cubital.domain.words import _
from cubital.workspace.migration_steps import STEPS
from cubital.workspace.opening import RECORDS, SCHEMA, Workspace, create_secret, read_schema

COPY = "before-schema-"
JOURNALS = ("-wal", "-shm", "-journal")
APP = "records"
Say = Callable[[str], None]


def make_records(workspace: Workspace) -> None:
    """Makes the records of a new workspace with its first charter and policy; the mark of the schema comes last."""
    if workspace.server is None:
        _set_unfinished_aside(workspace)
    create_secret(workspace.folder)
    with whole_on_server(workspace):
        migrate_records(workspace, to=SCHEMA)
        _seed(workspace)
        mark_schema(workspace, SCHEMA)


def bring_forward(workspace: Workspace, *, schema: int, say: Say) -> None:
    """Takes an older workspace (``schema``, at least 1) to the newest schema, step by step, each with a copy first.

    Only while holding the workspace. A kill at any moment leaves a workspace that the next opening brings forward.
    ``MachineProblem`` where there is no room for a copy, and then nothing is changed.
    """
    for number in range(schema + 1, SCHEMA + 1):
        if copy_before(workspace, number).exists():
            say(_("Bringing this workspace forward was interrupted. It is put back and begun anew."))
            _put_back(workspace, number)
        else:
            _copy_first(workspace, number)
        say(
            _("This workspace is brought from schema {old} to {new}. A copy of what changes is kept in {name}.").format(
                old=number - 1, new=number, name=copy_before(workspace, number).name
            )
        )
        with whole_on_server(workspace):
            migrate_records(workspace, to=number)
            for step in STEPS:
                if step.number == number:
                    step.apply(workspace)
            if number == SCHEMA:
                _note(workspace, schema)
            mark_schema(workspace, number)


def _note(workspace: Workspace, schema: int) -> None:
    from cubital.workspace.writing import note_change, one_transaction

    with one_transaction(workspace):
        note_change(workspace, action="bring_forward", subject=f"schema {SCHEMA}", was=schema)


@contextmanager
def whole_on_server(workspace: Workspace) -> Iterator[None]:
    """On a server the block is one transaction, tables and mark included; a file has its copy instead."""
    if workspace.server is None:
        yield
        return
    from cubital.workspace.postgres.server import make_schema
    from cubital.workspace.writing import one_transaction

    with one_transaction(workspace):
        make_schema(workspace)
        yield


def kept_copies(workspace: Workspace) -> tuple[Path, ...]:
    """The copies from before a migration that are still kept, oldest first."""
    found = (path for path in workspace.folder.glob(f"{COPY}*") if path.name.removeprefix(COPY).isdigit())
    return tuple(sorted(found, key=lambda path: int(path.name.removeprefix(COPY))))


def discard_copies(workspace: Workspace) -> tuple[str, ...]:
    """Removes the copies from before migrations and gives their names. Only while holding a verified workspace."""
    copies = kept_copies(workspace)
    for copy in copies:
        shutil.rmtree(copy)
    return tuple(copy.name for copy in copies)


def copy_before(workspace: Workspace, number: int) -> Path:
    """Where the copy from before schema ``number`` lies, if it was made."""
    return workspace.folder / f"{COPY}{number}"


def migrate_records(workspace: Workspace, *, to: int) -> None:
    """Brings the tables of the records to the schema number ``to``: every migration up to that number."""
    from django.db import connections
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connections[workspace.alias])
    names = [name for app, name in executor.loader.graph.nodes if app == APP]
    executor.migrate([(APP, max(name for name in names if int(name[:4]) <= to))])


def mark_schema(workspace: Workspace, number: int) -> None:
    """Says, last of all, that the workspace is complete at ``number``; until then every opening tries again."""
    from django.db import connections

    if workspace.server is not None:
        from cubital.workspace.postgres.server import write_mark

        write_mark(workspace, number)
        return
    with connections[workspace.alias].cursor() as cursor:
        cursor.execute(f"pragma user_version = {int(number)}")


def _set_unfinished_aside(workspace: Workspace) -> None:
    """Moves away records whose making was killed: their mark is still 0, so nothing was ever accepted into them.

    A migration and the note that it ran are two transactions; between them a half-made file cannot be continued.
    """
    records = workspace.folder / RECORDS
    if not records.exists() or read_schema(workspace) != 0:
        return
    workspace.close()
    for ending in ("", *JOURNALS):
        part = records.with_name(records.name + ending)
        if part.exists():
            part.replace(part.with_name(f"unfinished-{part.name}"))


def _seed(workspace: Workspace) -> None:
    """What every workspace begins with: a charter and a policy, neither signed nor approved."""
    from cubital.workspace.charters import seed_charter
    from cubital.workspace.policies import seed_policy
    from cubital.workspace.writing import one_transaction

    with one_transaction(workspace):
        seed_charter(workspace)
        seed_policy(workspace)


def _changed_names(number: int) -> Iterator[str]:
    for step in STEPS:
        if step.number == number:
            yield from step.changes


def _copy_first(workspace: Workspace, number: int) -> None:
    """The copy under its final name, whole and settled, or not at all."""
    from cubital.store.delta import settle

    final = copy_before(workspace, number)
    draft = final.with_name(f"{final.name}.part")
    shutil.rmtree(draft, ignore_errors=True)
    _check_room(workspace, number)
    draft.mkdir()
    if workspace.server is None:
        _copy_records(workspace, draft / RECORDS)
    for name in _changed_names(number):
        if (workspace.folder / name).exists():
            copy_tree(workspace.folder / name, draft / name)
    settle(path for path in draft.rglob("*") if path.is_file())
    draft.replace(final)
    settle([final])


def _check_room(workspace: Workspace, number: int) -> None:
    names = (RECORDS, *_changed_names(number))
    files = [file for name in names for file in _files_of(workspace.folder / name) if file.suffix != ".parquet"]
    needed, free = sum(file.stat().st_size for file in files), shutil.disk_usage(workspace.folder).free
    if needed > free:
        raise MachineProblem(
            _(
                "this workspace is of an older Cubital and must be brought forward, but there is no room for the copy"
                " that is made first ({needed} MB needed, {free} MB free). Nothing was changed."
            ).format(needed=needed // 1_000_000 + 1, free=free // 1_000_000),
            where=str(workspace.folder),
            fix=_("Make room, or move the workspace to a larger disk."),
        )


def _files_of(path: Path) -> list[Path]:
    return [path] if path.is_file() else [found for found in path.rglob("*") if found.is_file()]


def _copy_records(workspace: Workspace, out: Path) -> None:
    """A consistent copy of the SQLite file, whoever else reads it; its journals need not be copied."""
    source = sqlite3.connect(f"{(workspace.folder / RECORDS).as_uri()}?mode=ro", uri=True, timeout=20)
    target = sqlite3.connect(out)
    try:
        source.backup(target)
    finally:
        source.close()
        target.close()


def copy_tree(source: Path, target: Path) -> None:
    """Copies a file or a folder. A Parquet file, which nobody changes in place, becomes a second name where it can."""
    if source.is_dir():
        shutil.copytree(source, target, copy_function=_copy_file)
    else:
        _copy_file(str(source), str(target))


def _copy_file(source: str, target: str) -> str:
    if source.endswith(".parquet"):
        try:
            os.link(source, target)
        except OSError:  # many network drives and memory sticks know no second names
            return shutil.copy2(source, target)
        return target
    return shutil.copy2(source, target)


def _put_back(workspace: Workspace, number: int) -> None:
    """Puts the copy where it was taken from; may be killed and begun anew, as the copy itself stays."""
    copy = copy_before(workspace, number)
    for name in _changed_names(number):
        _replace_by_copy(copy / name, workspace.folder / name)
    workspace.close()
    if workspace.server is not None:  # its transaction took the records back
        return
    for ending in JOURNALS:
        (workspace.folder / f"{RECORDS}{ending}").unlink(missing_ok=True)
    _replace_by_copy(copy / RECORDS, workspace.folder / RECORDS)


def _replace_by_copy(copy: Path, place: Path) -> None:
    draft = place.with_name(f"{place.name}.back")
    shutil.rmtree(draft, ignore_errors=True)
    if place.is_dir():
        shutil.rmtree(place)
    if not copy.exists():  # it was not there before the step either
        return
    copy_tree(copy, draft)
    draft.replace(place)
