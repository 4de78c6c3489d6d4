"""The month's answer as others may see it: made from nothing but counts that the guard lets leave.

Every word, limit and point of such an answer is computed from shown counts alone, so that nothing in it can tell more
than they do. Where the month's own count is hidden, the answer is the refusal to show it; where an earlier month's is,
the month stands without a comparison, as its chart would give the hidden months away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cubital.answers.month import build_month_answer
from cubital.answers.month_cautions import countless_cautions
from cubital.answers.month_material import MonthMaterial
from cubital.domain.answer import Answer, Figure, Verdict
from cubital.domain.charter import UnitOfCount
from cubital.domain.words import _, grouped_words, month_words, share_words
from cubital.indicators.disclosure.tables import Cell, CountTable, SmallCounts
from cubital.indicators.disclosure.unit_months import CountKey, build_unit_table, only_measures
from cubital.indicators.month import month_figures
from cubital.judge.counts import MonthCounts, Scope
from cubital.workspace.charters import current_charter
from cubital.workspace.diary_marking import marked
from cubital.workspace.guarding import let_leave, may_leave, small_counts
from cubital.workspace.left_tables import last_left_number
from cubital.workspace.month_gathering import gather_month
from cubital.workspace.opening import Workspace
from cubital.workspace.pins import at_pin, pin_now
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.unit_counts import count_unit_months, unit_months

MONTHS_BACK = 24  # a baseline needs 20 by the example policy; more would only be more months that can be hidden
NOT_SHOWN = frozenset({"solitary_commensals", "unresolved"})  # parts of other growth: shown, they would split it
FACE = "unit page"


@dataclass(frozen=True, kw_only=True)
class _Asked:
    """The cells of one place: contaminated sets by month, and the asked month's other growth."""

    table: CountTable
    history: tuple[CountKey, ...]
    beside: tuple[CountKey, ...]


@dataclass(frozen=True, kw_only=True)
class ForOthers:
    """An answer that others may see. ``left_before`` is the last table that had left before the one it makes."""

    answer: Answer
    left_before: int


def month_answer_for_others(workspace: Workspace, *, month: str, facility: str | None, unit: str | None) -> Answer:
    """The month's answer for a page that others see; what it shows is kept in mind for the tables after it.

    Errors as for ``month_answer`` and ``let_leave``.
    """
    return month_for_others(workspace, month=month, facility=facility, unit=unit).answer


def month_for_others(workspace: Workspace, *, month: str, facility: str | None, unit: str | None) -> ForOthers:
    """The same with what a receipt needs to make it again."""
    before = last_left_number(workspace)
    material = gather_month(workspace, month=month, facility=facility, unit=unit)
    material = replace(material, history=material.history[-MONTHS_BACK - 1 :], old_figures=())
    asked = _asked_cells(workspace, material)
    guarded = may_leave(workspace, table=asked.table, asked=(*asked.history, *asked.beside))
    whole_history = all(guarded.shown[cell] is not None for cell in asked.history)
    month_shown = guarded.shown[asked.history[-1]] is not None
    wanted = (*(asked.history if whole_history else asked.history[-1:]), *asked.beside) if month_shown else ()
    about = _("{place}, {month}").format(place=material.place_name, month=month_words(month, with_year=True))
    if not wanted:
        refused = _not_shown(material, small_counts(current_policy(workspace)))
        return ForOthers(answer=refused, left_before=0 if _hidden_anyway(workspace, asked) else before)
    leaving = let_leave(workspace, table=asked.table, asked=wanted, face=FACE, about=about)
    before = leaving.number - 1
    beside_shown = all(leaving.may_show(cell) for cell in asked.beside)
    if not leaving.may_show(asked.history[-1]):
        return ForOthers(answer=_not_shown(material, leaving.limits), left_before=before)
    answer = build_month_answer(material)
    if not whole_history or not all(leaving.may_show(cell) for cell in asked.history):
        answer = _without_comparison(answer, material)
    answer = replace(
        answer,
        figures=tuple(_public(figure, leaving.limits, beside_shown=beside_shown) for figure in answer.figures),
        cautions=(_left_out_words(leaving.limits), *countless_cautions(material, shown=True)),
        checks=(),
    )
    if answer.picture:
        answer = marked(workspace, answer, facility=facility, unit=unit)
    return ForOthers(answer=answer, left_before=before)


def _hidden_anyway(workspace: Workspace, asked: _Asked) -> bool:
    """Whether the month would be hidden too if no table had ever left: then none matters to the refusal."""
    alone = at_pin(workspace, replace(pin_now(workspace), left_before=0))
    guarded = may_leave(alone, table=asked.table, asked=(*asked.history, *asked.beside))
    return guarded.shown[asked.history[-1]] is None


