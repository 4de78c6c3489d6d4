"""Draws and baseline of the decision model from the stored cultures: by place, by months, by hours of the day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from cubital.answers.month_text import next_month
from cubital.answers.worth_inputs import COVERED, COVERED_RATE, RATE, SETS
from cubital.domain.costs import CostInput, CostTable, InputKind, Origin, RangeShape
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, month_words
from cubital.indicators.disclosure.tables import CountTable, Sum
from cubital.indicators.disclosure.unit_months import CountKey
from cubital.stats.proportions import wilson_interval

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace

FACE = "business case"


@dataclass(frozen=True, kw_only=True)
class CountsAsk:
    """Where and when; ``hours`` are the first hour and the hour after the last (22, 6 runs over midnight)."""

    facility: str | None = None
    unit: str | None = None
    from_month: str | None = None
    to_month: str | None = None
    hours: tuple[int, int] | None = None


@dataclass(frozen=True, kw_only=True)
class CountedDraws:
    """Counted sets and contaminated ones over ``months``; the same within the hours, none where none were asked.

    ``untimed`` are sets without a clock time, which no hour covers.
    """

    ask: CountsAsk
    place: str
    months: tuple[str, ...]
    sets: int
    contaminated: int
    hour_sets: int | None
    hour_contaminated: int | None
    untimed: int
    definition: str
    data: str


def count_draws(workspace: Workspace, ask: CountsAsk) -> CountedDraws:
    """Counts under the charter in force. ``RequestProblem`` for an unknown place, or where nothing was drawn there."""
    from cubital.judge.cells import Dimension, count_cells
    from cubital.workspace.asked_places import find_place
    from cubital.workspace.charters import current_charter
    from cubital.workspace.places_gathering import PlacesAsk, settle_months
    from cubital.workspace.snapshots import open_snapshot, snapshot_words

    span = settle_months(workspace, PlacesAsk(from_month=ask.from_month, to_month=ask.to_month))
    months = _months(span.from_month or "", span.to_month or "")
    charter = current_charter(workspace)
    place = find_place(workspace, facility=ask.facility, unit=ask.unit)
    with open_snapshot(workspace) as session:
        scope = place.scope(from_month=months[0], to_month=months[-1])
        cells = count_cells(session, charter.charter, by=(Dimension.HOUR,), scope=scope)
    hours = cells.keys[Dimension.HOUR]
    inside = [ask.hours is not None and hour is not None and covers(ask.hours, hour) for hour in hours]
    sets = int(cells.denominator.sum())
    if not sets:
        raise RequestProblem(_("no set was counted there in these months."), fix=_("Choose another place or span."))
    return CountedDraws(
        ask=ask, place=place.name, months=months, sets=sets, contaminated=int(cells.numerator.sum()),
        hour_sets=int(cells.denominator[inside].sum()) if ask.hours else None,
        hour_contaminated=int(cells.numerator[inside].sum()) if ask.hours else None,
        untimed=sum(int(n) for n, hour in zip(cells.denominator, hours, strict=True) if hour is None),
        definition=charter.fingerprint, data=snapshot_words(workspace),
    )  # fmt: skip


def _months(first: str, last: str) -> tuple[str, ...]:
    """Every month from the first to the last."""
    found = [first]
    while found[-1] < last:
        found.append(next_month(found[-1]))
    return tuple(found)


def covers(hours: tuple[int, int], hour: int) -> bool:
    """Whether an hour of the day (0 to 23) lies in the stretch, which may run over midnight."""
    first, after = hours
    return first <= hour < after if first < after else hour >= first or hour < after


def with_counted(table: CostTable, counted: CountedDraws) -> CostTable:
    """The table with the counted draws in place of any given ones; a year's worth of sets, shares with their range."""
    taken = {SETS, RATE, *((COVERED, COVERED_RATE) if counted.hour_sets is not None else ())}
    kept = tuple(one for one in table.inputs if one.key not in taken)
    return replace(table, inputs=(*_counted_inputs(counted), *kept))


