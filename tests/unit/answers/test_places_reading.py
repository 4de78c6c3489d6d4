"""Places side by side: published hospitals, equal units that look unequal, and a clean unit that is clean by chance."""

from __future__ import annotations

import csv

import numpy as np
import pytest

from cubital.answers.places_reading import PlaceCount, PlacesPolicy, Side, read_places
from cubital.stats.funnel_limits import funnel_limits

POLICY = PlacesPolicy()


def places_of(pairs):
    return [PlaceCount(key=key, name=key, sets=n, contaminated=x) for key, (x, n) in pairs.items()]


def equal_units(random, *, units=12, sets=120, rate=0.026):
    return places_of({f"u{i:02d}": (int(random.binomial(sets, rate)), sets) for i in range(units)})


def test_twelve_hospitals_stand_where_the_funnel_puts_them(open_data):
    """Spiegelhalter's surgical data: at 99.8 % hospital H lies above the limits around the common .0739."""
    with (open_data("funnel-surgical") / "surgical.csv").open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    name, n, x = (
        next(c for c in rows[0] if c.casefold() in names) for names in ({"hospital", "letter"}, {"n"}, {"r", "deaths"})
    )
    reading = read_places(places_of({row[name]: (int(row[x]), int(row[n])) for row in rows}), policy=POLICY)
    assert round(reading.rate, 4) == 0.0739
    outside = [
        one.count.key
        for one in reading.places
        if one.rate > funnel_limits([one.count.sets], target=reading.rate, level=0.998).high_quantile[0]
    ]
    assert outside == ["H"]


def test_the_worst_of_twelve_equal_units_shows_twice_the_truth():
    """Question 6: twelve equal units of 120 sets at 2.6 %: the worst shows 5.2 % on average; its estimate does not."""
    random = np.random.default_rng(5)
    worst = [max(one.contaminated / one.sets for one in equal_units(random)) for _month in range(4_000)]
    assert float(np.mean(worst)) == pytest.approx(0.052, abs=0.001)
    drawn = [read_places(equal_units(random), policy=POLICY) for _month in range(15)]
    estimates = [one.worst.estimate for one in drawn]
    assert float(np.mean(estimates)) < 0.036


def test_equal_units_are_seldom_called_different():
    """A network without differences: some unit is called different in at most about one of twenty networks."""
    random = np.random.default_rng(8)
    networks = [read_places(equal_units(random, units=20, sets=300), policy=POLICY) for _network in range(20)]
    called = sum(any(one.side is not Side.WITHIN for one in network.places) for network in networks)
    assert called / len(networks) < 0.05 + 3 * (0.05 * 0.95 / 20) ** 0.5


def test_a_unit_far_above_the_others_is_found():
    pairs = {f"u{i}": (9, 400) for i in range(9)} | {"far": (38, 400)}
    reading = read_places(places_of(pairs), policy=POLICY)
    assert [one.count.key for one in reading.standing_out(Side.ABOVE)] == ["far"]


def test_none_of_twenty_four_is_no_proof_of_anything():
    """Question 47: a true 2 % shows none in 24 sets 62 % of the time."""
    reading = read_places(places_of({"infant": (0, 24), "emergency": (57, 1500), "wards": (31, 1200)}), policy=POLICY)
    assert reading.places[0].zero_chance == pytest.approx(0.62, abs=0.005)
    assert reading.places[1].zero_chance is None


def test_standardising_takes_away_what_the_hours_explain():
    """By hand: a unit that draws at night only, at the night rate of everybody, has a ratio of 1."""
    night = PlaceCount(key="n", name="n", sets=100, contaminated=6, strata={"night": (6, 100)})
    mixed = PlaceCount(key="m", name="m", sets=300, contaminated=10, strata={"night": (6, 100), "day": (4, 200)})
    reading = read_places([night, mixed], policy=POLICY)
    assert reading.places[0].standardised.ratio == pytest.approx(1.0)
    assert reading.places[0].ratio_interval.low < 1 < reading.places[0].ratio_interval.high


@pytest.mark.parametrize("pairs", [{}, {"one": (3, 90)}, {"a": (0, 50), "b": (0, 70)}, {"a": (5, 5), "b": (2, 2)}])
def test_what_cannot_be_compared_is_not(pairs):
    reading = read_places(places_of(pairs), policy=POLICY)
    assert reading.places == ()
    assert reading.prior is None


def test_no_place_stands_twice():
    with pytest.raises(ValueError, match="twice"):
        read_places([*places_of({"a": (1, 9)}), *places_of({"a": (1, 9)})], policy=POLICY)
