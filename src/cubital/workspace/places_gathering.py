"""Gathers counts by place, role, hour and so on from the snapshot, with all that the answers need beside them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from cubital.answers.month_text import month_before
from cubital.answers.place_words import ORDERED, By, by_words, value_words
from cubital.answers.places_reading import PlaceCount, PlacesPolicy, Widening
from cubital.domain.answer import Figure, Receipt
from cubital.domain.cultures import AgeGroup, Method
from cubital.domain.errors import RequestProblem
from cubital.domain.policy import Policy
from cubital.domain.words import _, month_words
from cubital.engine import QuerySession
from cubital.judge.cells import CellCounts, Dimension, count_cells
from cubital.judge.counts import Scope
from cubital.workspace.asked_places import AskedPlace, find_place
from cubital.workspace.charters import current_charter
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.places import list_places
from cubital.workspace.places_company import company_figures
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.staff import WhoDrew, who_drew
from cubital.workspace.units import list_units

USUAL_MONTHS = 12
MOSTLY = 0.5  # a place is one person's where its only known collector drew at least this share of it
STRATA = (Dimension.AGE_GROUP, Dimension.METHOD, Dimension.HOUR)
_SHIFTS = ((7, "07-15"), (15, "15-23"), (23, "23-07"))
_NOWHERE = {"", None, AgeGroup.UNKNOWN.value, Method.UNKNOWN.value}
PLACE_DIMENSIONS: dict[By, tuple[Dimension, ...]] = {
    By.UNIT: (Dimension.FACILITY, Dimension.UNIT),
    By.FACILITY: (Dimension.FACILITY,),
    By.HOUR: (Dimension.HOUR,),
    By.WEEKDAY: (Dimension.WEEKDAY,),
    By.SITE: (Dimension.SITE,),
    By.METHOD: (Dimension.METHOD,),
    By.AGE_GROUP: (Dimension.AGE_GROUP,),
}
_SAMPLES = frozenset({By.UNIT, By.FACILITY})  # places that usually differ a little; hours and ages are no sample
Keys = tuple[Any, ...]
Placed = Callable[[dict[Dimension, Any]], tuple[Keys | None, str | None]]


@dataclass(frozen=True, kw_only=True)
class PlacesAsk:
    """What is compared, where, and over which months (``YYYY-MM``, both ends inclusive; none takes the last twelve)."""

    by: By = By.UNIT
    facility: str | None = None
    unit: str | None = None
    from_month: str | None = None
    to_month: str | None = None
    widening: Widening = "additive"


@dataclass(frozen=True, kw_only=True)
class PlacesMaterial:
    """What an answer about places is made of. ``unplaced`` are (contaminated, sets) that name no place.

    ``names`` of places that are asked about but drew nothing stand in ``empty``. ``keys`` gives for every place the
    values of its dimensions, to find its sets again.
    """

    ask: PlacesAsk
    counts: tuple[PlaceCount, ...]
    keys: dict[str, Keys]
    unplaced: tuple[int, int]
    empty: tuple[str, ...]
    heading: str
    ordered: bool
    company: tuple[Figure, ...]
    renames: tuple[str, ...]
    policy: PlacesPolicy
    local: Policy
    receipt: Receipt


@dataclass
class Tally:
    """Counts of one place while they are added up."""

    sets: int = 0
    contaminated: int = 0
    known: int = 0
    people: set[str] = field(default_factory=set)
    strata: dict[Hashable, tuple[int, int]] = field(default_factory=lambda: defaultdict(lambda: (0, 0)))

    def add(self, sets: int, contaminated: int) -> None:
        self.sets += sets
        self.contaminated += contaminated

    @property
    def collectors(self) -> int | None:
        """How many people drew here, none where too few sets say it."""
        return len(self.people) if self.people and self.known >= MOSTLY * self.sets else None


def policy_places(policy: Policy, widening: Widening = "additive") -> PlacesPolicy:
    """Target, minimum of sets and share of false alarms of a local policy; what it does not hold is Cubital's own."""
    held = {value.key: value.value for value in policy.values}
    default = PlacesPolicy()
    return PlacesPolicy(
        target=held.get("contamination_target", default.target),
        min_sets=int(held.get("place_min_sets", default.min_sets)),
        false_share=held.get("signal_false_share", default.false_share),
        widening=widening,
    )


def settle_months(workspace: Workspace, ask: PlacesAsk) -> PlacesAsk:
    """The ask with both months filled in; ``RequestProblem`` where there are none or they are the wrong way round."""
    months = list_places(workspace).months
    if not months:
        raise RequestProblem(_("no file has been taken in yet."), fix=_("Take a laboratory file in first."))
    last = ask.to_month or months[-1]
    first = ask.from_month or max(months[0], month_before(last, USUAL_MONTHS - 1))
    if first > last:
        raise RequestProblem(_("the first month is after the last."), fix=_("Turn them round."))
    return replace(ask, from_month=first, to_month=last)


