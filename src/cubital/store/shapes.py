"""How the canonical tables lie on disk: their columns, the few that only the store needs, and their Delta schema.

Every table is partitioned by the month of the set it belongs to, so that correcting a month rewrites that month.
The partition column stands in the files as well: a reader needs no folder names to know it.
"""

from __future__ import annotations

from collections.abc import Mapping

from deltalake import Field, Schema
from deltalake.schema import PrimitiveType

from cubital.domain.tables import BOTTLES, ISOLATES, MOVEMENTS, SET_FACTS, SETS

MONTH = "month"

# ``file_unit_key`` keeps the label of the file, so that a set goes back to it when a ward movement is withdrawn.
# Isolates repeat what the judge asks of their set: one row in thirteen grew something, and no set is looked up for it.
# Files of earlier versions lack these columns; ``sources`` reads them out of the sets.
PLACED: Mapping[str, str] = {"leads": "BOOLEAN", "mixed": "BOOLEAN", **SET_FACTS}
STORED: Mapping[str, Mapping[str, str]] = {
    "sets": {**SETS, "file_unit_key": "VARCHAR"},
    "bottles": {**BOTTLES, MONTH: "VARCHAR"},
    "isolates": {**ISOLATES, **PLACED},
    "movements": {**MOVEMENTS, MONTH: "VARCHAR"},
}

SHOWN: Mapping[str, Mapping[str, str]] = {
    "sets": SETS,
    "bottles": BOTTLES,
    "isolates": ISOLATES,
    "movements": MOVEMENTS,
}

_DELTA_TYPES = {
    "BIGINT": "long",
    "INTEGER": "integer",
    "DOUBLE": "double",
    "BOOLEAN": "boolean",
    "VARCHAR": "string",
    "DATE": "date",
    "TIMESTAMP": "timestamp_ntz",
}


def delta_schema(table: str) -> Schema:
    """The schema of a stored table as Delta writes it down; every column may be null."""
    return Schema([Field(name, PrimitiveType(_DELTA_TYPES[kind])) for name, kind in STORED[table].items()])
