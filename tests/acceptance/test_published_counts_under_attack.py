"""The subtraction attack over files that were really written: tables, a later table, one after a restatement, papers.

Whatever is printed is read back, and whole-number programmes give the least and the most of every count that is not.
No small count may be narrowed down inside 1 to 4, the range of the example policy (as far as its sets allow).
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest
from printed_counts import Cell, Printed, attack_printed, attack_versions, read_counts_file
from pypdf import PdfReader
from quarter_files import write_laboratory_file

from cubital.indicators.disclosure.reader import Known
from cubital.workspace.count_exports import export_counts
from cubital.workspace.left_tables import list_left_tables
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.printing import print_unit
from cubital.workspace.taking import take_file

LOW, HIGH = 1, 4
MONTHS = ("2026-01", "2026-02", "2026-03")
UNITS = {
    "Orrin Quay": {"INFANT": ((0, 24), (0, 20), (1, 22)), "STEP-DOWN": ((2, 18), (1, 20), (0, 16))},
    "Marrowby": {"ED": ((12, 120), (9, 110), (11, 120)), "ICU": ((8, 60), (3, 50), (5, 60)),
                 "WARDS": ((9, 90), (7, 80), (6, 84))},
    "Thistlecombe": {"MED": ((11, 80), (6, 70), (9, 76))},
}  # fmt: skip
PLACES = [("Orrin Quay", None), ("Marrowby", None), ("Marrowby", "ICU"), ("Marrowby", "ED"), ("Orrin Quay", "INFANT")]


def truth_of(units: Mapping[str, Mapping[str, tuple[tuple[int, int], ...]]]) -> dict[Cell, int]:
    return {
        ("contaminated", hospital, unit.casefold(), month): pair[0]
        for hospital, held in units.items() for unit, pairs in held.items()
        for month, pair in zip(MONTHS, pairs, strict=True)
    }  # fmt: skip


def take_hospital(
    workspace: Workspace, folder: Path, hospital: str, units: Mapping[str, tuple[tuple[int, int], ...]]
) -> None:
    rows = {(unit, month): pair for unit, pairs in units.items() for month, pair in zip(MONTHS, pairs, strict=True)}
    first = 10_000 * (1 + list(UNITS).index(hospital))
    file = write_laboratory_file(folder / f"{first}.csv", rows, first=first)
    take_file(workspace, file=file, facility=hospital, timezone="America/Chicago", accept=True)


@pytest.fixture
def workspace(tmp_path: Path) -> Iterator[Workspace]:
    with open_workspace(tmp_path / "workspace") as opened:
        for hospital, units in UNITS.items():
            take_hospital(opened, tmp_path, hospital, units)
        yield opened


def narrowed(known: Mapping[tuple[Cell, int], Known], sizes: Mapping[Cell, int]) -> list[str]:
    """The small counts that the reader can place more closely than in the whole range."""
    return [
        f"{cell} = {value}: {found.least} to {found.most}"
        for (cell, value), found in known.items()
        if LOW <= value <= HIGH and (found.least > LOW or found.most < min(HIGH, sizes.get(cell, HIGH)))
    ]


def shown_small(files: list[Printed]) -> list[Cell]:
    return [cell for one in files for cell, count in one.counts.items() if count is not None and LOW <= count <= HIGH]


def exported(workspace: Workspace, out: Path, **months: str) -> Printed:
    export_counts(workspace, out=out, **months)
    return read_counts_file(out)


def test_a_first_table_and_a_longer_one_after_it(workspace: Workspace, tmp_path: Path) -> None:
    files = [
        exported(workspace, tmp_path / "february.csv", to_month="2026-02"),
        exported(workspace, tmp_path / "quarter.xlsx"),
    ]
    assert not shown_small(files)
    known = {(cell, truth_value(cell)): found for cell, found in attack_printed(files, truth=truth_of(UNITS)).items()}
    assert len([1 for (_cell, value) in known if LOW <= value <= HIGH]) >= 4  # there is something to protect
    assert not narrowed(known, files[1].sizes)


def truth_value(cell: Cell) -> int:
    from printed_counts import value_of

    return value_of(cell, truth_of(UNITS))


def test_a_quarter_first_and_its_months_after_it(workspace: Workspace, tmp_path: Path) -> None:
    files = [
        exported(workspace, tmp_path / "quarter.csv"),
        exported(workspace, tmp_path / "january.csv", from_month="2026-01", to_month="2026-01"),
        exported(workspace, tmp_path / "march.csv", from_month="2026-03"),
    ]
    known = {(cell, truth_value(cell)): found for cell, found in attack_printed(files, truth=truth_of(UNITS)).items()}
    assert not narrowed(known, files[0].sizes)


def test_a_table_after_the_laboratory_restated_a_count(workspace: Workspace, tmp_path: Path) -> None:
    """Marrowby's ICU loses one contaminated set of February and gains one in March; both tables are in one hand."""
    before = exported(workspace, tmp_path / "before.csv")
    restated = {**UNITS, "Marrowby": {**UNITS["Marrowby"], "ICU": ((8, 60), (2, 50), (6, 60))}}
    take_hospital(workspace, tmp_path, "Marrowby", restated["Marrowby"])
    after = exported(workspace, tmp_path / "after.csv")
    assert not shown_small([before, after])
    known = attack_versions([(before, truth_of(UNITS)), (after, truth_of(restated))])
    assert not narrowed(known, after.sizes)
    assert len(list_left_tables(workspace)) == 2