def gather_places(workspace: Workspace, ask: PlacesAsk, *, strata: bool = False) -> PlacesMaterial:
    """Counts of every place of ``ask``; with ``strata`` split by age group, method and shift.

    ``RequestProblem`` where nothing was taken in, a place is unknown, or roles are asked for and nobody is known.
    """
    ask = settle_months(workspace, ask)
    version, policy = current_charter(workspace), current_policy(workspace)
    with open_snapshot(workspace) as session:
        place = find_place(workspace, facility=ask.facility, unit=ask.unit)
        scope = place.scope(from_month=ask.from_month, to_month=ask.to_month)
        company = company_figures(session, version.charter, scope=scope, policy=policy)
        cells = count_cells(session, version.charter, by=place_columns(ask.by), scope=scope, judge=False)
        place_of = _role_of(workspace, cells) if ask.by is By.ROLE else value_of(ask.by)
        tallies, unplaced = tally_cells(cells, place_of)
        if strata:
            split = count_cells(
                session, version.charter, by=strata_columns(ask.by), scope=scope, judge=False,
                together=hours_together(ask.by),
            )  # fmt: skip
            add_strata(tallies, split, place_of)
        names = _names(session, ask.by, tallies)
    counts = place_counts(tallies, names, ask.by)
    return PlacesMaterial(
        ask=ask, counts=counts, keys={key_text(key): key for key in tallies}, unplaced=unplaced,
        empty=_empty(workspace, ask, tallies), heading=by_words(ask.by), ordered=ask.by in ORDERED, company=company,
        renames=_renames(place, ask),
        policy=policy_places(policy, ask.widening if ask.by in _SAMPLES else "none"), local=policy,
        receipt=receipt_of(snapshot_words(workspace), version, policy),
    )  # fmt: skip


def key_text(key: Keys) -> str:
    """One text for the values of a place."""
    return "\u241f".join(str(one) for one in key)


def shift_of(hour: int | None) -> str:
    """The eight hours that an hour belongs to; a set without a clock is a stratum of its own."""
    if hour is None:
        return "?"
    return next((name for start, name in reversed(_SHIFTS) if hour >= start), _SHIFTS[-1][1])


def hours_together(by: By) -> dict[Dimension, dict[int, int]]:
    """Hours of one shift are counted together, at the first of them, where hours are not what is compared."""
    if by is By.HOUR:
        return {}
    first = {shift_of(hour): hour for hour in reversed(range(24))}
    return {Dimension.HOUR: {hour: first[shift_of(hour)] for hour in range(24)}}


def place_columns(by: By) -> tuple[Dimension, ...]:
    """The dimensions that a comparison needs counted: what makes a place, and who drew there."""
    if by is By.ROLE:
        return Dimension.FACILITY, Dimension.COLLECTOR, Dimension.ATTRIBUTION, Dimension.DAY
    return *PLACE_DIMENSIONS[by], Dimension.COLLECTOR


def strata_columns(by: By) -> tuple[Dimension, ...]:
    """The dimensions of a comparison within strata; nobody's name is needed where it does not make the place."""
    return tuple(dict.fromkeys((*(place_columns(by) if by is By.ROLE else PLACE_DIMENSIONS[by]), *STRATA)))


def tally_cells(cells: CellCounts, place_of: Placed) -> tuple[dict[Keys, Tally], tuple[int, int]]:
    """The counts of every place, and those of sets that name none."""
    found: dict[Keys, Tally] = defaultdict(Tally)
    nowhere = Tally()
    for row, sets, contaminated in _rows(cells):
        key, person = place_of(row)
        tally = nowhere if key is None else found[key]
        tally.add(sets, contaminated)
        if person is not None:
            tally.known += sets
            tally.people.add(person)
    return found, (nowhere.contaminated, nowhere.sets)


def add_strata(tallies: Mapping[Keys, Tally], cells: CellCounts, place_of: Placed) -> None:
    """The counts of every place by age group, method and shift; cells of ``strata_columns``, hours as they come."""
    for row, sets, contaminated in _rows(cells):
        key, _person = place_of(row)
        if key is not None:
            strata = tallies[key].strata
            stratum = (row[Dimension.AGE_GROUP], row[Dimension.METHOD], shift_of(row[Dimension.HOUR]))
            before = strata[stratum]
            strata[stratum] = (before[0] + contaminated, before[1] + sets)


def value_of(by: By) -> Placed:
    """The place and the collector of a cell, by a dimension of the sets themselves."""
    dimensions = PLACE_DIMENSIONS[by]

    def place_of(row: dict[Dimension, Any]) -> tuple[Keys | None, str | None]:
        key = tuple(row[dimension] for dimension in dimensions)
        return (None if key[-1] in _NOWHERE else key), row.get(Dimension.COLLECTOR)

    return place_of


