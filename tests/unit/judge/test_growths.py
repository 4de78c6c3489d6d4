"""What grew by day and unit: once per set, once per patient, nothing denied, units under today's name."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cubital.domain.cultures import SetStatus
from cubital.engine import open_session
from cubital.judge.growths import count_drawn_days, count_growths, dated_span
from judge_worlds import World, fill_session, make_isolate, make_set

FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)


def found(world, ask=count_growths):
    with open_session(threads=1) as session:
        fill_session(session, world)
        return ask(session, first=FIRST, last=LAST)


def grown(world):
    return [(one.day.day, one.organism, one.sets) for one in found(world)]


def test_two_bottles_of_one_set_are_one_growth():
    bottles = tuple(replace(make_isolate(1, "bacillus"), bottle=bottle) for bottle in (1, 2))
    assert grown(World((make_set(1, "2026-03-02 10:00"),), bottles)) == [(2, "bacillus", 1)]


def test_further_sets_of_one_patient_are_not_a_cluster():
    sets = tuple(make_set(n, f"2026-03-0{n} 10:00", patient_key=7) for n in (1, 2, 3))
    assert grown(World(sets, tuple(make_isolate(n, "bacillus") for n in (1, 2, 3)))) == [(1, "bacillus", 1)]


def test_the_same_patient_months_later_counts_again():
    sets = (make_set(1, "2026-03-01 10:00", patient_key=7), make_set(2, "2026-06-02 10:00", patient_key=7))
    assert len(grown(World(sets, (make_isolate(1, "bacillus"), make_isolate(2, "bacillus"))))) == 2


def test_sets_without_a_patient_count_each():
    sets = tuple(make_set(n, f"2026-03-0{n} 10:00", patient_key=None) for n in (1, 2))
    assert len(grown(World(sets, (make_isolate(1, "bacillus"), make_isolate(2, "bacillus"))))) == 2


def test_what_was_denied_or_rejected_did_not_grow():
    sets = (make_set(1, "2026-03-01 10:00"), make_set(2, "2026-03-02 10:00", status=SetStatus.REJECTED))
    world = World(sets, (make_isolate(1, "bacillus", negated=True), make_isolate(2, "bacillus")))
    assert grown(world) == []
    assert [day.sets for day in found(world, count_drawn_days)] == [1]


def test_no_dated_set_has_no_span():
    with open_session(threads=1) as session:
        fill_session(session, World(()))
        assert dated_span(session) is None
