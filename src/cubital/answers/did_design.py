"""What a dated change allows to be asked, found before any rate is looked at; and the model that this supports.

The checks come in one order: can it be told apart, did something else change meanwhile, was the place chosen for being
worst, is there time enough on both sides, did the way of counting change, and does the day lie inside the data.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from cubital.answers.did_material import (
    ONCE,
    DidMaterial,
    UnitDays,
    Window,
    add_pairs,
    dates_of,
    is_harmless,
    label_of,
    months_of,
    roll_out_of,
)
from cubital.answers.places_reading import PlaceCount
from cubital.answers.visit_reading import VisitReading, read_visit
from cubital.domain.diary import DiaryEntry

LEAST_DAYS = 56  # eight weeks on either side; four weeks are refused (job map, question 19; eight: common practice)
MOST_DAYS = 365  # a year on either side is compared; older months were another place
LEAST_PEERS = 2
LEAST_POINTS = 8  # months on either side of a segmented series; Penfold RB, Zhang F, Acad Pediatr 2013 (from memory)
STEPPED_UNITS = 3
_DAY = timedelta(days=1)


class Design(StrEnum):
    """What can be done: four refusals, then models from the strongest to mere description."""

    OUTSIDE = "outside"  # the day is not inside the data
    TWIN = "twin"  # something else began there on the same day, and no other unit tells them apart
    CROWDED = "crowded"  # something else changed too soon before or after
    SHORT = "short"  # too few days on a side
    THIN = "thin"  # too few sets on a side
    STEPPED = "stepped"  # the same change began in at least three units on different days
    COMPARED = "compared"  # units without it went through the same months
    SEGMENTED = "segmented"  # no such unit, but a long enough series
    DESCRIBED = "described"  # before and after, and nothing else


REFUSALS = frozenset({Design.OUTSIDE, Design.TWIN, Design.CROWDED, Design.SHORT, Design.THIN})


@dataclass(frozen=True, kw_only=True)
class DidDesign:
    """The design found. ``window`` are the days compared, none outside the data; ``series`` the longer ones between
    any two changes, for a segmented series.

    ``twins`` began at the place on the same day; ``cutting`` end the window on either side, ``shared`` lie inside it
    but reached every unit alike; ``counting`` are those among all of these that change how sets are counted. ``peers``
    are units without any change of their own, ``steps`` the day on which each unit of a roll-out began.
    """

    kind: Design
    window: Window | None
    series: Window | None
    twins: tuple[DiaryEntry, ...] = ()
    cutting: tuple[DiaryEntry, ...] = ()
    shared: tuple[DiaryEntry, ...] = ()
    peers: tuple[UnitDays, ...] = ()
    steps: tuple[tuple[UnitDays, date], ...] = ()
    visit: VisitReading | None = None

    @property
    def counting(self) -> tuple[DiaryEntry, ...]:
        """Changes of how sets are counted, on the day, at an end of the window or inside it."""
        return tuple(one for one in (*self.twins, *self.cutting, *self.shared) if one.kind.changes_counting)

    @property
    def was_worst(self) -> bool:
        """Whether the place had the highest share before."""
        return self.visit is not None and self.visit.was_worst


def read_design(material: DidMaterial) -> DidDesign:
    """The design of ``material``, checks first; nothing is estimated here but the fall that comes by itself."""
    on = material.change.on
    if not material.first < on <= material.last:
        return DidDesign(kind=Design.OUTSIDE, window=None, series=None)
    others = [entry for entry in material.entries if not is_harmless(entry) and _is_other(material, entry)]
    reaching = [entry for entry in others if _reaches(material, entry)]
    own = [entry for entry in reaching if entry.facility is not None]
    window, cutting = _cut(material, own, most=MOST_DAYS)
    series, _more = _cut(material, [entry for entry in reaching if on not in dates_of(entry)], most=None)
    twins = tuple(entry for entry in own if on in dates_of(entry))
    shared = tuple(
        entry for entry in reaching if entry.facility is None and any(window.holds(day) for day in dates_of(entry))
    )
    peers = _peers(material, window)
    if twins or len(peers) < LEAST_PEERS:
        calm, ending = calm_window(material, window)
        with_calm = _peers(material, calm)
        if twins or len(with_calm) >= LEAST_PEERS:
            window, peers, cutting = calm, with_calm, tuple(dict.fromkeys((*cutting, *ending)))
    found = DidDesign(
        kind=Design.DESCRIBED, window=window, series=series, twins=twins, cutting=cutting, shared=shared, peers=peers,
        steps=_steps(material), visit=_visit(material, window),
    )  # fmt: skip
    return DidDesign(**{**vars(found), "kind": _kind(material, found)})


def _is_other(material: DidMaterial, entry: DiaryEntry) -> bool:
    """Whether it is not the change asked about, told again for another place on the same day."""
    return not (label_of(entry) == label_of(material.change) and entry.on == material.change.on)


def _reaches(material: DidMaterial, entry: DiaryEntry) -> bool:
    return any(entry.covers(facility=unit.facility, unit=unit.unit) for unit in material.mine)


def _cut(
    material: DidMaterial, entries: list[DiaryEntry], *, most: int | None
) -> tuple[Window, tuple[DiaryEntry, ...]]:
    """The days between the last other change before and the next one after; and the changes that end it."""
    on = material.change.on
    first = material.first if most is None else max(material.first, on - most * _DAY)
    last = material.last if most is None else min(material.last, on + (most - 1) * _DAY)
    if material.change.until is not None and material.change.kind not in ONCE:
        last = min(last, material.change.until)
    dated = [(day, entry) for entry in entries for day in dates_of(entry)]
    begin = max((day for day, _one in dated if first < day < on), default=first)
    end = min((day - _DAY for day, _one in dated if on < day <= last), default=last)
    cutting = tuple(dict.fromkeys(one for day, one in dated if day == begin > first or day - _DAY == end < last))
    return Window(first=begin, on=on, last=end), cutting


def calm_window(material: DidMaterial, window: Window) -> tuple[Window, tuple[DiaryEntry, ...]]:
    """The days around the change on which nothing of its own began anywhere, so that more units can be compared; and
    what ends them. The window as it is where fewer than eight weeks would be left on a side.
    """
    dated = [
        (day, entry)
        for entry in material.entries
        if entry.facility is not None and not is_harmless(entry)
        for day in dates_of(entry)
        if day != window.on and window.holds(day)
    ]
    first = max((day for day, _one in dated if day < window.on), default=window.first)
    last = min((day - _DAY for day, _one in dated if day > window.on), default=window.last)
    calm = Window(first=first, on=window.on, last=last)
    if min(calm.days_before, calm.days_after) < LEAST_DAYS:
        return window, ()
    ending = (one for day, one in dated if day == first > window.first or day - _DAY == last < window.last)
    return calm, tuple(dict.fromkeys(ending))


def _peers(material: DidMaterial, window: Window) -> tuple[UnitDays, ...]:
    """Units that nothing of their own reached inside the window, with sets enough on both sides."""
    disturbing = [
        entry for entry in (*material.entries, material.change)
        if entry.facility is not None and not is_harmless(entry) and any(window.holds(day) for day in dates_of(entry))
    ]  # fmt: skip
    least = material.policy.min_sets
    return tuple(
        unit
        for unit in material.units
        if unit.key not in material.here
        and not any(entry.covers(facility=unit.facility, unit=unit.unit) for entry in disturbing)
        and unit.before(window)[1] >= least
        and unit.after(window)[1] >= least
    )


def _steps(material: DidMaterial) -> tuple[tuple[UnitDays, date], ...]:
    """Where the same change began in three units or more, not all on one day: each with its day."""
    same = [
        entry for entry in (*material.entries, material.change)
        if roll_out_of(entry) == roll_out_of(material.change) and entry.facility is not None
    ]  # fmt: skip
    found = []
    for unit in material.units:
        days = [entry.on for entry in same if entry.covers(facility=unit.facility, unit=unit.unit)]
        if days and material.first < min(days) <= material.last:
            found.append((unit, min(days)))
    return tuple(found) if len(found) >= STEPPED_UNITS and len({day for _unit, day in found}) > 1 else ()


def _visit(material: DidMaterial, window: Window) -> VisitReading | None:
    """What the place was to fall by itself, where it is one unit among others; from the units' counts before."""
    if len(material.mine) != 1 or len(material.units) <= LEAST_PEERS or not window.days_before or not window.days_after:
        return None
    before, after = (
        [
            PlaceCount(key=unit.key, name=unit.name, sets=n, contaminated=x)
            for unit in material.units
            for x, n in [unit.after(window) if late else unit.before(window)]
            if n
        ]
        for late in (False, True)
    )
    months = (round(window.days_before / 30.4), round(window.days_after / 30.4))
    return read_visit(before, after, key=material.mine[0].key, months=months, policy=material.policy)


