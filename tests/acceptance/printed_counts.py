"""Reads published counts back as a stranger would, and works out from them all that can be worked out."""

from __future__ import annotations

import csv
from collections.abc import Collection, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from cubital.indicators.disclosure.reader import Known, attack
from cubital.indicators.disclosure.tables import CountTable, Sum

# measure, facility ("" for the network), unit key ("" for a total), span
Cell = tuple[str, str, str, str]
MEASURES = ("contaminated", "undecided", "other_growth")


@dataclass(frozen=True)
class Printed:
    """What stands in one file: counts, none where the cell is empty, and the denominators beside them."""

    counts: Mapping[Cell, int | None]
    sizes: Mapping[Cell, int]

    def showing_all_but(self, hidden: Collection[Cell], *, truth: Mapping[Cell, int]) -> Printed:
        """A careless version of the same table, to see that the attack can succeed."""
        whole = {cell: value_of(cell, truth) for cell in self.counts}
        return replace(self, counts={cell: None if cell in hidden else whole[cell] for cell in whole})


def read_counts_file(path: Path) -> Printed:
    """The cells of a ``.csv`` or ``.xlsx`` of unit-month counts."""
    rows = _rows_of_workbook(path) if path.suffix == ".xlsx" else _rows_of_text(path)
    counts, sizes = {}, {}
    for row in rows:
        for measure in MEASURES:
            cell = (measure, row["facility"] or "", row["unit"] or "", row["span"])
            text = str(row[measure] if row[measure] is not None else "")
            counts[cell] = int(text) if text else None
            sizes[cell] = int(row["counted"])
    return Printed(counts, sizes)


def _rows_of_text(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


def _rows_of_workbook(path: Path) -> list[dict[str, str]]:
    import openpyxl

    with closing(openpyxl.load_workbook(path, read_only=True)) as book:
        head, *rows = book["counts"].iter_rows(values_only=True)
    return [dict(zip(map(str, head), row, strict=True)) for row in rows]


def months_in(span: str, months: Collection[str]) -> list[str]:
    """The months of a quarter or a year among ``months``; a month is its own."""
    if "-Q" in span:
        year, number = span.split("-Q")
        return [month for month in sorted(months) if month[:4] == year and (int(month[5:]) - 1) // 3 + 1 == int(number)]
    return [span] if "-" in span else [month for month in sorted(months) if month[:4] == span]


def value_of(cell: Cell, truth: Mapping[Cell, int]) -> int:
    """The true count of a cell from those of the unit-months; what is not among them is 0."""
    measure, facility, unit, span = cell
    wanted = set(months_in(span, {key[3] for key in truth}))
    return sum(
        count for (m, f, u, month), count in truth.items()
        if m == measure and facility in ("", f) and unit in ("", u) and month in wanted
    )  # fmt: skip


def attack_printed(files: Sequence[Printed], *, truth: Mapping[Cell, int]) -> dict[Cell, Known]:
    """The least and the most of every count that no file shows, given all files of the same data side by side."""
    return {cell: known for (cell, _value), known in attack_versions([(one, truth) for one in files]).items()}


def attack_versions(files: Sequence[tuple[Printed, Mapping[Cell, int]]]) -> dict[tuple[Cell, int], Known]:
    """The same where counts were restated between the files: each file comes with the truth of its day.

    A count that changed is another unknown than before; one that did not change is the same, and the reader knows so.
    """
    counts: dict[tuple[Cell, int], int] = {}
    most: dict[tuple[Cell, int], int] = {}
    shown: set[tuple[Cell, int]] = set()
    sums: dict[Sum, None] = {}
    for printed, truth in files:
        # A reader knows the units and months there are, whether or not this table shows them.
        units = {(m, f, u, s) for m in {cell[0] for cell in printed.counts} for (_m, f, u, s) in truth}
        keys = {cell: (cell, value_of(cell, truth)) for cell in set(printed.counts) | units}
        counts |= {key: key[1] for key in keys.values()}
        most |= {keys[cell]: size for cell, size in printed.sizes.items() if cell in keys}
        for cell, count in printed.counts.items():
            assert count in (None, keys[cell][1]), f"{cell} is printed as {count} and is {keys[cell][1]}"
            shown |= {keys[cell]} if count is not None else set()
        for one in _sums(set(keys)):
            sums[Sum(total=keys[one.total], parts=tuple(keys[part] for part in one.parts))] = None
    table = CountTable(counts=counts, sums=tuple(sums), most=most)
    return attack(table, [key for key in counts if key not in shown])


def _sums(cells: Collection[Cell]) -> list[Sum]:
    found = []
    months = {cell[3] for cell in cells if "-" in cell[3] and "-Q" not in cell[3]}
    for cell in cells:
        measure, facility, unit, span = cell
        if not unit:
            parts = [
                c for c in cells
                if c[0] == measure and c[3] == span and c != cell
                and ((not facility and c[1] and not c[2]) or (facility and c[1] == facility and c[2]))
            ]  # fmt: skip
            found += [Sum(total=cell, parts=tuple(parts))] if parts else []
        inside = [(measure, facility, unit, month) for month in months_in(span, months)]
        if inside != [cell] and all(part in cells for part in inside):
            found.append(Sum(total=cell, parts=tuple(inside)))
    return found
