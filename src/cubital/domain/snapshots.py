"""Which version of each table a reader sees."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class TableVersions:
    """One committed state of the cultures. ``-1`` means that the table does not exist yet."""

    sets: int = -1
    bottles: int = -1
    isolates: int = -1
    movements: int = -1
