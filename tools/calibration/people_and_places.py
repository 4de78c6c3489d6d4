"""People and places: equals called different, what drawn-together intervals hold, and what ranks are worth."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from calibration.claim import Claim, share_claim
from cubital.answers.people_reading import REAL_DIFFERENCE
from cubital.answers.places_reading import PlaceCount, PlacesPolicy, Side, read_places
from cubital.stats.ranks import rank_places
from cubital.stats.shrinkage import BetaPrior, spread_test

SEED = 20_261_125
PEOPLE = (9, 41, 63, 88, 112, 12, 57, 240, 35, 76, 29, 133, 18, 95)
UNITS = (40, 80, 120, 200, 320, 500, 60, 90, 150, 260, 410, 75)
TEAMS, NETWORKS, WORLDS = 3_000, 300, 400


def equals() -> Iterator[Claim]:
    """Fourteen people, twelve units, all with one true rate: called different at 5 % at most."""
    random = np.random.default_rng(SEED + 40)
    called = sum(
        spread_test([int(random.binomial(draws, 0.04)) for draws in PEOPLE], PEOPLE, runs=999, seed=run).chance
        <= REAL_DIFFERENCE
        for run in range(TEAMS)
    )
    yield share_claim(
        "fourteen equal people: called really different", REAL_DIFFERENCE, hits=called, runs=TEAMS, seed=SEED + 40
    )
    random = np.random.default_rng(SEED + 41)
    hits = 0
    for _run in range(NETWORKS):
        places = [
            PlaceCount(key=f"u{n}", name=f"u{n}", sets=sets, contaminated=int(random.binomial(sets, 0.03)))
            for n, sets in enumerate(UNITS)
        ]
        reading = read_places(places, policy=PlacesPolicy())
        hits += any(one.side is not Side.WITHIN for one in reading.places)
    yield share_claim(
        "twelve equal units: some unit called different", 0.05, hits=hits, runs=NETWORKS, seed=SEED + 41, kind="at_most"
    )


def drawn_together() -> Iterator[Claim]:
    """True rates from a known Beta: do 95 % intervals hold them, and is 'the highest' right as often as said?"""
    prior = BetaPrior(3.0, 72.0)
    random = np.random.default_rng(SEED + 42)
    held = runs = right = 0
    said = 0.0
    for _world in range(WORLDS):
        rates = random.beta(prior.alpha, prior.beta, len(PEOPLE))
        events = random.binomial(PEOPLE, rates)
        after = [prior.after(int(x), n) for x, n in zip(events, PEOPLE, strict=True)]
        for one, rate in zip(after, rates, strict=True):
            interval = one.interval()
            held, runs = held + (interval.low <= rate <= interval.high), runs + 1
        highest = rank_places(after).highest()
        pick = int(np.argmax(highest))
        said += highest[pick]
        right += pick == int(np.argmax(rates))
    yield share_claim("drawn-together 95 % intervals hold the true rate", 0.95, hits=held, runs=runs, seed=SEED + 42)
    yield share_claim(
        "'most likely the highest' is the highest", said / WORLDS, hits=right, runs=WORLDS, seed=SEED + 42
    )


CLAIMS = (equals, drawn_together)
