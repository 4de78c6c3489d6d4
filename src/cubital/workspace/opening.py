"""Opens a workspace folder: creates it on first use, brings its records up to date, and knows its secret.

A workspace is one folder that can be copied, moved or backed up whole; nothing in it depends on where it lies.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from cubital.domain.errors import WorkspaceProblem
from cubital.domain.words import _
from cubital.workspace.records_address import OWN_FILE, SETTING, RecordsAddress, find_address, keep_address

if TYPE_CHECKING:
    from cubital.store.cultures import CultureStore
    from cubital.store.rows import RowStore
    from cubital.workspace.pins import Pin

RECORDS = OWN_FILE
SECRET = "secret.key"  # noqa: S105 - the name of the file, not what is in it
CULTURES = "cultures"
ROWS = "rows"
SECRET_BYTES = 32
SCHEMA = 8  # the number of the newest migration; kept in the SQLite file as its user_version
_ESCAPED = re.compile(r"%[0-9A-Fa-f]{2}")  # the table library takes it for an escaped character and looks elsewhere
WAL_IS_SAFE_FROM = (3, 51, 3)  # earlier versions can, rarely, lose a page when a checkpoint meets a second writer


@dataclass(frozen=True)
class Workspace:
    """One open workspace. ``alias`` is the name under which Django knows its records.

    ``server`` is the address of the PostgreSQL server that holds them; none where they are in the folder's own file.
    Questions about judged sets run on ``engine``: ``duckdb`` inside this process, or Spark, as ``spark:local[2]`` or
    ``spark://host:7077``. Everything else, taking files in above all, is always embedded.

    ``pinned`` makes it read as it was on an earlier day; it cannot be written then.
    """

    folder: Path
    alias: str
    server: RecordsAddress | None = None
    engine: str = "duckdb"
    pinned: Pin | None = None

    @property
    def cultures(self) -> CultureStore:
        """The large tables of this workspace."""
        from cubital.store.cultures import CultureStore

        return CultureStore(self.folder / CULTURES)

    @property
    def rows(self) -> RowStore:
        """What became of every row of every file."""
        from cubital.store.rows import RowStore

        return RowStore(self.folder / ROWS)

    @property
    def secret(self) -> bytes:
        """The key under which patients are hashed on the way in; made once, never shown."""
        return _read_secret(self.folder)

    def close(self) -> None:
        """Ends this thread's connection to the records. The workspace can go on being used; it reconnects."""
        from django.db import connections

        connections[self.alias].close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def prepare_django() -> None:
    """Sets Django up once per process, unless a server already has."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "cubital.workspace.django_settings")
    import django
    from django.apps import apps

    if not apps.ready:
        django.setup()


def _unheard(_sentence: str) -> None:
    """Where nobody listens."""


def open_workspace(folder: Path | str, create: bool = True, *, say: Callable[[str], None] = _unheard) -> Workspace:
    """The workspace in ``folder``, created there if need be and if ``create`` allows it.

    A workspace of an older Cubital is brought forward, with a copy first; ``say`` is told so in sentences.

    Raises ``WorkspaceProblem`` where there is none and none may be made, where the folder cannot be used, where its
    secret is gone, or where a newer Cubital has written it.
    """
    place = Path(folder).expanduser().absolute()
    if place.exists() and not place.is_dir():
        raise WorkspaceProblem(_("this is a file."), where=str(folder), fix=_("Name a folder for the workspace."))
    if _ESCAPED.search(str(place)):
        raise WorkspaceProblem(
            _("a folder name with a percent sign and two digits, such as %20, cannot hold the tables."),
            where=str(folder),
            fix=_("Rename the folder, or choose another one."),
        )
    prepare_django()
    server = find_address(place)
    if not create and not _is_begun(place, server):
        raise _no_workspace(folder)
    workspace = _known_to_django(place, server)
    schema = read_schema(workspace)
    if schema == 0 and not create:
        raise _no_workspace(folder)
    if schema == 0 and _was_used(workspace):
        schema = read_schema(workspace)  # another's first opening may have ended in between
        if schema == 0:
            raise _lost_records(workspace)
    if schema > SCHEMA:
        raise WorkspaceProblem(
            _("this workspace was written by a newer Cubital."), where=str(folder), fix=_("Use that version.")
        )
    if schema < SCHEMA:
        _bring_up_to_date(workspace, say)
    if server is not None and not (place / SETTING).exists():
        keep_address(place, server)
    _read_secret(place)
    return workspace


def _no_workspace(folder: Path | str) -> WorkspaceProblem:
    return WorkspaceProblem(
        _("there is no workspace here."), where=str(folder), fix=_("Check the name, or take a file in first.")
    )


def _is_begun(place: Path, server: RecordsAddress | None) -> bool:
    return (place / (RECORDS if server is None else SECRET)).exists() or (place / SETTING).exists()


def _known_to_django(place: Path, server: RecordsAddress | None) -> Workspace:
    """The workspace with its records registered; on a server they are named after the secret, which is made first."""
    if server is None:
        return Workspace(place, register_records(place, None))
    if not (place / SECRET).exists() and not (place / SETTING).exists():
        from cubital.workspace.writing import hold_folder

        with hold_folder(place, create=True):
            create_secret(place)
    return Workspace(place, register_records(place, server), server)


def _was_used(workspace: Workspace) -> bool:
    """Whether records are known to have been here."""
    kept = workspace.server is not None and (workspace.folder / SETTING).exists()
    return kept or next((workspace.folder / CULTURES).glob("*/_delta_log/*.json"), None) is not None


def _lost_records(workspace: Workspace) -> WorkspaceProblem:
    """New records never begin where some are known to have been: what they do not name would be swept away."""
    return WorkspaceProblem(
        _("this workspace has been used, but its records are not where they should be."),
        where=workspace.server.words() if workspace.server else str(workspace.folder / RECORDS),
        fix=_("Check the address of the records, or put them back from a backup."),
    )


def read_schema(workspace: Workspace) -> int:
    """The schema number of the workspace's records; 0 where there are none yet."""
    if workspace.server is not None:
        from cubital.workspace.postgres.server import read_mark

        return read_mark(workspace)
    path = workspace.folder / RECORDS
    if not path.exists():
        return 0
    try:
        # Not read-only: a killed writer leaves a journal, and only a writing connection can play it back.
        connection = sqlite3.connect(f"{path.as_uri()}?mode=rw", uri=True, timeout=20)
        try:
            return int(connection.execute("pragma user_version").fetchone()[0])
        finally:
            connection.close()
    except sqlite3.DatabaseError as error:
        raise WorkspaceProblem(
            _("the records of this workspace cannot be read ({error}).").format(error=error),
            where=str(path),
            fix=_("Put the folder back from its last backup."),
        ) from error