def read_page(path: Path) -> tuple[int, int] | None:
    """Contaminated and counted sets as the page's own row has them; none where it shows none."""
    text = re.sub(r"\s+", " ", PdfReader(io.BytesIO(path.read_bytes())).pages[0].extract_text())
    found = re.search(r"Contaminated [\d.]+ % (\d+) of (\d+)", text)
    if found is None:
        assert "is not shown on a page that others see" in text
        assert "%" not in text  # no rate, range or chance from which the count could be worked out
        return None
    return int(found[1]), int(found[2])


def test_papers_beside_the_table(workspace: Workspace, tmp_path: Path) -> None:
    """Pages of hospitals and units, then the table of the month, all in one hand."""
    counts: dict[Cell, int | None] = {}
    sizes: dict[Cell, int] = {}
    for hospital, unit in PLACES:
        out = tmp_path / f"{hospital}-{unit}.pdf"
        print_unit(workspace, month="2026-02", facility=hospital, unit=unit, out=out)
        cell = ("contaminated", hospital, (unit or "").casefold(), "2026-02")
        found = read_page(out)
        counts[cell] = found[0] if found else None
        sizes |= {cell: found[1]} if found else {}
    papers = Printed(counts, sizes)
    files = [papers, exported(workspace, tmp_path / "quarter.csv")]
    assert any(count is not None for count in counts.values())
    assert not shown_small(files)
    known = {(cell, truth_value(cell)): found for cell, found in attack_printed(files, truth=truth_of(UNITS)).items()}
    assert not narrowed(known, files[1].sizes)


def test_without_memory_of_what_left_the_same_files_give_a_count_away(workspace: Workspace, tmp_path: Path) -> None:
    """The proof can fail: a hospital's page and its units' pages, each guarded as if it were the only one."""
    truth = truth_of(UNITS)
    cells = [("contaminated", "Marrowby", unit, "2026-02") for unit in ("ed", "icu", "wards")]
    total = ("contaminated", "Marrowby", "", "2026-02")
    careless = Printed({cell: None if "icu" in cell else truth_value(cell) for cell in (*cells, total)}, {})
    known = attack_printed([careless], truth=truth)
    assert known["contaminated", "Marrowby", "icu", "2026-02"] == Known(least=3, most=3)
