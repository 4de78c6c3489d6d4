"""What a newer Cubital changes in an older workspace beside its records, one step for each schema number.

A step that changes records only needs no entry here: the migration of the same number is enough.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cubital.store.shapes import STORED
from cubital.workspace.opening import CULTURES, Workspace


@dataclass(frozen=True, kw_only=True)
class Step:
    """The way from schema ``number - 1`` to ``number``.

    ``changes`` are the names of the folders and files in the workspace that ``apply`` may change; they are copied
    first. ``apply`` runs after the records were migrated, while the workspace is held. It may be killed at any moment:
    the next opening puts the copy back and runs it again from the beginning. A Parquet file is never changed in place.
    """

    number: int
    changes: tuple[str, ...]
    apply: Callable[[Workspace], None]


def _forget_birthplaces(workspace: Workspace) -> None:
    """Earlier tables noted in their first log entry where they were made."""
    for name in STORED:
        workspace.cultures.table(name).forget_birthplace()


STEPS: tuple[Step, ...] = (Step(number=3, changes=(CULTURES,), apply=_forget_birthplaces),)
