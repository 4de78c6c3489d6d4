"""Random worlds and random charters for the judge's laws."""

from __future__ import annotations

from datetime import datetime, timedelta

from hypothesis import strategies as st

from cubital.domain.charter import (
    Charter,
    Denominator,
    DifferentCommensals,
    FollowUp,
    LineSets,
    MixedGrowth,
    Population,
    Rule,
    SameCommensal,
    SolitaryCommensal,
    UnitOfCount,
    Window,
)
from cubital.domain.cultures import AgeGroup, Bottle, BottleKind, CultureSet, Method, SetStatus, TimeQuality
from judge_worlds import World, make_isolate, make_set

# Midnight of a local day shortly before the end of a month; the engine's times carry no zone.
FIRST = datetime(2026, 2, 27, 6)  # noqa: DTZ001
LOCAL = timedelta(hours=-6)
# Hours that meet the edges of windows: 24 apart, one more than 24, across midnight, days and two weeks later.
HOURS = (0, 0, 0.25, 5, 17.75, 18, 24, 24.25, 42, 48, 66, 90, 24 * 10, 24 * 14, 24 * 15, 24 * 16)
KEYS = (
    "staphylococcus-epidermidis", "staphylococcus-hominis", "staphylococcus", "staphylococcus-coagulase-negative",
    "corynebacterium", "streptococcus-viridans-group", "escherichia-coli", "staphylococcus-aureus", "?",
    "staphylococcus-epidermidis~significant", "staphylococcus-hominis~contaminant", "escherichia-coli~contaminant",
)  # fmt: skip
UNITS = {("Marrowby General", "5 west"): ("5w", "5w"), ("Thistlecombe Community", "ed"): ("a&e", "a&e")}

_growth = st.lists(st.tuples(st.sampled_from(KEYS), st.sampled_from([False] * 7 + [True])), max_size=2)
_rows = st.tuples(
    st.sampled_from(HOURS),
    st.sampled_from((1, 1, 1, 2, None)),  # patient
    st.sampled_from(("Marrowby General", "Marrowby General", "Thistlecombe Community")),
    st.sampled_from(("ed", "5 west", "5w", "a&e")),
    st.sampled_from((AgeGroup.FROM_18_TO_64, AgeGroup.FROM_18_TO_64, AgeGroup.UNDER_1, AgeGroup.UNKNOWN)),
    st.sampled_from((Method.VENEPUNCTURE, Method.VENEPUNCTURE, Method.CENTRAL_LINE, Method.ARTERIAL)),
    st.sampled_from((*[SetStatus.FINAL] * 5, SetStatus.PRELIMINARY, SetStatus.CANCELLED, SetStatus.REJECTED)),
    st.sampled_from((*[TimeQuality.EXACT] * 5, TimeQuality.DATE_ONLY, TimeQuality.MISSING, TimeQuality.AFTER_RECEIPT)),
    _growth,
    st.sampled_from((None, True, False)),  # what the file says of the first bottle
)


@st.composite
def worlds(draw: st.DrawFn) -> World:
    """Up to nine sets of a few patients at two hospitals around the end of a month."""
    rows = draw(st.lists(_rows, min_size=1, max_size=9))
    numbered = [(100 - number, row) for number, row in enumerate(rows)]  # numbers run against time on purpose
    sets = tuple(_set(number, row) for number, row in numbered)
    isolates = tuple(make_isolate(number, key, negated=negated) for number, row in numbered for key, negated in row[8])
    bottles = tuple(
        Bottle(set_id=number, bottle=place, kind=kind, grew=row[9] if place == 1 else bool(row[8]) or None)
        for number, row in numbered
        for place, kind in ((1, BottleKind.AEROBIC), (2, BottleKind.ANAEROBIC))
    )
    return World(sets, isolates, bottles, UNITS)


def _set(number: int, row: tuple[object, ...]) -> CultureSet:
    hours, patient, facility, unit, age, method, status, quality, _growth, _bottle = row
    at = FIRST + timedelta(hours=float(str(hours)))
    day = (at + LOCAL).date()
    missing = quality is TimeQuality.MISSING
    undated = missing and unit != "ed"  # elsewhere the day of receipt stands in
    hourless = missing or quality is TimeQuality.DATE_ONLY
    return make_set(
        number,
        None if hourless else at,
        collected_local=None if hourless else at + LOCAL,
        patient_key=patient,
        facility=facility,
        unit_key=unit,
        age_group=age,
        method=method,
        status=status,
        time_quality=quality,
        day=None if undated else day,
        month="undated" if undated else f"{day:%Y-%m}",
    )


def charters() -> st.SearchStrategy[Charter]:
    """Every option of a charter, in any company."""
    return st.builds(
        Charter,
        key=st.just("random"),
        name=st.just("random"),
        unit_of_count=st.sampled_from(UnitOfCount),
        rule=st.sampled_from((Rule.ONE_OF_SEVERAL, Rule.ONE_OF_SEVERAL, Rule.ANY_COMMENSAL)),
        window=st.sampled_from(Window),
        window_hours=st.sampled_from((1, 18, 24, 48)),
        commensal_list=st.sampled_from(("short", "ecdc", "surveillance_2020")),
        same_commensal=st.sampled_from(SameCommensal),
        different_commensals=st.sampled_from(DifferentCommensals),
        solitary_commensal=st.sampled_from(SolitaryCommensal),
        mixed_growth=st.sampled_from(MixedGrowth),
        population=st.sampled_from(Population),
        line_sets=st.sampled_from(LineSets),
        follow_up=st.sampled_from(FollowUp),
        follow_up_days=st.sampled_from((1, 14, 15)),
        denominator=st.sampled_from(Denominator),
        excluded_units=st.sampled_from(((), (), ("5w",), ("5 west", "ed"))),
    )


def chains() -> st.SearchStrategy[World]:
    """One patient with many sets, a few hours apart: series that begin before the window of a set reaches."""
    draws = st.lists(
        st.tuples(st.integers(0, 30), st.sampled_from((*[""] * 5, KEYS[0], "corynebacterium"))), max_size=14
    )
    return draws.map(_chain)


def _chain(draws: list[tuple[int, str]]) -> World:
    sets = tuple(make_set(number, FIRST + timedelta(hours=6 * at)) for number, (at, _key) in enumerate(draws, start=1))
    grown = tuple(make_isolate(number, key) for number, (_at, key) in enumerate(draws, start=1) if key)
    return World(sets, grown)
