"""Versions of the local inputs to "is it worth it?": read from a hand-kept table, kept with who brought them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cubital.answers.worth_table import cost_columns, parse_costs
from cubital.domain.costs import CostInput, CostTable, InputKind, Origin, RangeShape
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace.small_tables import read_rows

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace


@dataclass(frozen=True, kw_only=True)
class KeptCosts:
    """One version: the table, and who noted it when."""

    number: int
    table: CostTable
    noted_by: str
    role: str
    noted_at: datetime


def read_costs(source: Path | str) -> CostTable:
    """The inputs in a file, or in pasted text. ``FileProblem`` names every row that is wrong; stores nothing."""
    where, rows = read_rows(source, advice=cost_columns().advice, pasted=_("the inputs"))
    return parse_costs(rows, where=where)


def save_costs(workspace: Workspace, *, table: CostTable, noted_by: str, role: str) -> KeptCosts:
    """Keeps the inputs as the next version; the same as the newest is no new one. ``RequestProblem`` without a name."""
    from cubital.workspace import records
    from cubital.workspace.writing import note_change, one_transaction

    name, part = (" ".join(text.split()) for text in (noted_by, role))
    if not name or not part:
        raise RequestProblem(
            _("costs need the name and the role of who brings them."), fix=_("Finance owns the cost inputs.")
        )
    with one_transaction(workspace) as database:
        newest = current_costs(workspace)
        if newest is not None and newest.table == table:
            return newest
        entry = records.CostTable.objects.using(database).create(
            number=newest.number + 1 if newest else 1, inputs=_plain(table), noted_by=name, role=part,
            noted_at=datetime.now(UTC),
        )  # fmt: skip
        note_change(workspace, action="save_costs", subject=f"costs {entry.number}", inputs=len(table.inputs))
    return _kept(entry)


def list_costs(workspace: Workspace) -> tuple[KeptCosts, ...]:
    """Every version, oldest first; of a workspace as it was, those that there were then."""
    from cubital.workspace import records

    entries = records.CostTable.objects.using(workspace.alias).order_by("number")
    if workspace.pinned is not None:
        entries = entries.filter(number__lte=workspace.pinned.costs)
    return tuple(_kept(entry) for entry in entries)


def current_costs(workspace: Workspace) -> KeptCosts | None:
    """The newest version; none where none was kept."""
    kept = list_costs(workspace)
    return kept[-1] if kept else None


def costs_to_use(workspace: Workspace) -> KeptCosts:
    """The newest version; ``RequestProblem`` where none was kept, for there is no default."""
    found = current_costs(workspace)
    if found is None:
        raise RequestProblem(
            _("no costs are kept in this workspace, and none are made up."),
            fix=_("Give a file with the inputs, or keep one first: cubital costs take FILE."),
        )
    return found


def _plain(table: CostTable) -> dict[str, Any]:
    return {
        "inputs": [asdict(one) for one in table.inputs],
        "index": [list(pair) for pair in table.index],
        "index_source": table.index_source,
    }


def _kept(entry: Any) -> KeptCosts:
    plain: Mapping[str, Any] = entry.inputs
    table = CostTable(
        inputs=tuple(_input_of(one) for one in plain["inputs"]),
        index=tuple((int(year), float(value)) for year, value in plain["index"]), index_source=plain["index_source"],
    )  # fmt: skip
    return KeptCosts(
        number=entry.number, table=table, noted_by=entry.noted_by, role=entry.role,
        noted_at=entry.noted_at.astimezone(UTC),
    )  # fmt: skip


def _input_of(plain: Mapping[str, Any]) -> CostInput:
    kinds = {
        "kind": InputKind(plain["kind"]), "origin": Origin(plain["origin"]), "shape": RangeShape(plain["shape"]),
        **{name: float(plain[name]) for name in ("low", "likely", "high")},
    }  # fmt: skip
    return CostInput(**{**plain, **kinds})
