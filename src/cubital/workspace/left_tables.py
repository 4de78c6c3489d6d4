"""What left for others before: every table with its shown and hidden cells, as a reader may still have it in hand."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from cubital.domain.policy import Policy
from cubital.indicators.disclosure.guard import Before
from cubital.indicators.disclosure.tables import Cell, CountTable, SmallCounts, Sum
from cubital.indicators.disclosure.unit_months import CountKey
from cubital.workspace import records
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import last_batch_number
from cubital.workspace.unit_names import read_renames
from cubital.workspace.writing import note_change, one_transaction

CurrentKeys = Mapping[tuple[str, str], str]


@dataclass(frozen=True, kw_only=True)
class LeftTable:
    """One table that left: its number, the day (UTC), the face it left by, what it was about, the batch it rests on.

    ``shown`` and ``hidden`` are numbers of cells; a cell that was no part of the page but of its sums is a hidden one.
    """

    number: int
    left_on: date
    face: str
    about: str
    batch: int
    shown: int
    hidden: int


def list_left_tables(workspace: Workspace) -> tuple[LeftTable, ...]:
    """Every table that left, oldest first."""
    entries = records.LeftTable.objects.using(workspace.alias).order_by("number")
    return tuple(
        LeftTable(
            number=entry.number, left_on=entry.left_at.astimezone(UTC).date(), face=entry.face, about=entry.about,
            batch=entry.batch, shown=sum(cell[7] for cell in entry.cells),
            hidden=sum(1 - cell[7] for cell in entry.cells),
        )
        for entry in entries
    )  # fmt: skip


def read_before(workspace: Workspace) -> tuple[Before, ...]:
    """What readers may have in hand, under the unit keys of today, oldest first."""
    current = _current_keys(workspace)
    entries = records.LeftTable.objects.using(workspace.alias).order_by("number")
    if workspace.pinned is not None and workspace.pinned.left_before is not None:
        entries = entries.filter(number__lte=workspace.pinned.left_before)
    return tuple(_before_of(entry, current) for entry in entries)


def last_left_number(workspace: Workspace) -> int:
    """The number of the table that left last; 0 before the first."""
    entry = records.LeftTable.objects.using(workspace.alias).order_by("-number").first()
    return entry.number if entry else 0


def add_left_table(
    workspace: Workspace, *, table: CountTable, shown: frozenset[Cell], face: str, about: str, policy: Policy,
    limits: SmallCounts,
) -> int:  # fmt: skip
    """Notes a table as having left and gives its number. The very same table again keeps the number it has."""
    cells, sums = _plain_table(table, shown)
    digits = hashlib.sha256(json.dumps([face, about, cells, sums]).encode()).hexdigest()
    with one_transaction(workspace) as database:
        known = records.LeftTable.objects.using(database)
        same = known.filter(fingerprint=digits).first()
        if same is not None:
            return same.number
        last = known.order_by("-number").first()
        number = last.number + 1 if last else 1
        known.create(
            number=number, left_at=datetime.now(UTC), face=face, about=about[:200], batch=last_batch_number(workspace),
            policy=policy.fingerprint(), low=limits.low, high=limits.high, cells=cells, sums=sums, fingerprint=digits,
        )  # fmt: skip
        note_change(workspace, action="let_leave", subject=f"{face} {number}", about=about[:200], fingerprint=digits)
    return number


def _plain_table(table: CountTable, shown: frozenset[Cell]) -> tuple[list[list[object]], list[list[object]]]:
    place = {cell: index for index, cell in enumerate(table.counts)}
    cells: list[list[object]] = []
    for cell, count in table.counts.items():
        if not isinstance(cell, CountKey):
            raise TypeError(f"{cell} is no published count")
        cells.append([*cell.base, count, table.most.get(cell), int(cell in shown)])
    return cells, [[place[one.total], [place[part] for part in one.parts]] for one in table.sums]


def _before_of(entry: records.LeftTable, current: CurrentKeys) -> Before:
    keys = [_key_of(cell, current) for cell in entry.cells]
    if len(set(keys)) != len(keys):  # two labels that became one unit, with the same count: both stay as they were
        keys = [_key_of(cell, {}) for cell in entry.cells]
    table = CountTable(
        counts={key: key.value for key in keys},
        sums=tuple(Sum(total=keys[total], parts=tuple(keys[part] for part in parts)) for total, parts in entry.sums),
        most={key: cell[6] for key, cell in zip(keys, entry.cells, strict=True) if cell[6] is not None},
    )
    return Before(
        table=table,
        hidden=frozenset(key for key, cell in zip(keys, entry.cells, strict=True) if not cell[7]),
    )


def _key_of(cell: Sequence[object], current: CurrentKeys) -> CountKey:
    measure, definition, facility, unit, span, count = cell[:6]
    if unit is not None:
        unit = current.get((str(facility), str(unit)), str(unit))
    return CountKey(str(measure), str(definition), str(facility), unit, str(span), int(str(count)))


def _current_keys(workspace: Workspace) -> CurrentKeys:
    """Every label that was renamed since, with the key that counts today."""
    last = {(rename.facility, rename.old_key): rename.new_key for rename in read_renames(workspace)}
    found = {}
    for facility, old in last:
        key, seen = old, {old}
        while (facility, key) in last and last[facility, key] not in seen:
            key = last[facility, key]
            seen.add(key)
        found[facility, old] = key
    return found
