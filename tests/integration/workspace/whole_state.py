"""Everything a workspace shows, so that two states can be compared; and the files that nothing shows any more."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from cubital.store.shapes import STORED
from cubital.workspace.batches import list_batches, row_doubts, row_fates
from cubital.workspace.charters import current_charter
from cubital.workspace.facilities import list_facilities
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import committed_versions, open_versions
from cubital.workspace.sources import list_sources, recall_source
from cubital.workspace.vacuuming import list_states

LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)


def whole_state(workspace: Workspace, *, keys: bool = True) -> dict[str, Any]:
    """Rows of every table at the committed versions, and every record, without clock times and version numbers.

    Without ``keys`` patients' keys are left out: they differ between workspaces on purpose.
    """
    with open_versions(workspace, committed_versions(workspace)) as session:
        queries = {name: f"select * from {name} order by all" for name in (*STORED, "unit_names")}
        if not keys:
            queries["sets"] = "select * exclude (patient_key) from sets order by all"
        tables = {name: session.rows(query) for name, query in queries.items()}
    batches = list_batches(workspace)
    return {
        **tables,
        "batches": [replace(batch, taken_at=LONG_AGO, versions=batches[0].versions) for batch in batches],
        "fates": [list(row_fates(workspace, batch.number)) for batch in batches],
        "doubts": [list(row_doubts(workspace, batch.number)) for batch in batches],
        "facilities": list_facilities(workspace),
        "sources": {name: recall_source(workspace, name) for name in list_sources(workspace)},
        "charter": replace(current_charter(workspace), created_at=LONG_AGO),
        "policy": current_policy(workspace),
    }


def stray_files(workspace: Workspace) -> set[Path]:
    """Parquet files of the tables and of the rows that no committed batch or compaction knows."""
    known: set[Path] = set()
    states = list_states(workspace)
    for name in STORED:
        for version in {getattr(state.versions, name) for state in states}:
            known |= set(workspace.cultures.table(name).paths(version))
    numbers = {state.batch for state in states}
    rows = {path for path in workspace.rows.folder.glob("*.parquet") if int(path.name[1:7]) not in numbers}
    tables = {path for path in workspace.cultures.folder.rglob("*.parquet") if "_delta_log" not in path.parts}
    return (tables - known) | rows