def _asked_cells(workspace: Workspace, material: MonthMaterial) -> _Asked:
    charter = current_charter(workspace)
    asked = material.asked
    months = tuple(counts.month for counts in material.history)
    own = (asked.facility or "", asked.unit)
    if asked.unit is None and charter.charter.unit_of_count is UnitOfCount.SET:
        scope = Scope(from_month=months[0], to_month=months[-1], facility=asked.facility)
        with open_snapshot(workspace) as session:
            rows = unit_months(count_unit_months(session, charter, scope=scope))
        rates = build_unit_table(
            only_measures(rows, ("contaminated",)), definition=charter.fingerprint, months=months, spans=()
        )
        this_month = [row for row in rows if row.month == material.month]
        beside = build_unit_table(
            only_measures(this_month, ("undecided", "other_growth")), definition=charter.fingerprint,
            months=(material.month,), spans=(),
        )  # fmt: skip
        table = rates.joined(beside)
    else:
        table = _own_table(charter.fingerprint, own, material.history)
    cells = [cell for cell in table.counts if isinstance(cell, CountKey) and (cell.facility, cell.unit) == own]
    rate_cells = sorted((cell for cell in cells if cell.measure == "contaminated"), key=lambda cell: cell.span)
    others = tuple(cell for cell in cells if cell.measure != "contaminated" and cell.span == material.month)
    return _Asked(table=table, history=tuple(rate_cells), beside=others)


def _own_table(definition: str, own: tuple[str, str | None], history: Sequence[MonthCounts]) -> CountTable:
    """A place by itself: a unit, or a place whose parts do not add up because the charter does not count sets."""
    counts: dict[Cell, int] = {}
    most: dict[Cell, int] = {}
    for row, counted in zip(unit_months(history), history, strict=True):
        for measure in row.counts:
            if measure == "contaminated" or counted is history[-1]:
                key = CountKey(measure, definition, *own, row.month, row.counts[measure])
                counts[key], most[key] = row.counts[measure], row.most[measure]
    return CountTable(counts=counts, most=most)


def _not_shown(material: MonthMaterial, limits: SmallCounts) -> Answer:
    asked = material.asked
    month = month_words(material.month, with_year=True)
    return Answer(
        question=_("How was {month} at {place}?").format(month=month, place=material.place_name),
        verdict=Verdict.REFUSED,
        sentence=_(
            "{month}: {total} were counted. How many of them count as contaminated is not shown on a page that others "
            "see: it is a small count, or it would give one away."
        ).format(month=month, total=_things(asked)),
        cautions=(_left_out_words(limits), *countless_cautions(material, shown=False)),
        receipt=material.receipt,
    )


def _without_comparison(answer: Answer, material: MonthMaterial) -> Answer:
    figure = answer.figure("contamination")
    spread = ""
    if figure.low is not None and figure.high is not None:
        spread = _("; likely {low} to {high}").format(low=share_words(figure.low), high=share_words(figure.high))
    sentence = _(
        "{month}: {count} of {total} count as contaminated ({share}{spread}). Months before hold counts too small to "
        "show, so this page does not compare."
    ).format(
        month=month_words(material.month, with_year=True), count=grouped_words(material.asked.numerator),
        total=_things(material.asked), share=share_words(figure.value or 0.0), spread=spread,
    )  # fmt: skip
    company = month_figures(material.asked, material.process[-1], charter=material.charter, limits=material.limits)
    keys = {one.key for one in company}
    kept = tuple(one for one in answer.figures if one.key in keys)
    return replace(answer, verdict=Verdict.ESTIMATE, sentence=sentence, figures=kept, picture={}, table=None)


def _things(asked: MonthCounts) -> str:
    return _("{count} sets").format(count=grouped_words(asked.denominator))


def _public(figure: Figure, limits: SmallCounts, *, beside_shown: bool) -> Figure:
    """The figure as it is, or without its value where its counts are small or are part of what is hidden."""
    if figure.key == "contamination":
        return replace(figure, note="")
    part_of_growth = figure.key in {"positivity", "to_adjudicate"}
    if figure.key in NOT_SHOWN or (part_of_growth and not beside_shown):
        return _hidden(figure)
    if figure.numerator is None:
        small = figure.unit == "sets" and figure.value is not None and limits.low <= figure.value <= limits.high
        return _hidden(figure) if small and not part_of_growth else figure
    rest = (figure.denominator or figure.numerator) - figure.numerator
    small = any(limits.low <= count <= limits.high for count in (figure.numerator, rest))
    return _hidden(figure) if small and not part_of_growth else figure


def _hidden(figure: Figure) -> Figure:
    return replace(
        figure, value=None, low=None, high=None, numerator=None, denominator=None, note=_("not shown to others")
    )  # fmt: skip


def _left_out_words(limits: SmallCounts) -> str:
    return _(
        "Made for others: counts from {low} to {high}, and what would give them away, are left out. The unit's own "
        "page has them."
    ).format(low=limits.low, high=limits.high)
