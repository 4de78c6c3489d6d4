"""A real PostgreSQL server of the tests' own: made in a temporary folder, reached by a socket in it, then gone."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

import pytest

ON_SERVER = os.environ.get("CUBITAL_TEST_RECORDS") == "postgresql"
own_file_only = pytest.mark.skipif(ON_SERVER, reason="about the records' own file; in this run they are on a server")
USER = "cubital_tests"
INSTALLED = Path("/usr/lib/postgresql")  # where Debian keeps the programs, off the search path


def find_programs() -> Path | None:
    """The folder that holds ``initdb``, ``pg_ctl`` and ``postgres``, the newest version first; none where absent."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    versions = sorted(INSTALLED.glob("*/bin/initdb"), key=lambda path: float(path.parts[-3]), reverse=True)
    return versions[0].parent if versions else None


@contextmanager
def running_server(programs: Path) -> Iterator[str]:
    """A server for as long as the block runs; gives the address of its one database."""
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    owner = _give_away(folder)
    data, log = folder / "data", folder / "log"
    try:
        _run(programs / "initdb", "-D", data, "-A", "trust", "-U", USER, "-E", "UTF8", "--no-locale", "-N", owner=owner)
        settings = f"-c listen_addresses='' -c unix_socket_directories='{folder}' -c fsync=off -c max_connections=60"
        _run(programs / "pg_ctl", "start", "-w", "-D", data, "-l", log, "-o", settings, owner=owner)
        try:
            yield f"postgresql://{USER}@/postgres?host={quote(str(folder), safe='')}"
        finally:
            _run(programs / "pg_ctl", "stop", "-w", "-m", "immediate", "-D", data, owner=owner)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _give_away(folder: Path) -> str | None:
    """The server refuses to run as root: another user then owns its folder and its process."""
    if os.getuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    owner = "postgres" if "postgres" in names else "nobody"
    shutil.chown(folder, user=owner)
    folder.chmod(0o755)
    return owner


def _run(program: Path, *arguments: object, owner: str | None) -> None:
    """The server keeps the streams that it was started with, so none is a pipe that somebody would wait for."""
    with tempfile.TemporaryFile("w+") as said:
        done = subprocess.run(
            [str(program), *map(str, arguments)], user=owner, cwd="/", stdin=subprocess.DEVNULL, stdout=said,
            stderr=said, check=False,
        )  # fmt: skip
        said.seek(0)
        if done.returncode != 0:
            raise RuntimeError(f"{program.name} failed: {said.read()}")
