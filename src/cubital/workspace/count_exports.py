"""Unit-month counts for the network and beyond: guarded, with a codebook."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from cubital.domain.charter import UnitOfCount
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, grouped_words
from cubital.indicators.disclosure.tables import Cell
from cubital.indicators.disclosure.unit_months import CountKey, Span, build_unit_table, longer_spans, place_level
from cubital.judge.counts import MonthCounts, Scope
from cubital.papers.counts_table import MEASURES, CountRow, build_counts_table
from cubital.papers.table_files import Export, check_name, write_export
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import CharterVersion, current_charter
from cubital.workspace.exports import charter_line, common_about, receipt_line
from cubital.workspace.guarding import Leaving, let_leave
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.unit_counts import count_unit_months, unit_months

FACE = "counts"
_LEVELS = ("network", "facility", "unit")
Where = tuple[str, str | None]


@dataclass(frozen=True, kw_only=True)
class CountsWritten:
    """How many rows were written, how many counts stand in them, and how many are hidden."""

    rows: int
    shown: int
    hidden: int


def export_counts(
    workspace: Workspace, *, out: Path, from_month: str | None = None, to_month: str | None = None,
    facility: str | None = None, today: date | None = None,
) -> CountsWritten:  # fmt: skip
    """Writes contaminated, undecided and other growth by unit and month, with every total, small counts hidden.

    Files as for ``export_sets``. Whatever left earlier is looked at too, and what leaves now is kept in mind.
    ``PolicyProblem`` where the policy names no small counts; ``RequestProblem`` for an unknown place, months without
    sets, a charter that does not count sets, or counts that earlier tables give away.
    """
    from cubital.workspace.left_answers import counts_as_answer, workspace_receipt
    from cubital.workspace.receipts import keep_receipt

    check_name(out)
    found = counts_for_others(workspace, from_month=from_month, to_month=to_month, facility=facility)
    rows, leaving = found.rows, found.leaving
    charter = current_charter(workspace)
    asked = {
        "from_month": from_month, "to_month": to_month, "facility": facility, "left_before": leaving.number - 1
    }  # fmt: skip
    answer = counts_as_answer(rows, receipt=workspace_receipt(workspace))
    code = keep_receipt(workspace, question="counts", asked=asked, answer=answer)
    about = (
        *_about(workspace, charter, scope=found.scope, leaving=leaving, rows=len(rows), today=today),
        receipt_line(code),
    )
    write_export(Export(tables=(build_counts_table(rows),), about=about), out)
    hidden = sum(len(row.hidden) for row in rows)
    return CountsWritten(rows=len(rows), shown=len(rows) * len(MEASURES) - hidden, hidden=hidden)


@dataclass(frozen=True, kw_only=True)
class CountsFound:
    """The rows that may leave, what the guard said of them, and which sets they count."""

    rows: tuple[CountRow, ...]
    leaving: Leaving
    scope: Scope


def counts_for_others(
    workspace: Workspace, *, from_month: str | None = None, to_month: str | None = None, facility: str | None = None
) -> CountsFound:
    """The rows of ``export_counts`` without writing them; the note of their leaving is kept. Errors as there."""
    charter = _counting_sets(current_charter(workspace))
    scope = find_place(workspace, facility=facility, unit=None).scope(from_month=from_month, to_month=to_month)
    with open_snapshot(workspace) as session:
        counted = count_unit_months(session, charter, scope=scope)
    if not counted:
        raise RequestProblem(_("there are no sets in these months."), fix=_("Ask for other months."))
    rows, leaving = guarded_rows(workspace, charter, counted)
    return CountsFound(rows=rows, leaving=leaving, scope=scope)


def guarded_rows(
    workspace: Workspace, charter: CharterVersion, counted: Sequence[MonthCounts]
) -> tuple[tuple[CountRow, ...], Leaving]:
    """The rows that may leave, network first, and what the guard said. The note of their leaving is kept."""
    months = tuple(sorted({one.month for one in counted}))
    spans = longer_spans(months)
    table = build_unit_table(unit_months(counted), definition=charter.fingerprint, months=months, spans=spans)
    every = (*(Span(name=month, months=(month,)) for month in months), *spans)
    sizes = _sizes(counted, every)
    asked = [cell for cell in table.counts if _is_asked(cell, sizes)]
    about = _("unit-month counts, {first} to {last}").format(first=months[0], last=months[-1])
    leaving = let_leave(workspace, table=table, asked=asked, face=FACE, about=about)
    names = {(one.facility, one.unit): one.unit_name for one in counted}
    held = {cell.base: leaving.guarded.shown[cell] for cell in asked if isinstance(cell, CountKey)}
    ordered = sorted(sizes, key=lambda key: (_LEVELS.index(place_level(*key[0])), *_text(key[0]), key[1]))
    rows = [
        _row(place, span, counted=sizes[place, span], names=names, held={
            measure: held.get((measure, charter.fingerprint, *place, span)) for measure in MEASURES
        }) for place, span in ordered
    ]  # fmt: skip
    return tuple(rows), leaving


def _sizes(counted: Sequence[MonthCounts], spans: Sequence[Span]) -> dict[tuple[Where, str], int]:
    """The denominators of every place and span that has one above 0."""
    several = len({one.facility for one in counted}) > 1
    found: dict[tuple[Where, str], int] = {}
    for span in spans:
        held = set(span.months)
        for one in counted:
            facility = one.facility or ""
            if one.month in held:
                for place in ((facility, one.unit or ""), (facility, None), *((("", None),) if several else ())):
                    found[place, span.name] = found.get((place, span.name), 0) + one.denominator
    return {key: size for key, size in found.items() if size}


def _is_asked(cell: Cell, sizes: dict[tuple[Where, str], int]) -> bool:
    return isinstance(cell, CountKey) and ((cell.facility, cell.unit), cell.span) in sizes


def _text(place: Where) -> tuple[str, str]:
    return place[0], place[1] or ""


def _row(
    place: Where, span: str, *, counted: int, names: dict[tuple[str | None, str | None], str],
    held: dict[str, int | None],
) -> CountRow:  # fmt: skip
    facility, unit = place
    return CountRow(
        level=place_level(facility, unit),
        facility=facility,
        unit=unit or "",
        unit_name=names.get((facility, unit), "") if unit is not None else "",
        period="quarter" if "-Q" in span else "month" if "-" in span else "year",
        span=span,
        counted=counted,
        contaminated=held["contaminated"],
        undecided=held["undecided"],
        other_growth=held["other_growth"],
        hidden=tuple(measure for measure in MEASURES if held[measure] is None),
    )


def _counting_sets(charter: CharterVersion) -> CharterVersion:
    if charter.charter.unit_of_count is not UnitOfCount.SET:
        raise RequestProblem(
            _("charter '{name}' does not count sets, so units do not add up to their hospital.").format(
                name=charter.charter.name
            ),
            fix=_("Choose a charter that counts sets."),
        )
    return charter


def _about(
    workspace: Workspace, charter: CharterVersion, *, scope: Scope, leaving: Leaving, rows: int, today: date | None
) -> tuple[tuple[str, str], ...]:
    policy = current_policy(workspace)
    limits = leaving.limits
    return (
        (
            _("what"),
            _("contaminated, undecided and other grown sets by unit and month, with totals; made to be shared"),
        ),
        (_("rows"), grouped_words(rows)),
        (
            _("hidden counts"),
            _(
                "counts from {low} to {high} are hidden, and others with them, so that no sum, difference or earlier "
                "table of this workspace gives one away; zeros and totals may be hidden too"
            ).format(low=limits.low, high=limits.high),
        ),
        (_("policy"), _("{name}, version {version}").format(name=policy.name, version=policy.version)),
        (_("table"), _("number {number} of those that left").format(number=leaving.number)),
        (_("charter"), charter_line(charter)),
        (_("data"), snapshot_words(workspace)),
        (_("from month"), scope.from_month or _("the first there is")),
        (_("to month"), scope.to_month or _("the last there is")),
        (_("facility"), scope.facility or _("all")),
        *common_about(today),
    )