def register_records(folder: Path, server: RecordsAddress | None) -> str:
    """Makes the records of ``folder`` known to Django under a name of their own, and gives that name."""
    from django.db import connections

    place = f"{folder}" if server is None else f"{folder} {sorted(server.parts.items())} {server.schema}"
    alias = "workspace_" + hashlib.sha256(place.encode()).hexdigest()[:16]
    if alias not in connections.databases:
        chosen = _database_settings(folder / RECORDS) if server is None else _server_settings(folder, server)
        settings = connections.configure_settings({"default": {}, alias: chosen})
        connections.databases[alias] = settings[alias]
    return alias


def _server_settings(folder: Path, server: RecordsAddress) -> dict[str, Any]:
    from cubital.workspace.postgres.server import server_settings

    return server_settings(server, _read_secret(folder))


def journal_mode() -> str:
    """How the records' own file is written: ahead where this computer's SQLite does that safely, else in place."""
    return "WAL" if sqlite3.sqlite_version_info >= WAL_IS_SAFE_FROM else "TRUNCATE"


def _database_settings(path: Path) -> dict[str, Any]:
    """SQLite as measured to be safe with several writers; memory mapping stays off on purpose."""
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": str(path),
        "CONN_MAX_AGE": 0,
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": (
                f"PRAGMA journal_mode={journal_mode()};PRAGMA synchronous=FULL;"
                "PRAGMA foreign_keys=ON;PRAGMA temp_store=MEMORY;"
            ),
        },
    }


def _bring_up_to_date(workspace: Workspace, say: Callable[[str], None]) -> None:
    """Creates what is missing, under the lock, so that two first users do not do it at once."""
    from cubital.workspace.migrating import bring_forward, make_records
    from cubital.workspace.writing import hold_workspace

    with hold_workspace(workspace, create=True):
        schema = read_schema(workspace)
        if schema == 0:
            make_records(workspace)
        else:
            bring_forward(workspace, schema=schema, say=say)


def create_secret(folder: Path) -> None:
    """Writes the secret once: whole or not at all, and never over one that is there."""
    final = folder / SECRET
    if final.exists():
        return
    draft = folder / f".{SECRET}.{secrets.token_hex(4)}"
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        os.write(handle, secrets.token_bytes(SECRET_BYTES))
        os.fsync(handle)
    finally:
        os.close(handle)
    draft.replace(final)


def _read_secret(folder: Path) -> bytes:
    path = folder / SECRET
    try:
        found = path.read_bytes()
    except OSError as error:
        raise WorkspaceProblem(
            _("the secret of this workspace cannot be read, so patients cannot be recognised again."),
            where=str(path),
            fix=_("Put the file back from a backup; a new one would count every patient anew."),
        ) from error
    if len(found) != SECRET_BYTES:
        raise WorkspaceProblem(
            _("the secret of this workspace is damaged."), where=str(path), fix=_("Put it back from a backup.")
        )
    return found
