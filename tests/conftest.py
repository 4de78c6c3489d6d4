"""What every test shares: Hypothesis profiles and the way to open data beside the checkout."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from built_folders import BuiltOnce
from cubital.workspace import migrating
from cubital.workspace.opening import RECORDS, SCHEMA, Workspace, read_schema
from told_at_once import ToldAtOnce

ROOT = Path(__file__).resolve().parent.parent
OPEN_DATA = ROOT.parent / "shared" / "data"
CHECK_VALUES = ROOT.parent / "shared" / "check-values"

_QUIET = [HealthCheck.too_slow, HealthCheck.data_too_large]
settings.register_profile("ci", deadline=None, derandomize=True, suppress_health_check=_QUIET, print_blob=True)
settings.register_profile("long", deadline=None, max_examples=20_000, suppress_health_check=_QUIET, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))


def pytest_configure(config: pytest.Config) -> None:
    """The process that gathers the results says failures at once."""
    if not hasattr(config, "workerinput"):
        config.pluginmanager.register(ToldAtOnce(config))


def _existing(folder: Path, name: str) -> Path:
    path = folder / name
    if not path.exists():
        pytest.skip(f"open data '{name}' is not beside this checkout (looked in {folder.relative_to(ROOT.parent)})")
    return path


@pytest.fixture(scope="session")
def open_data():
    """A function from a folder's name to its path; skips with the reason where the open data are absent."""
    return lambda name: _existing(OPEN_DATA, name)


@pytest.fixture(scope="session")
def check_values():
    """A function from a file's name to its path among the check values; skips with the reason where absent."""
    return lambda name: _existing(CHECK_VALUES, name)


@pytest.fixture(autouse=True)
def _scratch_place_stays() -> Iterator[None]:
    """A server inside the tests moves the process's temporary folder into its workspace; not beyond a test."""
    place = tempfile.tempdir
    yield
    tempfile.tempdir = place


@pytest.fixture(scope="session", autouse=True)
def _tables_made_once(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """The tables of new records in a file are made by the migrations once, and then copied: it is half of an opening.

    Records on a server, older workspaces brought forward, and every process that a test starts, run the migrations.
    """
    migrate = migrating.migrate_records
    made = tmp_path_factory.mktemp("records") / RECORDS

    def copy_or_migrate(workspace: Workspace, *, to: int) -> None:
        from django.db import connections

        if workspace.server is not None or to != SCHEMA or read_schema(workspace) != 0:
            migrate(workspace, to=to)
            return
        connection = connections[workspace.alias]
        connection.ensure_connection()
        if made.exists():
            with closing(sqlite3.connect(made)) as tables:
                tables.backup(connection.connection)
            return
        migrate(workspace, to=to)
        with closing(sqlite3.connect(made)) as tables:
            connection.connection.backup(tables)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(migrating, "migrate_records", copy_or_migrate)
        yield


@pytest.fixture(scope="session")
def built_once(tmp_path_factory: pytest.TempPathFactory) -> BuiltOnce:
    """A function that fills a folder as a builder would, which runs only once."""
    return BuiltOnce(lambda: tmp_path_factory.mktemp("built"))
