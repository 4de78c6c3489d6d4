"""Everything that leaves with figures carries a receipt, and each of them is computed again after a restatement."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from cubital.workspace.count_exports import export_counts
from cubital.workspace.exports import export_sets
from cubital.workspace.freezing import export_month_snapshot
from cubital.workspace.left_tables import last_left_number
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.printing import print_charter, print_unit
from cubital.workspace.receipts import list_receipts
from cubital.workspace.reproducing import Sameness, again
from cubital.workspace.spikes import print_spike
from cubital.workspace.taking import take_file
from places_world import MARROWBY, THISTLECOMBE, write_network

CODE = re.compile(r"R-[0-9A-Y]{4}-[0-9A-Y]{4}-[0-9A-Y]{4}")
MONTH = "2025-08"


@pytest.fixture(scope="module")
def network(tmp_path_factory: pytest.TempPathFactory) -> Workspace:
    folder = tmp_path_factory.mktemp("network")
    workspace = open_workspace(folder / "workspace")
    for facility, file in write_network(folder).items():
        take_file(workspace, file=file, facility=facility, timezone="America/Chicago", accept=True)
    return workspace


def words_of(pdf: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(pdf).pages).replace("\u2060", "").split())


def about_of(table: Path) -> str:
    with table.with_suffix(".about.csv").open(encoding="utf-8-sig", newline="") as stream:
        return dict(list(csv.reader(stream))[1:])["receipt"]


def leave(workspace: Workspace, folder: Path) -> dict[str, str]:
    """Everything that leaves, by name, with the words that stand on it."""
    folder.mkdir()
    print_unit(workspace, month=MONTH, facility=MARROWBY, out=folder / "unit.pdf")
    print_unit(workspace, month=MONTH, facility=MARROWBY, unit="ED", out=folder / "own.pdf", for_others=False)
    print_charter(workspace, out=folder / "charter.pdf")
    print_charter(workspace, out=folder / "bench.pdf", for_others=False)
    print_spike(workspace, month=MONTH, facility=THISTLECOMBE, out=folder / "spike.pdf")
    export_counts(workspace, out=folder / "counts.csv", from_month="2025-07")
    export_sets(workspace, out=folder / "sets.csv", from_month=MONTH, to_month=MONTH)
    export_month_snapshot(workspace, month=MONTH, out=folder / "frozen")
    papers = {name: words_of(folder / f"{name}.pdf") for name in ("unit", "own", "charter", "bench", "spike")}
    tables = {name: about_of(folder / f"{name}.csv") for name in ("counts", "sets")}
    return papers | tables | {"frozen": (folder / "frozen" / "README.txt").read_text("utf-8")}


def test_what_leaves_carries_a_receipt_that_outlives_a_restatement(network: Workspace, tmp_path: Path) -> None:
    left = {name: CODE.findall(words) for name, words in leave(network, tmp_path / "first").items()}
    assert all(codes for codes in left.values()), left
    codes = {name: found[0] for name, found in left.items()}
    assert len(set(codes.values())) == len(codes)
    assert {one.code for one in list_receipts(network)} >= set(codes.values())

    second = {name: CODE.findall(words)[0] for name, words in leave(network, tmp_path / "second").items()}
    assert second == codes  # the same things on the same day are the same receipts

    changed = tmp_path / "restated.csv"
    lines = write_network(tmp_path)[MARROWBY].read_text(encoding="utf-8").splitlines()
    august = [line for line in lines[1:] if "2025-08-1" in line]
    changed.write_text("\n".join([lines[0], *(line.replace("No growth", "Staph hominis") for line in august[::3])]))
    take_file(network, file=changed, facility=MARROWBY, timezone="America/Chicago", accept=True)
    tables = last_left_number(network)
    for name, code in codes.items():
        assert again(network, code).sameness is Sameness.SAME, name
    assert again(network, codes["own"]).differs_today
    assert last_left_number(network) == tables
