"""The fingerprint of every accepted file, noted at the moment it was accepted, in lists that anyone can check.

``sha256sum -c fingerprints/b000007.txt``, run in the workspace folder, needs no Cubital. A list is written before the
record that accepts its files; one whose record never came is swept up with them.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Mapping
from pathlib import Path

from cubital.domain.snapshots import TableVersions
from cubital.store.delta import NO_VERSION, settle
from cubital.store.shapes import STORED
from cubital.workspace.keeping import kept_files, row_file_names, table_files
from cubital.workspace.opening import Workspace

FOLDER = "fingerprints"
_LIST = re.compile(r"^([bc])(\d+)\.txt$")
_LINE = re.compile(r"^([0-9a-f]{64})  (.+)$")


def batch_list(number: int) -> str:
    """The name of the list of a batch."""
    return f"b{number:06d}.txt"


def compaction_list(number: int) -> str:
    """The name of the list of a compaction."""
    return f"c{number:06d}.txt"


def note_fingerprints(workspace: Workspace, *, name: str, versions: TableVersions, batch: int | None = None) -> None:
    """Lists the files of ``versions``, and of the rows of ``batch``, that no list names yet; written whole or not.

    For a writer that holds the workspace and is about to commit. In a workspace without lists, all it holds is listed.
    """
    folder = workspace.folder / FOLDER
    wanted = [] if folder.exists() else [file.name for file in kept_files(workspace)]
    for table in STORED:
        version = getattr(versions, table)
        held = table_files(workspace.cultures.table(table), {version} - {NO_VERSION})
        wanted += [file.name for file in held]
    if batch is not None:
        wanted += row_file_names(workspace, batch)
    known = read_fingerprints(workspace, without=name)
    lines = [
        f"{fingerprint_of(workspace.folder / file)}  {file}\n" for file in sorted(set(wanted)) if file not in known
    ]
    folder.mkdir(mode=0o700, exist_ok=True)
    _write_whole(folder / name, "".join(lines).encode())


def read_fingerprints(workspace: Workspace, *, without: str = "") -> Mapping[str, str]:
    """The fingerprint of every listed file by its name in the workspace; lines that are none are left out."""
    found = {}
    for path in sorted((workspace.folder / FOLDER).glob("*.txt")):
        if _LIST.match(path.name) and path.name != without:
            lines = (_LINE.match(line) for line in path.read_text("utf-8", errors="replace").split("\n"))
            found.update({line[2]: line[1] for line in lines if line})
    return found


def list_names(workspace: Workspace) -> tuple[str, ...]:
    """The lists themselves, as names in the workspace."""
    paths = sorted((workspace.folder / FOLDER).glob("*.txt"))
    return tuple(f"{FOLDER}/{path.name}" for path in paths if _LIST.match(path.name))


def damaged_lists(workspace: Workspace) -> tuple[str, ...]:
    """The names of lists with a line that cannot be read."""
    return tuple(name for name in list_names(workspace) if not _is_readable(workspace.folder / name))


def sweep_fingerprints(workspace: Workspace, *, last_batch: int, last_compaction: int) -> None:
    """Deletes lists whose batch or compaction was never accepted."""
    last = {"b": last_batch, "c": last_compaction}
    for path in (workspace.folder / FOLDER).glob("*"):
        named = _LIST.match(path.name)
        if named is None or int(named[2]) > last[named[1]]:
            path.unlink()


def fingerprint_of(path: Path) -> str:
    """The SHA-256 of a file as 64 hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _is_readable(path: Path) -> bool:
    try:
        lines = path.read_bytes().decode().split("\n")
    except UnicodeDecodeError:
        return False
    return lines[-1] == "" and all(_LINE.match(line) for line in lines[:-1])


def _write_whole(final: Path, content: bytes) -> None:
    draft = final.with_name(f".{final.name}.part")
    with draft.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    draft.replace(final)
    settle([final])