def _kind(material: DidMaterial, found: DidDesign) -> Design:
    window = found.window
    if window is None:
        return Design.OUTSIDE
    short = _short_kind(material, window)
    if short is not None:
        return short
    if found.twins:
        return Design.TWIN
    return Design.THIN if min(_sets(material, window)) < material.policy.min_sets else _model_kind(material, found)


def _model_kind(material: DidMaterial, found: DidDesign) -> Design:
    if found.steps:
        return Design.STEPPED
    if len(found.peers) >= LEAST_PEERS:
        return Design.COMPARED
    return Design.SEGMENTED if _long_enough(material, found.series) else Design.DESCRIBED


def _short_kind(material: DidMaterial, window: Window) -> Design | None:
    """Too short by the data themselves, or only because something else changed too near."""
    data = Window(first=material.first, on=window.on, last=material.last)
    if min(data.days_before, data.days_after) < LEAST_DAYS:
        return Design.SHORT
    if min(window.days_before, window.days_after) < LEAST_DAYS:
        return Design.CROWDED
    return None


def _sets(material: DidMaterial, window: Window) -> tuple[int, int]:
    return (
        add_pairs(unit.before(window) for unit in material.mine)[1],
        add_pairs(unit.after(window) for unit in material.mine)[1],
    )


def _long_enough(material: DidMaterial, series: Window | None) -> bool:
    if series is None:
        return False
    months = [one.month for one in months_of(material.mine, first=series.first, last=series.last) if one.sets]
    mark = f"{series.on:%Y-%m}"
    return min(sum(one < mark for one in months), sum(one > mark for one in months)) >= LEAST_POINTS
