"""The records of one workspace on a server: a schema of its own, a mark that says whose it is, and two locks.

The mark holds the workspace's identity and the number of the schema. Making and migrating are one transaction there.
The locks belong to the connection: a run that dies or loses its connection holds nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

from cubital.domain.errors import CubitalError, WorkspaceProblem
from cubital.domain.words import _
from cubital.workspace.records_address import RecordsAddress, workspace_identity

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace

MARK = "cubital_mark"
POLL_SECONDS = 0.2
PATIENCE_FOR_CHANGES = "20s"  # as long as the file's busy timeout
CONNECT_SECONDS = "10"


def server_settings(address: RecordsAddress, secret: bytes) -> dict[str, Any]:
    """Django's settings for the records of the workspace with this secret."""
    parts = dict(address.parts)
    database = parts.pop("dbname", "")
    options = f"-c search_path={schema_name(address, secret)} {parts.pop('options', '')}".strip()
    usual = {"connect_timeout": CONNECT_SECONDS, "application_name": "cubital", "keepalives_idle": "60"}
    return {
        "ENGINE": "cubital.workspace.postgres",
        "NAME": database or parts.get("user", ""),
        "CONN_MAX_AGE": 0,
        "OPTIONS": {**usual, **parts, "options": options},
    }


def schema_name(address: RecordsAddress, secret: bytes) -> str:
    """The schema that the address names, or the workspace's own by its identity."""
    return address.schema or f"cubital_{workspace_identity(secret)[:16]}"


def read_mark(workspace: Workspace) -> int:
    """The number of the schema on the server; 0 where nothing is there.

    Raises ``WorkspaceProblem`` where these are another workspace's records or the server cannot be reached.
    """
    return _marked(workspace) or 0


def _marked(workspace: Workspace) -> int | None:
    """The number in the mark; none where there is no mark at all."""
    with _cursor(workspace) as cursor:
        cursor.execute("select to_regclass(%s)", [MARK])
        if cursor.fetchone()[0] is None:
            return None
        cursor.execute(f"select identity, schema from {MARK}")
        found = cursor.fetchone()
    if found is None or found[0] != workspace_identity(workspace.secret):
        raise WorkspaceProblem(
            _("the records on this server are another workspace's."),
            where=str(workspace.folder),
            fix=_("Name another schema with ?schema=NAME, or leave it out: every workspace then has its own."),
        )
    return int(found[1])


def write_mark(workspace: Workspace, number: int) -> None:
    """Says that the records are complete at ``number``; inside the transaction that made them so."""
    from django.db import transaction

    with transaction.atomic(using=workspace.alias), _cursor(workspace) as cursor:
        cursor.execute(f"create table if not exists {MARK} (identity text not null, schema integer not null)")
        cursor.execute(f"delete from {MARK}")
        cursor.execute(f"insert into {MARK} values (%s, %s)", [workspace_identity(workspace.secret), number])


def make_schema(workspace: Workspace) -> None:
    """Makes the workspace's schema where it is not there yet."""
    name = _schema(workspace)
    with _cursor(workspace) as cursor:
        cursor.execute("select 1 from pg_namespace where nspname = %s", [name])
        if cursor.fetchone() is None:
            cursor.execute(f'create schema "{name}"')


def set_aside(workspace: Workspace, *, stamp: str) -> str | None:
    """Renames this workspace's records on the server, if there are any, and gives their new name.

    ``WorkspaceProblem`` where the schema holds another workspace's records or something else altogether.
    """
    name = _schema(workspace)
    with _cursor(workspace) as cursor:
        cursor.execute("select count(*) from pg_tables where schemaname = %s", [name])
        tables = int(cursor.fetchone()[0])
    if not tables:
        return None
    if _marked(workspace) is None:
        raise WorkspaceProblem(
            _("the schema {name} holds other tables.").format(name=name),
            where=str(workspace.folder),
            fix=_("Name an empty schema with ?schema=NAME, or leave it out."),
        )
    aside = f"{name[:40]}_{stamp}"
    with _cursor(workspace) as cursor:
        cursor.execute(f'alter schema "{name}" rename to "{aside}"')
    return aside


def server_version(workspace: Workspace) -> str:
    """The version that the server says it has."""
    with _cursor(workspace) as cursor:
        cursor.execute("show server_version")
        return str(cursor.fetchone()[0])


def _schema(workspace: Workspace) -> str:
    if workspace.server is None:
        raise ValueError("these records are not on a server")
    return schema_name(workspace.server, workspace.secret)


def forget_records(workspace: Workspace) -> None:
    """Drops the tables of records: for those that were only just put there, and failed. Other tables stay."""
    from django.db import connections

    names = connections[workspace.alias].introspection.table_names()
    with _cursor(workspace) as cursor:
        for name in names:
            if name.startswith("records_") or name in (MARK, "django_migrations"):
                cursor.execute(f'drop table if exists "{name}" cascade')


@contextmanager
def hold_server(workspace: Workspace, *, patience: float, waiting: Callable[[], None] | None) -> Iterator[bool]:
    """Keeps other writers out of this workspace, on whatever computer they run; false where it was not to be had.

    The lock file in the folder does the same for one computer; a network drive may not pass it on to others.
    """
    key = _key(workspace, 0)
    held = _try_lock(workspace, key)
    if not held and waiting:
        waiting()
    until = time.monotonic() + patience
    while not held and time.monotonic() < until:
        time.sleep(POLL_SECONDS)
        held = _try_lock(workspace, key)
    try:
        yield held
    finally:
        with suppress(CubitalError):  # a lost connection has let go already
            if held:
                with _cursor(workspace) as cursor:
                    cursor.execute("select pg_advisory_unlock(%s)", [key])


def lock_changes(workspace: Workspace) -> None:
    """Inside a transaction: changes of the records come one after the other, as in the file."""
    with _cursor(workspace) as cursor:
        cursor.execute(f"set local lock_timeout = '{PATIENCE_FOR_CHANGES}'")
        cursor.execute("select pg_advisory_xact_lock(%s)", [_key(workspace, 1)])


def _try_lock(workspace: Workspace, key: int) -> bool:
    with _cursor(workspace) as cursor:
        cursor.execute("select pg_try_advisory_lock(%s)", [key])
        return bool(cursor.fetchone()[0])


def _key(workspace: Workspace, which: int) -> int:
    """60 of the identity's 128 bits: a lock's name is a number of 64 bits with a sign."""
    return int(workspace_identity(workspace.secret)[15 * which : 15 * which + 15], 16)


def _cursor(workspace: Workspace) -> Any:
    from django.db import connections

    return connections[workspace.alias].cursor()
