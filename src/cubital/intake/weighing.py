"""A weigh-in sheet as it was typed at the balance: set, bottle, gross weight, and the tare where there is one."""

from __future__ import annotations

import csv
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from cubital.domain.cultures import BottleKind
from cubital.domain.errors import FileProblem
from cubital.domain.scratch import ScratchFolder
from cubital.domain.words import _
from cubital.intake.source_files import FileKind, open_source, refuse_messages
from cubital.intake.text_files import copy_as_utf8

MOST_ROWS = 100_000
HEADERS = {
    "accession": ("accession", "acc", "acc_no", "set", "specimen", "labno", "number"),
    "bottle": ("bottle", "type", "kind", "bottle type"),
    "gross": ("gross", "gross g", "gross_g", "weight", "weight g", "weight_g", "full"),
    "tare": ("tare", "tare g", "tare_g", "empty"),
}
BOTTLES = {
    "aer": BottleKind.AEROBIC,
    "aerobic": BottleKind.AEROBIC,
    "ana": BottleKind.ANAEROBIC,
    "anaerobic": BottleKind.ANAEROBIC,
    "ped": BottleKind.PAEDIATRIC,
    "paediatric": BottleKind.PAEDIATRIC,
    "pediatric": BottleKind.PAEDIATRIC,
}


@dataclass(frozen=True, kw_only=True)
class WeighedRow:
    """One line of the sheet: weights in grams; ``tare_g`` is none where the sheet has none."""

    accession: str
    bottle: str
    kind: BottleKind
    gross_g: float
    tare_g: float | None


def read_weigh_sheet(path: Path) -> tuple[WeighedRow, ...]:
    """Every line of a CSV, TSV, semicolon or workbook sheet; all faults together in one ``FileProblem``."""
    with ScratchFolder() as scratch:
        table = _read_table(path, scratch)
    if not table:
        raise FileProblem(_("the sheet is empty."), where=path.name)
    places = _find_columns(table[0], path.name)
    rows, faults = [], []
    for number, cells in enumerate(table[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        found = _read_row(cells, places)
        if isinstance(found, str):
            faults.append(_("row {row}: {fault}").format(row=number, fault=found))
        else:
            rows.append(found)
    if faults:
        raise FileProblem("; ".join(faults[:10]) + ".", where=path.name, fix=_("Correct these rows; nothing was read."))
    return tuple(rows)


def _read_table(path: Path, scratch: Path) -> Sequence[Sequence[str]]:
    source = open_source(path, scratch)
    refuse_messages(source)
    if source.kind is FileKind.WORKBOOK:
        from python_calamine import CalamineWorkbook

        book = CalamineWorkbook.from_path(str(source.path))
        rows = book.get_sheet_by_index(0).to_python(skip_empty_area=True)
        return [[_cell_text(cell) for cell in row] for row in rows[: MOST_ROWS + 1]]
    copy = copy_as_utf8(source, scratch)
    with copy.path.open(encoding="utf-8", newline="") as handle:
        first = handle.readline()
        handle.seek(0)
        delimiter = max(",;\t", key=first.count)
        return [row for row, _limit in zip(csv.reader(handle, delimiter=delimiter), range(MOST_ROWS + 1), strict=False)]


def _cell_text(cell: object) -> str:
    if isinstance(cell, float) and cell == int(cell):
        return str(int(cell))
    return str(cell)


def _find_columns(header: Sequence[str], name: str) -> Mapping[str, int]:
    tidy = [" ".join(cell.casefold().replace("_", " ").split()) for cell in header]
    places: dict[str, int] = {}
    for role, spellings in HEADERS.items():
        wanted = {spelling.replace("_", " ") for spelling in spellings}
        found = [index for index, cell in enumerate(tidy) if cell in wanted]
        if len(found) > 1:
            raise FileProblem(_("two columns could be the {role}.").format(role=role), where=name)
        if found:
            places[role] = found[0]
    if missing := [role for role in ("accession", "bottle", "gross") if role not in places]:
        raise FileProblem(
            _("the sheet has no column for: {missing}.").format(missing=", ".join(missing)),
            where=f"{name}, row 1",
            fix=_("Name the columns accession, bottle, gross g and, if weighed, tare g."),
        )
    return places


def _read_row(cells: Sequence[str], places: Mapping[str, int]) -> WeighedRow | str:
    """The row, or what is wrong with it."""

    def cell(role: str) -> str:
        place = places.get(role, len(cells))
        return cells[place].strip() if place < len(cells) else ""

    kind = BOTTLES.get(cell("bottle").casefold())
    if kind is None:
        return _("the bottle '{text}' is unknown").format(text=cell("bottle"))
    gross = _grams(cell("gross"))
    if gross is None:
        return _("'{text}' is no weight in grams (write 71.6)").format(text=cell("gross"))
    tare = _grams(cell("tare")) if cell("tare") else None
    if cell("tare") and tare is None:
        return _("'{text}' is no tare in grams").format(text=cell("tare"))
    return WeighedRow(accession=cell("accession"), bottle=cell("bottle"), kind=kind, gross_g=gross, tare_g=tare)


def _grams(text: str) -> float | None:
    try:
        grams = float(text)
    except ValueError:
        return None
    return grams if 0 < grams < 2000 else None
