"""The counts of a pack as the guard takes them: months, units, hours and company in one table, with every sum."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from cubital.answers.span_words import span_name
from cubital.indicators.disclosure.tables import Cell, CountTable, Sum
from cubital.indicators.disclosure.unit_months import (
    NETWORK,
    CountKey,
    Span,
    UnitMonth,
    build_unit_table,
    only_measures,
)
from cubital.workspace.pack_gathering import PackMaterial, UnitSpan
from cubital.workspace.unit_counts import unit_months

RATE = "contaminated"
ALONE, ONE_BOTTLE = "sets without a partner", "sets with a bottle missing"
BESIDE = ("undecided", "other_growth")
_CHART_WEIGHT = 100.0
_HOUR_WEIGHT = 3.0  # an hour hidden costs less than a unit's hospital and more than a month of a unit


@dataclass(frozen=True, kw_only=True)
class PackCells:
    """The table, and which of its cells a pack would like to show. ``key`` finds a cell by what it counts."""

    table: CountTable
    asked: tuple[CountKey, ...]
    months: tuple[CountKey, ...]
    span: str

    def find(self, measure: str, facility: str, unit: str | None, span: str) -> CountKey | None:
        """The asked cell of that measure, place and span; none where there is none."""
        return self._index().get((measure, facility, unit, span))

    def _index(self) -> Mapping[tuple[str, str, str | None, str], CountKey]:
        return {(cell.measure, cell.facility, cell.unit, cell.span): cell for cell in self.asked}


def hour_measure(part: int | None) -> str:
    """What the cells of a part of the day are called."""
    return f"{RATE}, hour not known" if part is None else f"{RATE}, drawn from {part:02d} h"


def build_pack_cells(material: PackMaterial) -> PackCells:
    """Contaminated sets by month and span, units within hospitals; hours, single sets, bottles and growth by span."""
    name = span_name(material.ask.from_month, material.ask.to_month)
    definition = material.charter.fingerprint
    months = tuple(one.month for one in material.history)
    spans = () if len(material.ask.months) == 1 else (Span(name=name, months=material.ask.months),)
    rates = build_unit_table(
        only_measures(unit_months(material.unit_months), (RATE,)), definition=definition, months=months, spans=spans
    )
    beside = build_unit_table(
        [_span_row(unit, name) for unit in material.units], definition=definition, months=(name,), spans=()
    )
    table = _for_the_chart(_with_hours(rates.joined(beside), material, definition=definition, span=name), material)
    asked = tuple(cell for cell in table.counts if isinstance(cell, CountKey) and _is_asked(cell, material, name))
    own = _own(material)
    history = sorted(
        (cell for cell in asked if cell.measure == RATE and (cell.facility, cell.unit) == own and cell.span in months),
        key=lambda cell: cell.span,
    )
    return PackCells(table=table, asked=asked, months=tuple(history), span=name)


def _for_the_chart(table: CountTable, material: PackMaterial) -> CountTable:
    """The same table with the place's own months and span dear to hide: one of them hidden costs the whole chart."""
    weights = {
        cell: weight * (_CHART_WEIGHT if isinstance(cell, CountKey) and _in_chart(cell, material) else 1.0)
        for cell, weight in table.weights.items()
    }
    return replace(table, weights=weights)


def _in_chart(cell: CountKey, material: PackMaterial) -> bool:
    return cell.measure == RATE and (cell.facility, cell.unit) == _own(material)


def _own(material: PackMaterial) -> tuple[str, str | None]:
    """The place itself; a network of one hospital is that hospital."""
    return material.place.facility or NETWORK, None


def _span_row(unit: UnitSpan, name: str) -> UnitMonth:
    counted = unit_months([unit.counts])[0]
    alone, missing = unit.counts.solitary or 0, unit.process.bottle_measurable - unit.process.bottle_complete
    paired = unit.counts.sets - (unit.counts.unpairable or 0)
    return UnitMonth(
        facility=counted.facility, unit=counted.unit, month=name,
        counts={
            **{measure: counted.counts[measure] for measure in BESIDE}, ALONE: alone, ONE_BOTTLE: missing,
        },
        most={
            **{measure: counted.most[measure] for measure in BESIDE}, ALONE: max(alone, paired),
            ONE_BOTTLE: unit.process.bottle_measurable,
        },
    )  # fmt: skip


def _is_asked(cell: CountKey, material: PackMaterial, span: str) -> bool:
    """The place's months and everything of the span that the pack prints; units' months are not printed."""
    own = (cell.facility, cell.unit) == _own(material)
    if cell.span != span:
        return own and cell.measure == RATE
    if cell.measure in (RATE, ALONE, ONE_BOTTLE):
        return own or cell.unit is not None
    return own


def _with_hours(table: CountTable, material: PackMaterial, *, definition: str, span: str) -> CountTable:
    """The table with the parts of the day: they add up to the hospital's count and the network's."""
    counts, most, weights, sums = dict(table.counts), dict(table.most), dict(table.weights), list(table.sums)
    parts = sorted({part for _facility, part in material.hours}, key=lambda part: -1 if part is None else part)
    facilities = sorted({facility for facility, _part in material.hours})
    held: dict[tuple[str, int | None], CountKey] = {}
    for facility in facilities:
        for part in parts:
            events, sets = material.hours.get((facility, part), (0, 0))
            key = CountKey(hour_measure(part), definition, facility, None, span, events)
            counts[key], most[key], weights[key] = events, sets, _HOUR_WEIGHT
            held[facility, part] = key
        sums += _hour_sum(counts, definition, facility, span, [held[facility, part] for part in parts])
    if len(facilities) > 1:
        for part in parts:
            pieces = [held[facility, part] for facility in facilities]
            key = CountKey(hour_measure(part), definition, NETWORK, None, span, sum(counts[one] for one in pieces))
            counts[key], most[key] = key.value, sum(most[one] for one in pieces)
            weights[key] = 10 * _HOUR_WEIGHT
            held[NETWORK, part] = key
            sums.append(Sum(total=key, parts=tuple(pieces)))
        sums += _hour_sum(counts, definition, NETWORK, span, [held[NETWORK, part] for part in parts])
    return CountTable(counts=counts, sums=tuple(sums), most=most, weights=weights)


def _hour_sum(
    counts: Mapping[Cell, int], definition: str, facility: str, span: str, parts: Iterable[CountKey]
) -> list[Sum]:
    """The sum of the parts of the day, where the whole is in the table and they come to it."""
    pieces = tuple(parts)
    whole = CountKey(RATE, definition, facility, None, span, sum(one.value for one in pieces))
    return [Sum(total=whole, parts=pieces)] if whole in counts else []
