"""Where the records of a workspace are: in its own file, or on a PostgreSQL server, by one setting.

The setting is an address such as ``postgresql://cubital@db.vellorin.example/quality``. The environment variable
``CUBITAL_RECORDS`` gives it when a workspace is made; from then on ``records.toml`` in the workspace keeps it, without
the password. The variable may then bring another address of the same records; whether they are the same is checked.
"""

from __future__ import annotations

import hashlib
import hmac
import os
import re
import secrets
import tomllib
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote, urlencode, urlsplit

from cubital.domain.errors import MachineProblem, WorkspaceProblem
from cubital.domain.words import _

SETTING = "records.toml"
VARIABLE = "CUBITAL_RECORDS"
OWN_FILE = "records.sqlite3"
SCHEMES = ("postgresql", "postgres")
EXAMPLE = "postgresql://cubital@db.vellorin.example/quality"
_SCHEMA_NAME = re.compile(r"[a-z_][a-z0-9_]{0,50}\Z")  # PostgreSQL cuts names at 63; room for what moving adds


@dataclass(frozen=True)
class RecordsAddress:
    """A server's records. ``parts`` are connection words as PostgreSQL has them; ``schema`` is none unless named."""

    parts: dict[str, str] = field(repr=False)  # may hold a password
    schema: str | None = None

    def words(self) -> str:
        """The address as it may be shown and stored: without the password."""
        kept = {name: value for name, value in self.parts.items() if name != "password"}
        user, host, port = (kept.pop(name, "") for name in ("user", "host", "port"))
        database = kept.pop("dbname", "")
        if host.startswith("/"):
            kept["host"], host = host, ""
        if self.schema:
            kept["schema"] = self.schema
        place = (f"{quote(user, safe='')}@" if user else "") + host + (f":{port}" if port else "")
        query = f"?{urlencode(kept)}" if kept else ""
        return f"postgresql://{place}/{quote(database, safe='')}{query}"


def find_address(folder: Path) -> RecordsAddress | None:
    """The server on which the records of ``folder`` are or will be; none where they are in the folder's own file.

    Raises ``WorkspaceProblem`` where the setting cannot be read, holds a password, or contradicts what is there.
    """
    kept = _read_setting(folder / SETTING)
    asked = os.environ.get(VARIABLE, "").strip()
    if kept is None and asked and (folder / OWN_FILE).exists():
        raise WorkspaceProblem(
            _("this workspace keeps its records in its own file, but {variable} names a server.").format(
                variable=VARIABLE
            ),
            where=str(folder),
            fix=_("Bring them there with 'cubital records move', or take the variable away."),
        )
    return parse_address(asked, where=VARIABLE) if asked else kept


def parse_address(text: str, *, where: str) -> RecordsAddress:
    """The address in ``text``; ``WorkspaceProblem`` where it is none, without repeating a password.

    ``MachineProblem`` where the library that speaks to PostgreSQL is not installed.
    """
    if urlsplit(text).scheme not in SCHEMES:
        raise WorkspaceProblem(_("this is no address of a PostgreSQL server."), where=where, fix=_fix_address())
    check_library()
    from psycopg import ProgrammingError
    from psycopg.conninfo import conninfo_to_dict

    plain, schema = _without_schema(text)
    try:
        parts = {name: str(value) for name, value in conninfo_to_dict(plain).items() if value is not None}
    except ProgrammingError as error:
        raise WorkspaceProblem(
            _("this is no address of a PostgreSQL server."), where=where, fix=_fix_address()
        ) from error
    if schema is not None and not _SCHEMA_NAME.match(schema):
        raise WorkspaceProblem(
            _("'{name}' cannot be the name of a schema.").format(name=schema),
            where=where,
            fix=_("Use up to 50 small letters, digits and underscores."),
        )
    return RecordsAddress(parts, schema)


def check_library() -> None:
    """``MachineProblem`` where the library that speaks to PostgreSQL is not installed."""
    if find_spec("psycopg") is None:
        raise MachineProblem(
            _("the records are on a PostgreSQL server, and the library that speaks to it is not installed."),
            fix=_("Install it with: pip install 'cubital[postgres]'"),
        )


def keep_address(folder: Path, address: RecordsAddress) -> None:
    """Writes the setting, whole or not at all. From here on this workspace's records are there."""
    import tomli_w

    text = (
        "# Where the records of this workspace are. Only the address: a password belongs into the environment\n"
        "# (PGPASSWORD) or into PostgreSQL's own password file.\n"
    ) + tomli_w.dumps({"records": address.words()})
    # A draft of one's own: two first openings may both come this far, and both write the same.
    draft = folder / f".{SETTING}.{secrets.token_hex(4)}.part"
    with draft.open("w", encoding="utf-8") as stream:
        stream.write(text)
        stream.flush()
        os.fsync(stream.fileno())
    draft.replace(folder / SETTING)


def workspace_identity(secret: bytes) -> str:
    """What ties records on a server to one workspace: 32 hexadecimal digits that do not give its secret away."""
    return hmac.new(secret, b"whose records these are", hashlib.sha256).hexdigest()[:32]


def _read_setting(path: Path) -> RecordsAddress | None:
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise WorkspaceProblem(_("the file cannot be read."), where=str(path), fix=_fix_address()) from error
    try:
        address = tomllib.loads(text)["records"]
    except (tomllib.TOMLDecodeError, KeyError) as error:
        raise WorkspaceProblem(
            _("this file does not say where the records are."), where=str(path), fix=_fix_address()
        ) from error
    found = parse_address(str(address), where=str(path))
    if "password" in found.parts:
        raise WorkspaceProblem(
            _("a password stands in this file, which is copied with the workspace."),
            where=str(path),
            fix=_("Take it out, change it, and give the new one as PGPASSWORD or in PostgreSQL's own password file."),
        )
    return found


def _without_schema(text: str) -> tuple[str, str | None]:
    """The address without our own word ``schema``, which PostgreSQL does not know, and that word's value."""
    start, mark, query = text.partition("?")
    words = [word for word in query.split("&") if word]
    schemas = [word.removeprefix("schema=") for word in words if word.startswith("schema=")]
    rest = "&".join(word for word in words if not word.startswith("schema="))
    return start + (mark + rest if rest else ""), schemas[-1] if schemas else None


def _fix_address() -> str:
    return _("Write it like {example}.").format(example=EXAMPLE)
