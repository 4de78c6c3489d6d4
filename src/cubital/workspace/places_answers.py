"""Answers about places: who stands out, with the mix allowed for, after a visit, and after a merger."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import cubital
from cubital.answers.merged_history import build_merged_answer
from cubital.answers.merged_reading import MergedCounts, MonthStratum, Pair, read_merged
from cubital.answers.month_text import month_before, next_month
from cubital.answers.places import PlacesSetting, build_places_answer, unique_names
from cubital.answers.places_reading import PlaceCount, PlacesPolicy, read_places
from cubital.answers.places_table import PlacesTable, parse_places, parse_places_text
from cubital.answers.standardised import build_standardised_answer
from cubital.answers.standardised_reading import StandardisedReading, read_standardised
from cubital.answers.visit import build_visit_answer
from cubital.answers.visit_reading import read_visit
from cubital.domain.answer import Answer, Figure, Receipt
from cubital.domain.charter import Charter
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.indicators.disclosure.tables import Cell, CountTable, SmallCounts, Sum
from cubital.judge.api import count_rates
from cubital.judge.cells import CellCounts, Dimension
from cubital.judge.counts import Scope
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import current_charter, list_charters
from cubital.workspace.diary_marking import marked
from cubital.workspace.guarding import guard_page, small_counts
from cubital.workspace.opening import Workspace
from cubital.workspace.places_gathering import (
    STRATA,
    PlacesAsk,
    PlacesMaterial,
    gather_places,
    key_text,
    settle_months,
    shift_of,
    split_by_month,
)
from cubital.workspace.snapshots import open_snapshot

_TOTAL = "total"


@dataclass(frozen=True, kw_only=True)
class PlacesFound:
    """An answer, and what it was made of."""

    answer: Answer
    material: PlacesMaterial


def places_answer(workspace: Workspace, ask: PlacesAsk, *, guarded: bool = True, standard: bool = False) -> PlacesFound:
    """Which place really differs, over the months asked.

    ``guarded`` hides small counts by the policy in force; ``standard`` allows for age group, method and shift. Errors
    as for ``gather_places``, and ``PolicyProblem`` where small counts shall be hidden and no policy says which.
    """
    material = gather_places(workspace, ask, strata=standard)
    counts = _named(material.counts)
    if standard:
        reading = read_standardised(counts, policy=material.policy)
        setting = _setting(workspace, material, _compared(reading) if guarded else None)
        answer = build_standardised_answer(reading, setting=setting, by=mix_words(), receipt=material.receipt)
    else:
        setting = _setting(workspace, material, counts if guarded else None)
        compared = read_places(counts, policy=material.policy)
        answer = build_places_answer(compared, setting=setting, receipt=material.receipt)
    return PlacesFound(answer=replace(answer, cautions=(*answer.cautions, *material.renames)), material=material)


def counts_answer(source: Path | str, *, policy: PlacesPolicy | None = None) -> Answer:
    """The same from counts alone: a file or pasted text of place, sets, contaminated. Nothing is stored or hidden."""
    table = _table(source)
    reading = read_places(table.counts, policy=policy or PlacesPolicy())
    receipt = Receipt(
        data=_("counts"), charter=_("as counted by whoever gave them"), policy="", code=cubital.__version__
    )
    return build_places_answer(
        reading, setting=PlacesSetting(heading=_("Place"), empty=table.empty), receipt=receipt
    )  # fmt: skip


def visit_answer(
    workspace: Workspace, *, unit: str, facility: str | None = None, on: str, ask: PlacesAsk | None = None
) -> Answer:
    """A unit before and after a visit in the month ``on``, which counts for neither side.

    Without months asked for, as many on both sides as there are, twelve at most. ``RequestProblem`` where the unit is
    unknown or ``on`` lies outside the months.
    """
    asked = ask or PlacesAsk()
    ask = settle_months(
        workspace, replace(asked, from_month=asked.from_month or month_before(on, 12))
    )  # fmt: skip
    first, last = ask.from_month or on, ask.to_month or on
    if not first < on < last:
        raise RequestProblem(
            _("the visit in {month} has no month before or none after it ({first} to {last}).").format(
                month=on, first=first, last=last
            ),
            fix=_("Choose months on both sides of the visit."),
        )
    place = find_place(workspace, facility=facility, unit=unit)
    by = (Dimension.FACILITY, Dimension.UNIT, Dimension.MONTH)
    cells, _scope, receipt, policy = split_by_month(workspace, replace(ask, facility=None), by=by)
    before, after = (unit_counts(cells, keep=keep) for keep in (lambda m: m < on, lambda m: m > on))
    reading = read_visit(
        before, after, key=key_text((place.facility, place.unit)), policy=policy,
        months=(_months_between(first, month_before(on, 1)), _months_between(next_month(on), last)),
    )  # fmt: skip
    return build_visit_answer(reading, name=place.name, receipt=receipt)


def merged_answer(workspace: Workspace, *, at: str, ask: PlacesAsk | None = None) -> Answer:
    """The histories of all hospitals around ``at``, the first month after their merger, at one charter and one mix.

    What was counted under an earlier signed charter before ``at`` stands in the raw line as it was counted then.
    """
    asked = ask or PlacesAsk()
    ask = settle_months(workspace, replace(asked, from_month=asked.from_month or month_before(at, 24)))
    cells, scope, receipt, _policy = split_by_month(
        workspace, ask, by=(Dimension.FACILITY, Dimension.MONTH, *STRATA)
    )  # fmt: skip
    old = _charter_before(workspace, at)
    own = _own_counts(workspace, old, scope=scope, at=at) if old else {}
    counts = MergedCounts(cells=month_strata(cells), at=at, own=own)
    answer = build_merged_answer(read_merged(counts), by=mix_words(), restated=bool(own), receipt=receipt)
    return marked(workspace, answer, facility=ask.facility, unit=ask.unit)


def mix_words() -> str:
    """What the standardised answers allow for."""
    return _("age group, way of drawing and shift")


def _table(source: Path | str) -> PlacesTable:
    if isinstance(source, str):
        return parse_places_text(source, where=_("pasted counts"))
    from cubital.workspace.small_tables import read_small_table

    table = read_small_table(source)
    if table.text is not None:
        return parse_places_text(table.text, where=table.name)
    return parse_places(table.rows or [], where=table.name)


def _named(counts: Sequence[PlaceCount]) -> list[PlaceCount]:
    names = unique_names([(count.key, count.name) for count in counts])
    return [replace(count, name=names[count.key]) for count in counts]


def _compared(reading: StandardisedReading) -> list[PlaceCount]:
    """The counts that a standardised answer shows: those of the comparable sets where there are any."""
    if not reading.places:
        return list(reading.counts)
    return [
        replace(one.count, sets=one.covered, contaminated=one.observed, strata={})
        for one in reading.places
        if one.covered
    ]


def _setting(
    workspace: Workspace, material: PlacesMaterial, shown_counts: Sequence[PlaceCount] | None
) -> PlacesSetting:
    """What stands around the counts. ``shown_counts`` are what the answer would show, none where nothing is hidden."""
    setting = PlacesSetting(
        heading=material.heading, empty=material.empty, unplaced=material.unplaced, ordered=material.ordered,
        company=material.company,
    )  # fmt: skip
    if shown_counts is None:
        return setting
    limits = small_counts(material.local)
    shown = guard_page(workspace, build_place_table(shown_counts)).shown
    return replace(
        setting, guarded=True, small=(limits.low, limits.high),
        hidden=frozenset(one.key for one in shown_counts if _hides(shown, one.key)),
        hidden_sets=frozenset(one.key for one in shown_counts if shown["sets", one.key] is None),
        hide_total=any(shown[measure, _TOTAL] is None for measure in ("sets", "contaminated")),
        company=tuple(_without_small(one, limits) for one in material.company),
    )  # fmt: skip


def _without_small(figure: Figure, limits: SmallCounts) -> Figure:
    """The figure as it is, or without its value where its count is small."""
    if figure.numerator is None or not limits.low <= figure.numerator <= limits.high:
        return figure
    return replace(
        figure, value=None, low=None, high=None, numerator=None, denominator=None, note=_("hidden: a small count")
    )  # fmt: skip


def _hides(shown: Mapping[Cell, int | None], key: str) -> bool:
    return shown["contaminated", key] is None or shown["sets", key] is None


def build_place_table(counts: Sequence[PlaceCount]) -> CountTable:
    """Sets and contaminated sets of every place with their totals: what a reader can add up and subtract.

    Hiding a large count costs more than hiding a small one, so that shields are small and totals stay.
    """
    table: dict[Cell, int] = {}
    most: dict[Cell, int] = {}
    sums = []
    for measure in ("sets", "contaminated"):
        parts: tuple[Cell, ...] = tuple((measure, count.key) for count in counts)
        table |= {(measure, count.key): getattr(count, measure) for count in counts}
        table[measure, _TOTAL] = sum(table[part] for part in parts)
        sums.append(Sum(total=(measure, _TOTAL), parts=parts))
    for key in (*(count.key for count in counts), _TOTAL):
        most["contaminated", key] = table["sets", key]
    weights: dict[Cell, float] = {cell: 1.0 + count for cell, count in table.items()}
    return CountTable(counts=table, sums=tuple(sums), most=most, weights=weights)


def unit_counts(cells: CellCounts, *, keep: Callable[[str], bool]) -> list[PlaceCount]:
    """Counts of every unit over the months that ``keep`` says, from cells by facility, unit and month."""
    found: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    names: dict[str, str] = {}
    columns = zip(*cells.keys.values(), cells.numerator.tolist(), cells.denominator.tolist(), strict=True)
    for facility, unit, month, contaminated, sets in columns:
        if unit and month != "undated" and keep(month):
            key = key_text((facility, unit))
            names[key] = unit
            found[key][0] += contaminated
            found[key][1] += sets
    return [PlaceCount(key=k, name=names[k], contaminated=x, sets=n) for k, (x, n) in found.items() if n]


def _months_between(first: str, last: str) -> int:
    count, month = 0, first
    while month <= last:
        count, month = count + 1, next_month(month)
    return count


def month_strata(cells: CellCounts) -> tuple[MonthStratum, ...]:
    """Counts of every hospital, month and stratum, from cells by facility, month, age group, method and hour."""
    found: dict[tuple[str, str, tuple[str, str, str]], list[int]] = defaultdict(lambda: [0, 0])
    columns = zip(*cells.keys.values(), cells.numerator.tolist(), cells.denominator.tolist(), strict=True)
    for facility, month, age, method, hour, contaminated, sets in columns:
        if month != "undated":
            pair = found[facility, month, (age, method, shift_of(hour))]
            pair[0] += contaminated
            pair[1] += sets
    return tuple(
        MonthStratum(history=facility, month=month, stratum=stratum, contaminated=x, sets=n)
        for (facility, month, stratum), (x, n) in found.items()
        if n
    )


def _charter_before(workspace: Workspace, at: str) -> Charter | None:
    """The charter that was signed last before ``at``, where another one is in force now."""
    now = current_charter(workspace)
    signed = [
        one
        for one in list_charters(workspace)
        if one.frozen and any(f"{signature.signed_on:%Y-%m}" < at for signature in one.signatures)
    ]
    old = signed[-1] if signed else None
    return old.charter if old and old.fingerprint != now.fingerprint else None


def _own_counts(workspace: Workspace, charter: Charter, *, scope: Scope, at: str) -> dict[str, Pair]:
    with open_snapshot(workspace) as session:
        rows = count_rates(session, charter, scope=scope, by="network")
    return {row.month: (row.numerator, row.denominator) for row in rows if row.month < at}
