"""A collector's shifts: what they hold, what finds nobody free, what choosing adds, what is averted."""

from __future__ import annotations

import numpy as np
import pytest

from cubital.answers.cover import build_cover_answer
from cubital.answers.cover_reading import CoverAsk, read_cover
from cubital.answers.hours_reading import HoursMaterial
from cubital.domain.answer import Verdict
from cubital.stats.erlang import calls_and_collectors

WEEKS = 52.0
SHAPE = (7, 24)


def material(contaminated=None, sets=52):
    held = np.full(SHAPE, sets, dtype=np.int64)
    bad = np.zeros(SHAPE, dtype=np.int64) if contaminated is None else contaminated
    return HoursMaterial(contaminated=bad, sets=held, weeks=WEEKS)


def nights():
    """Ten contaminated sets in every hour from 22:00 to 06:00, one elsewhere."""
    found = np.ones(SHAPE, dtype=np.int64)
    found[:, 22:] = found[:, :6] = 10
    return found


def test_planted_nights_are_found_every_day():
    reading = read_cover(material(nights()), CoverAsk(shifts=7, length=8))
    assert len(reading.cover.starts) == 7
    assert {start % 24 for start in reading.cover.starts} <= {21, 22, 23}
    assert reading.inside[0] / reading.total[0] > 0.75


def test_the_share_reached_is_that_of_the_lost_call_formula():
    """Every hour has one set a week-hour: one call an hour at fifteen minutes (Erlang, one collector)."""
    reading = read_cover(material(nights()), CoverAsk(minutes_per_set=15))
    lost = calls_and_collectors(1.0, minutes_per_call=15).lost
    assert reading.reached == pytest.approx(1 - lost)
    assert reading.busy == pytest.approx((1 - lost) * 15 / 60)


def test_averted_is_the_product_that_its_definition_says():
    reading = read_cover(material(nights()), CoverAsk(risk=(0.33, 0.41, 0.70)))
    base = reading.total[0] / WEEKS * 365.25 / 7 * reading.expected * reading.reached
    assert reading.averted == pytest.approx((base * 0.30, base * 0.59, base * 0.67))


def test_choosing_the_best_hours_of_noise_promises_more_than_it_keeps():
    """300 contaminated sets spread evenly, seed 3: seven of fourteen half days hold one half, chosen ones more."""
    drawn = np.random.default_rng(3).multinomial(300, np.full(168, 1 / 168)).reshape(SHAPE)
    reading = read_cover(material(drawn), CoverAsk())
    seen = reading.inside[0] / 300
    assert seen > 0.5
    assert reading.expected < seen


def test_too_few_are_not_chosen_by():
    answer = build_cover_answer(read_cover(material(), CoverAsk()))
    assert answer.verdict is Verdict.TOO_FEW
    assert "20 are wanted, 20 more" in answer.sentence
    assert answer.figures == ()


def test_more_collectors_reach_more():
    one = read_cover(material(nights(), sets=260), CoverAsk(collectors=1))
    two = read_cover(material(nights(), sets=260), CoverAsk(collectors=2))
    assert two.reached > one.reached
    assert "find every collector busy" in " ".join(build_cover_answer(one).cautions)


def test_the_answer_is_a_scenario_and_never_delays_care():
    answer = build_cover_answer(read_cover(material(nights()), CoverAsk(risk=(0.33, 0.41, 0.70))))
    assert "a scenario, not a promise" in answer.sentence
    assert "the nurse draws, as today" in " ".join(answer.cautions)
    averted = answer.figure("averted")
    assert averted.low < averted.value < averted.high


def test_unknown_weeks_are_refused():
    with pytest.raises(ValueError, match="weeks"):
        read_cover(HoursMaterial(contaminated=nights(), sets=np.full(SHAPE, 52)), CoverAsk())