def _counted_inputs(counted: CountedDraws) -> tuple[CostInput, ...]:
    source = _("counted here: {place}, {first} to {last}, {data}").format(
        place=counted.place, first=month_words(counted.months[0], with_year=True),
        last=month_words(counted.months[-1], with_year=True), data=counted.data,
    )  # fmt: skip
    a_year = round(counted.sets * 12 / len(counted.months))
    found = [
        CostInput(key=SETS, low=a_year, likely=a_year, high=a_year, unit=_("sets"), kind=InputKind.COUNT,
                  origin=Origin.LOCAL, source=source, shape=RangeShape.FIXED),
        _share(RATE, counted.contaminated, counted.sets, source),
    ]  # fmt: skip
    if counted.hour_sets is not None and counted.hour_contaminated is not None:
        found.append(_share(COVERED, counted.hour_sets, counted.sets, source))
        found.append(_share(COVERED_RATE, counted.hour_contaminated, counted.hour_sets, source))
    return tuple(found)


def _share(key: str, part: int, whole: int, source: str) -> CostInput:
    if not whole:
        return CostInput(key=key, low=0, likely=0, high=0, kind=InputKind.SHARE, origin=Origin.LOCAL, source=source,
                         shape=RangeShape.FIXED)  # fmt: skip
    interval, value = wilson_interval(part, whole), part / whole
    return CostInput(
        key=key, low=min(interval.low, value), likely=value, high=max(interval.high, value), kind=InputKind.SHARE,
        origin=Origin.LOCAL, source=source,
    )  # fmt: skip


def let_counts_leave(workspace: Workspace, *, counted: CountedDraws) -> None:
    """Makes sure that the counts behind a file for others may leave; ``RequestProblem`` where one is too small.

    What leaves is kept in mind. Errors as for ``let_leave``.
    """
    from cubital.indicators.disclosure.unit_months import Span, build_unit_table, only_measures
    from cubital.judge.counts import Scope
    from cubital.workspace.asked_places import find_place
    from cubital.workspace.charters import current_charter
    from cubital.workspace.guarding import let_leave
    from cubital.workspace.snapshots import open_snapshot
    from cubital.workspace.unit_counts import count_unit_months, unit_months

    charter, months = current_charter(workspace), counted.months
    name = months[0] if len(months) == 1 else f"{months[0]}..{months[-1]}"
    with open_snapshot(workspace) as session:
        scope = Scope(from_month=months[0], to_month=months[-1], facility=counted.ask.facility)
        rows = unit_months(count_unit_months(session, charter, scope=scope))
    spans = (Span(name=name, months=months),) if len(months) > 1 else ()
    table = build_unit_table(
        only_measures(rows, ("contaminated",)), definition=charter.fingerprint, months=months, spans=spans
    )
    place = find_place(workspace, facility=counted.ask.facility, unit=counted.ask.unit)
    own = next(
        cell for cell in table.counts
        if isinstance(cell, CountKey) and cell[2:5] == (place.facility or "", place.unit, name)
    )  # fmt: skip
    whole, asked = _with_hours(table, own, counted)
    leaving = let_leave(workspace, table=whole, asked=asked, face=FACE, about=f"{counted.place}, {name}")
    if not all(leaving.may_show(cell) for cell in asked):
        raise RequestProblem(
            _("the contaminated sets behind this are a small count, or would give one away, so the file cannot leave."),
            fix=_("Take a longer span, the whole hospital, or no hours; or give the draws yourself in the table."),
        )


def _with_hours(table: CountTable, own: CountKey, counted: CountedDraws) -> tuple[CountTable, tuple[CountKey, ...]]:
    """The table with the hours inside and outside as parts of the place's count, and the cells that are shown."""
    inside, sets = counted.hour_contaminated, counted.hour_sets
    if inside is None or sets is None or counted.ask.hours is None:
        return table, (own,)
    hours = "-".join(str(hour) for hour in counted.ask.hours)
    within = own._replace(measure=f"contaminated in hours {hours}", value=inside)
    without = own._replace(measure=f"contaminated outside hours {hours}", value=own.value - inside)
    parts = CountTable(
        counts={own: own.value, within: inside, without: own.value - inside},
        sums=(Sum(total=own, parts=(within, without)),),
        most={within: sets, without: max(own.value - inside, counted.sets - sets)},
    )
    return table.joined(parts), (own, within)
