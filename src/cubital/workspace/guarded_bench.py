"""The bench on a charter's page as others may see it: definitions beside each other give small differences away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from cubital.domain.charter import UnitOfCount
from cubital.domain.words import _
from cubital.indicators.disclosure.tables import SmallCounts
from cubital.indicators.disclosure.unit_months import CountKey, Span, build_unit_table, only_measures
from cubital.judge.counts import Scope
from cubital.papers.charter_page import BenchLine
from cubital.workspace.charters import CharterVersion
from cubital.workspace.guarding import let_leave, small_counts
from cubital.workspace.left_tables import list_left_tables
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.unit_counts import count_unit_months, unit_months

FACE = "charter page"


def bench_for_others(
    workspace: Workspace, version: CharterVersion, lines: Sequence[BenchLine], *, months: tuple[str, ...]
) -> tuple[BenchLine, ...]:
    """The lines with their counts, or all of them without, as two definitions differ by sets that can be subtracted.

    The charter's own count is a total of the months that other tables show, and goes through the guard as such.
    """
    limits = small_counts(current_policy(workspace))
    own = next((line for line in lines if line.is_this), None)
    if _tells_small_counts(lines, limits) or (own is not None and not _may_leave(workspace, version, own, months)):
        return tuple(replace(line, hidden=True) for line in lines)
    return tuple(lines)


def left_before_bench(workspace: Workspace, before: int, *, months: tuple[str, ...]) -> int:
    """The last table that had left before this bench did, where ``before`` was the last one when it was begun.

    A bench that leaves a second time keeps the number that it had.
    """
    about = _about(months)
    numbers = [one.number for one in list_left_tables(workspace) if (one.face, one.about) == (FACE, about)]
    return min(before, numbers[-1] - 1) if numbers else before


def _about(months: tuple[str, ...]) -> str:
    return _("the definitions beside each other, {first} to {last}").format(first=months[0], last=months[-1])


def _tells_small_counts(lines: Sequence[BenchLine], limits: SmallCounts) -> bool:
    """Whether a count, or the difference of two definitions in sets above or below, is a small one."""
    counts = [line.numerator for line in lines] + [line.denominator for line in lines]
    pairs = [(a.numerator, b.numerator) for a, b in combinations(lines, 2)]
    pairs += [(a.denominator, b.denominator) for a, b in combinations(lines, 2)]
    return any(limits.low <= value <= limits.high for value in (*counts, *(abs(a - b) for a, b in pairs)))


def _may_leave(workspace: Workspace, version: CharterVersion, own: BenchLine, months: tuple[str, ...]) -> bool:
    span = Span(name=f"{months[0]}..{months[-1]}", months=months)
    if version.charter.unit_of_count is not UnitOfCount.SET:
        return False
    with open_snapshot(workspace) as session:
        counted = count_unit_months(session, version, scope=Scope(from_month=months[0], to_month=months[-1]))
    rows = only_measures(unit_months(counted), ("contaminated",))
    table = build_unit_table(rows, definition=version.fingerprint, months=months, spans=(span,))
    whole = [
        cell for cell in table.counts if isinstance(cell, CountKey) and cell.span == span.name and cell.unit is None
    ]
    asked = [cell for cell in whole if not cell.facility] or whole  # one hospital alone is the network
    if len(asked) != 1 or asked[0].value != own.numerator:
        return False
    return let_leave(workspace, table=table, asked=asked, face=FACE, about=_about(months)).may_show(asked[0])
