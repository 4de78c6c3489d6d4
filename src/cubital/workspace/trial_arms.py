"""The counts of a trial's arms as the guard takes them: tied to the months that other papers show of the same units."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cubital.domain.trial import TrialPlan
from cubital.indicators.disclosure.tables import Cell, CountTable, Sum
from cubital.indicators.disclosure.unit_months import CountKey
from cubital.workspace.opening import Workspace
from cubital.workspace.trial_counts import DrawnCell, trial_days
from cubital.workspace.trial_looks import KeptLook
from cubital.workspace.trials import SealedTrial, charter_of

OUTSIDE = "outside"
Part = tuple[str, str, str, str]  # facility, unit, month, arm or outside


@dataclass(frozen=True, kw_only=True)
class ArmsTable:
    """``cells`` are contaminated sets in the usual and in the new arm, as the look has them."""

    table: CountTable
    cells: tuple[CountKey, CountKey]


def arms_table(workspace: Workspace, trial: SealedTrial, look: KeptLook) -> ArmsTable:
    """Contaminated sets by unit, month and arm, with the arms' totals above them.

    A unit's month is the sum of its two arms and of what lies outside the trial, so that what other papers show of the
    same month is looked at together with this one.
    """
    charter = charter_of(workspace, trial.plan)
    cells = trial_days(workspace, trial.plan, charter.charter, batch=look.batch)
    parts = _keys(_split(trial.plan, list(cells)), trial=trial.number, definition=charter.fingerprint)
    counts: dict[Cell, int] = {cell: cell.value for cell in parts}
    sums = [*_months(parts), *_arms(parts, trial=trial.number, look=look.number, definition=charter.fingerprint)]
    counts |= {one.total: one.total.value for one in sums if isinstance(one.total, CountKey)}
    usual, new = (one.total for one in sums[-2:])
    if not isinstance(usual, CountKey) or not isinstance(new, CountKey):
        raise TypeError("the totals of arms are no counts")
    return ArmsTable(table=CountTable(counts=counts, sums=tuple(sums)), cells=(usual, new))


def _split(plan: TrialPlan, cells: Sequence[DrawnCell]) -> Mapping[Part, int]:
    found: dict[Part, int] = defaultdict(int)
    for cell in cells:
        if cell.day is not None:
            inside = cell.stretch is not None and not cell.settling
            arm = str(plan.stretches[cell.stretch or 0].arm) if inside else OUTSIDE
            found[cell.facility, cell.unit, f"{cell.day:%Y-%m}", arm] += cell.contaminated
    return found


def _keys(parts: Mapping[Part, int], *, trial: int, definition: str) -> list[CountKey]:
    return [
        CountKey(_measure(trial, arm), definition, facility, unit, month, x)
        for (facility, unit, month, arm), x in sorted(parts.items())
    ]


def _measure(trial: int, arm: str) -> str:
    return f"contaminated, trial {trial}, {arm}"


def _months(parts: Sequence[CountKey]) -> list[Sum]:
    """Each unit's month above its parts, under the key by which other tables have it."""
    found: dict[tuple[str, str | None, str], list[CountKey]] = defaultdict(list)
    for cell in parts:
        found[cell.facility, cell.unit, cell.span].append(cell)
    return [
        Sum(
            total=CountKey("contaminated", cells[0].definition, facility, unit, month, sum(one.value for one in cells)),
            parts=tuple(cells),
        )
        for (facility, unit, month), cells in found.items()
    ]


def _arms(parts: Sequence[CountKey], *, trial: int, look: int, definition: str) -> list[Sum]:
    sums = []
    for arm in ("0", "1"):
        mine = tuple(cell for cell in parts if cell.measure == _measure(trial, arm))
        total = sum(cell.value for cell in mine)
        sums.append(Sum(total=CountKey(_measure(trial, arm), definition, "", None, f"look {look}", total), parts=mine))
    return sums