def _role_of(workspace: Workspace, cells: CellCounts) -> Placed:
    """The role that a person had on the day; nobody's sets are nobody's role either."""
    wanted = (Dimension.FACILITY, Dimension.COLLECTOR, Dimension.ATTRIBUTION)
    who: WhoDrew = who_drew(workspace, zip(*(cells.keys[one] for one in wanted), strict=True))
    if not any(who.stays.values()):
        raise RequestProblem(
            _("roles are not known: nobody who drew is in the list of people."),
            fix=_("Give the list of people with their roles first, or compare by something else."),
        )

    def place_of(row: dict[Dimension, Any]) -> tuple[Keys | None, str | None]:
        facility, collector, day = row[Dimension.FACILITY], row[Dimension.COLLECTOR], row[Dimension.DAY]
        found = who.person(facility=facility, collector=collector, attribution=row[Dimension.ATTRIBUTION], day=day)
        if found is None:
            return None, None
        stays = (stay for stay in who.stays[facility, collector] if stay.key == found[0] and stay.there_on(day))
        role = next((stay.role for stay in stays if stay.role), "")
        return ((role,) if role else None), found[0]

    return place_of


def _rows(cells: CellCounts) -> Iterator[tuple[dict[Dimension, Any], int, int]]:
    dimensions = tuple(cells.keys)
    columns = zip(*cells.keys.values(), strict=True)
    for values, sets, contaminated in zip(columns, cells.denominator.tolist(), cells.numerator.tolist(), strict=True):
        if sets:
            yield dict(zip(dimensions, values, strict=True)), sets, contaminated


def place_counts(tallies: dict[Keys, Tally], names: dict[Keys, str], by: By) -> tuple[PlaceCount, ...]:
    """The tallies as counts of places, in the order in which they are shown; places without a set are left out."""
    return tuple(_count(key, tally, names[key]) for key, tally in _in_order(tallies, names, by) if tally.sets)


def _count(key: Keys, tally: Tally, name: str) -> PlaceCount:
    return PlaceCount(
        key=key_text(key), name=name, sets=tally.sets, contaminated=tally.contaminated,
        collectors=tally.collectors, strata=dict(tally.strata),
    )  # fmt: skip


def _in_order(tallies: dict[Keys, Tally], names: dict[Keys, str], by: By) -> Iterable[tuple[Keys, Tally]]:
    """Hours, days and ages in their own order; everything else by name, never by share."""
    ages = list(AgeGroup)
    if by is By.AGE_GROUP:
        return sorted(tallies.items(), key=lambda one: ages.index(AgeGroup(one[0][0])))
    if by in ORDERED:
        return sorted(tallies.items())
    return sorted(tallies.items(), key=lambda one: (names[one[0]].casefold(), one[0]))


def _names(session: QuerySession, by: By, tallies: dict[Keys, Tally]) -> dict[Keys, str]:
    """A name for every place; a unit's hospital stands with it where there is more than one hospital."""
    if by is not By.UNIT:
        return {key: value_words(by, key[-1]) for key in tallies}
    named = dict(
        ((facility, key), name)
        for facility, key, name in session.rows("select distinct facility, current_key, unit_name from unit_names")
    )
    several = len({facility for facility, _unit in tallies}) > 1
    found = {}
    for facility, unit in tallies:
        name = named.get((facility, unit)) or unit
        found[facility, unit] = _("{unit}, {facility}").format(unit=name, facility=facility) if several else name
    return found


def _empty(workspace: Workspace, ask: PlacesAsk, tallies: dict[Keys, Tally]) -> tuple[str, ...]:
    """Units that hold sets in other months, but none in these."""
    if ask.by is not By.UNIT or ask.unit is not None:
        return ()
    held = {key for key, tally in tallies.items() if tally.sets}
    return tuple(
        unit.unit_name
        for unit in list_units(workspace)
        if unit.sets and unit.unit_name and (unit.facility, unit.current_key) not in held
        and (ask.facility is None or unit.facility == ask.facility)
    )  # fmt: skip


def _renames(place: AskedPlace, ask: PlacesAsk) -> tuple[str, ...]:
    """Renames within the months looked at, in words."""
    from cubital.workspace.month_surroundings import rename_marks

    return tuple(
        _("{old} is called {new} since {month}; both are counted as one place.").format(
            old=mark.old, new=mark.new, month=month_words(f"{mark.on:%Y-%m}", with_year=True)
        )
        for mark in rename_marks(place)
        if ask.by is By.UNIT and (ask.from_month or "") <= f"{mark.on:%Y-%m}" <= (ask.to_month or "9999-12")
    )


def split_by_month(
    workspace: Workspace, ask: PlacesAsk, *, by: tuple[Dimension, ...]
) -> tuple[CellCounts, Scope, Receipt, PlacesPolicy]:
    """Raw cells over the months of ``ask`` for answers that compare one time with another."""
    version, policy = current_charter(workspace), current_policy(workspace)
    with open_snapshot(workspace) as session:
        place = find_place(workspace, facility=ask.facility, unit=None)
        scope = place.scope(from_month=ask.from_month, to_month=ask.to_month)
        cells = count_cells(session, version.charter, by=by, scope=scope)
    return cells, scope, receipt_of(snapshot_words(workspace), version, policy), policy_places(policy, ask.widening)
