"""A backup knows no kind of database: from a file to a server and back, and from an older Cubital."""

from __future__ import annotations

import json
import shutil
import sqlite3
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from kept_answers import corrected_workspace
from whole_state import whole_state

from cubital.domain.errors import WorkspaceProblem
from cubital.workspace.archive import ArchiveReader, archive_draft
from cubital.workspace.backing_up import back_up
from cubital.workspace.batches import list_changes
from cubital.workspace.opening import RECORDS, SCHEMA, open_workspace
from cubital.workspace.records_address import VARIABLE
from cubital.workspace.restoring import restore
from cubital.workspace.verifying import verify_workspace
from postgres_server import own_file_only

pytestmark = own_file_only
OLDER = Path(__file__).parent / "older"


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("original")
    corrected_workspace(folder / "w", folder).close()
    return folder / "w"


def test_from_a_file_to_a_server_and_back(
    original: Path, tmp_path: Path, server_address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_workspace(original) as workspace:
        before = whole_state(workspace)
        back_up(workspace, to=tmp_path / "file.zip")

    monkeypatch.setenv(VARIABLE, server_address)
    restore(tmp_path / "file.zip", to=tmp_path / "on server")
    monkeypatch.delenv(VARIABLE)
    with open_workspace(tmp_path / "on server") as served:
        assert served.server is not None
        assert whole_state(served) == before
        assert verify_workspace(served).findings == ()
        back_up(served, to=tmp_path / "server.zip")

    restore(tmp_path / "server.zip", to=tmp_path / "in file")
    with open_workspace(tmp_path / "in file") as filed:
        assert filed.server is None
        assert whole_state(filed) == before
        assert [entry.action for entry in list_changes(filed)][:2] == ["restore", "restore"]


def test_records_that_a_server_holds_already_are_not_written_over(
    original: Path, tmp_path: Path, server_address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_workspace(original) as workspace:
        before = whole_state(workspace)
        back_up(workspace, to=tmp_path / "file.zip")
    monkeypatch.setenv(VARIABLE, f"{server_address}&schema=held")
    restore(tmp_path / "file.zip", to=tmp_path / "first")
    with pytest.raises(WorkspaceProblem, match="holds the records of this workspace already"):
        restore(tmp_path / "file.zip", to=tmp_path / "second")
    with open_workspace(tmp_path / "first") as served:
        assert whole_state(served) == before
    assert not (tmp_path / "second").exists()


def older_backup(folder: Path, out: Path, today: Path) -> Path:
    """A backup as the Cubital of schema 2 would have made it: its own tables, its own migration, its own files."""
    with ArchiveReader(today) as reader:
        manifest = reader.manifest
    with archive_draft(out) as writer:
        tables = records_of(folder / RECORDS)
        for name, rows in tables.items():
            lines = "".join(json.dumps(row) + "\n" for row in rows).encode()
            writer.add(f"records/{name}.jsonl", [lines], size=len(lines), rows=len(rows))
        for path in sorted(folder.rglob("*")):
            if path.is_file() and path.parts[-2] != "w":
                writer.add(path.relative_to(folder).as_posix(), [path.read_bytes()], size=path.stat().st_size)
        writer.add("secret.key", [(folder / "secret.key").read_bytes()], size=32)
        older = replace(
            manifest, schema=2, migration="0002_policy_on_collecting", code_version="0.0.9", files=tuple(writer.files),
            records={name: len(rows) for name, rows in tables.items()},
        )  # fmt: skip
        writer.close(older)
    return out


def records_of(path: Path) -> dict[str, list[dict[str, Any]]]:
    """Every table of records with JSON columns as JSON."""
    connection = sqlite3.connect(path)
    connection.row_factory = sqlite3.Row
    names = [row[0] for row in connection.execute("select name from sqlite_master where name glob 'records_*'")]
    tables = {}
    for name in (name for name in names if connection.execute(f"pragma table_info('{name}')").fetchone()):
        kinds = {row["name"]: row["type"] for row in connection.execute(f"pragma table_info('{name}')")}
        rows = [dict(row) for row in connection.execute(f"select * from {name}") if "id" in row.keys()]  # noqa: SIM118
        tables[name.removeprefix("records_")] = [plain_row(row, kinds) for row in rows]
    connection.close()
    return {name: rows for name, rows in tables.items() if "_" not in name}


def plain_row(row: dict[str, Any], kinds: dict[str, str]) -> dict[str, Any]:
    def plain(name: str, value: Any) -> Any:
        if value is None:
            return None
        if isinstance(value, str) and value[:1] in "[{" and kinds[name].casefold() == "text":
            return json.loads(value)
        return f"{value}+00:00" if kinds[name].casefold() == "datetime" else value

    return {name: plain(name, value) for name, value in row.items()}


def test_a_backup_of_an_older_cubital_is_brought_forward(original: Path, tmp_path: Path) -> None:
    with zipfile.ZipFile(OLDER / "schema-2.zip") as archive:
        archive.extractall(tmp_path / "w")
    shutil.copytree(tmp_path / "w", tmp_path / "opened")
    with open_workspace(tmp_path / "opened") as workspace:
        expected = whole_state(workspace)
        today = back_up(workspace, to=tmp_path / "today.zip").path
    said: list[str] = []

    restore(older_backup(tmp_path / "w", tmp_path / "older.zip", today), to=tmp_path / "r", say=said.append)

    with open_workspace(tmp_path / "r") as restored:
        assert whole_state(restored) == expected
        assert verify_workspace(restored).findings == ()
    assert len(said) == SCHEMA - 2
