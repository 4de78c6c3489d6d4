"""The records as plain rows that any database can give and take: one line of JSON per row, one file per table.

Reading takes today's tables; writing takes the tables as they were at the schema the rows come from, so that rows of an
older Cubital can be put back as they were and then brought forward.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import date, datetime, time
from typing import Any

from cubital.workspace.opening import Workspace

APP = "records"
_PORTION = 500

Rows = list[dict[str, Any]]


def read_records(workspace: Workspace) -> dict[str, Rows]:
    """Every row of every table by the table's name, all of one moment; dates and times are text as ISO 8601 has it."""
    from django.apps import apps

    with _one_moment(workspace):
        return {
            str(model._meta.model_name): [_plain_row(row) for row in _rows_of(model, workspace)]
            for model in apps.get_app_config(APP).get_models()
        }


def write_records(workspace: Workspace, tables: Mapping[str, Rows], *, migration: str) -> None:
    """Puts rows into the empty tables of a workspace whose records stand at ``migration``.

    ``ValueError`` or ``LookupError`` where a row does not fit its table.
    """
    from django.db import connections, transaction
    from django.db.migrations.executor import MigrationExecutor

    connection = connections[workspace.alias]
    state = MigrationExecutor(connection).loader.project_state((APP, migration))
    models = {str(model._meta.model_name): model for model in state.apps.get_models() if model._meta.app_label == APP}
    with transaction.atomic(using=workspace.alias), connection.constraint_checks_disabled():
        for name, rows in tables.items():
            _write_table(models[name], rows, alias=workspace.alias)
        connection.check_constraints()
        _renew_counters(connection, models.values())


def as_lines(rows: Rows) -> bytes:
    """The rows as lines of JSON."""
    return "".join(json.dumps(row, ensure_ascii=False, allow_nan=False) + "\n" for row in rows).encode()


def from_lines(content: bytes) -> Rows:
    """The rows of ``as_lines`` again; ``ValueError`` where they are none."""
    return [json.loads(line) for line in content.decode().split("\n") if line]


@contextmanager
def _one_moment(workspace: Workspace) -> Iterator[None]:
    """A transaction that sees one state of the records whoever else writes; not needed where nobody can write."""
    import os

    from django.db import connections, transaction

    connection = connections[workspace.alias]
    if connection.vendor == "sqlite" and not os.access(workspace.folder, os.W_OK):
        yield
        return
    with transaction.atomic(using=workspace.alias):
        if connection.vendor == "postgresql":
            connection.cursor().execute("set transaction isolation level repeatable read")
        yield


def _rows_of(model: Any, workspace: Workspace) -> Iterable[dict[str, Any]]:
    fields = [field.attname for field in model._meta.concrete_fields]
    rows: Iterable[dict[str, Any]] = model.objects.using(workspace.alias).order_by("pk").values(*fields)
    return rows


def _plain_row(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: value.isoformat() if isinstance(value, datetime | date | time) else value for name, value in row.items()
    }


def _write_table(model: Any, rows: Rows, *, alias: str) -> None:
    fields = {field.attname: field for field in model._meta.concrete_fields}
    found = [model(**{name: _typed(fields[name], value) for name, value in row.items()}) for row in rows]
    model.objects.using(alias).bulk_create(found, batch_size=_PORTION)


def _typed(field: Any, value: Any) -> Any:
    """The value as the field holds it. A number of another row stays one; JSON was never text."""
    return value if field.is_relation or field.get_internal_type() == "JSONField" else field.to_python(value)


def _renew_counters(connection: Any, models: Iterable[Any]) -> None:
    """Some databases count row numbers apart from the rows; SQLite looks at the rows."""
    from django.core.management.color import no_style

    for statement in connection.ops.sequence_reset_sql(no_style(), list(models)):
        with connection.cursor() as cursor:
            cursor.execute(statement)


def newest_migration(workspace: Workspace) -> str:
    """The name of the newest migration that the records have been through."""
    from django.db import connections
    from django.db.migrations.recorder import MigrationRecorder

    applied = MigrationRecorder(connections[workspace.alias]).applied_migrations()
    return max(name for app, name in applied if app == APP)


def known_migrations() -> frozenset[str]:
    """The names of the migrations that this version knows."""
    from django.db.migrations.loader import MigrationLoader

    return frozenset(name for app, name in MigrationLoader(None).disk_migrations if app == APP)
