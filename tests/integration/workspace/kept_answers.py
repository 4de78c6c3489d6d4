"""What a workspace answers, to the last byte: to be the same before a backup and after it was put back."""

from __future__ import annotations

import hashlib
import json
from datetime import date
from pathlib import Path
from typing import Any

from laboratory_files import FACILITY, first_file, second_file

from cubital.domain.answer import build_answer_dict
from cubital.workspace.exports import export_sets
from cubital.workspace.freezing import export_month_snapshot
from cubital.workspace.judging import run_bench
from cubital.workspace.months import month_answer
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.taking import take_file

TODAY = date(2026, 1, 15)


def corrected_workspace(folder: Path, files: Path) -> Workspace:
    """Two files taken in, the second of which corrects the first: two states that can be opened."""
    files.mkdir(exist_ok=True)
    workspace = open_workspace(folder)
    for file in (first_file(files / "october.csv"), second_file(files / "december.csv")):
        take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)
    return workspace


def corrected_folder(folder: Path) -> None:
    """The same as ``workspace`` and ``files`` in a folder, closed, so that it can be copied."""
    corrected_workspace(folder / "workspace", folder / "files").close()


def answers_of(workspace: Workspace, scratch: Path) -> dict[str, Any]:
    """Month, signal, bench, export, a frozen month's fingerprint, and the rows of every state; plain data."""
    scratch.mkdir(exist_ok=True)
    months = ("2025-10", "2025-11", "2025-12")
    export_sets(workspace, out=scratch / "sets.csv", today=TODAY)
    frozen = export_month_snapshot(workspace, month="2025-11", out=scratch / "frozen", today=TODAY)
    return {
        "months": {month: build_answer_dict(month_answer(workspace, month=month)) for month in months},
        "bench": str(run_bench(workspace)),
        "export": hashlib.sha256((scratch / "sets.csv").read_bytes()).hexdigest(),
        "frozen": frozen.fingerprint,
        "states": {number: _rows(workspace, number) for number in (1, 2)},
    }


def _rows(workspace: Workspace, batch: int) -> str:
    with open_snapshot(workspace, batch) as session:
        return str([session.rows(f"select * from {name} order by all") for name in ("sets", "bottles", "isolates")])


if __name__ == "__main__":  # in a process of its own: the folder and a scratch folder
    import sys

    with open_workspace(sys.argv[1], create=False) as opened:
        print(json.dumps(answers_of(opened, Path(sys.argv[2])), default=str, sort_keys=True))
