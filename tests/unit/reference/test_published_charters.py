"""The shipped definitions: the four of the bench, and the published ones with their sources."""

from __future__ import annotations

from dataclasses import replace

import pytest

from cubital.domain.charter import (
    Denominator,
    MixedGrowth,
    Population,
    Rule,
    SameCommensal,
    SolitaryCommensal,
    UnitOfCount,
    Window,
)
from cubital.reference.charters import BENCH_KEYS, bench_charters, published_charters
from cubital.reference.commensals import commensal_lists


def test_the_bench_comes_first_and_in_order():
    assert tuple(published_charters())[:4] == BENCH_KEYS
    assert [charter.key for charter in bench_charters()] == list(BENCH_KEYS)


def test_bench_definitions_share_list_window_and_population():
    shared = {(c.commensal_list, c.window, c.window_hours, c.population, c.same_commensal) for c in bench_charters()}
    assert shared == {("short", Window.ROLLING_HOURS, 24, Population.EVERYONE, SameCommensal.ADJUDICATE)}


def test_b_is_a_over_another_denominator_and_c_is_a_with_single_sets():
    a, b, c, d = (replace(charter, key="", name="", source="", confidence="") for charter in bench_charters())
    assert b == replace(a, denominator=Denominator.ELIGIBLE_SETS)
    assert c == replace(a, solitary_commensal=SolitaryCommensal.COUNT)
    assert (d.rule, d.denominator) == (Rule.ANY_COMMENSAL, Denominator.ALL_SETS)
    assert a.mixed_growth is MixedGrowth.ADJUDICATE


@pytest.mark.parametrize("key", list(published_charters()))
def test_every_charter_names_source_confidence_and_a_known_list(key):
    charter = published_charters()[key]
    assert charter.key == key
    assert charter.source
    assert charter.confidence
    assert charter.commensal_list in commensal_lists()


# CDC / consensus-based entity measure 3658, endorsed December 2022 (p4qm.org/measures/3658): adults, 24 hours.
def test_the_national_measure_counts_adults_over_both_denominators():
    over_all, eligible = (published_charters()[f"cdc_3658_{name}_sets"] for name in ("all", "eligible"))
    assert {over_all.population, eligible.population} == {Population.ADULTS}
    assert (over_all.denominator, eligible.denominator) == (Denominator.ALL_SETS, Denominator.ELIGIBLE_SETS)
    assert over_all.window_hours == 24


# ECDC PPS protocol 0512-TED: "usually within 48 hours"; Patton 2016: a 48-hour episode.
def test_the_forty_eight_hour_definitions_differ_in_list_and_unit():
    ecdc, episode = published_charters()["ecdc_48h"], published_charters()["episode_48h"]
    assert ecdc.window_hours == episode.window_hours == 48
    assert (ecdc.commensal_list, episode.unit_of_count) == ("ecdc", UnitOfCount.SERIES)


def test_what_is_from_memory_says_so():
    assert "memory" in published_charters()["clsi_m47"].confidence
