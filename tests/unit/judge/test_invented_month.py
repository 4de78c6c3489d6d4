"""One month of a thousand sets under the four definitions: 1.6, 1.95, 2.5 and 3.5 %.

The month and its rates are the worked example of the job's description (invented data, computed by hand): 410 pairs and
180 single sets; a commensal in one of two sets sixteen times, in both sets of five pairs, in nine single sets.
"""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from cubital.engine import open_session
from cubital.judge.api import Scope, count_months
from cubital.judge.plain_counts import count_plainly
from cubital.reference.charters import published_charters
from judge_worlds import World, fill_session, make_isolate, make_set

START = datetime.fromisoformat("2026-03-01 08:00")
PAIRS, SINGLES, ONE_OF_TWO, BOTH, ALONE = 410, 180, 16, 5, 9
RATES = {
    "a_one_of_several_all_sets": (16, 1000),
    "b_one_of_several_eligible_sets": (16, 820),
    "c_with_solitary": (25, 1000),
    "d_any_commensal": (35, 1000),
}


def thousand_sets():
    patients = [number for number in range(PAIRS) for _twice in "ab"] + list(range(PAIRS, PAIRS + SINGLES))
    sets = [
        make_set(number, START + timedelta(hours=patient, minutes=10 * (number % 2)), patient_key=patient)
        for number, patient in enumerate(patients, start=1)
    ]
    first_of_pair = [2 * pair + 1 for pair in range(ONE_OF_TWO + BOTH)]
    second_of_pair = [number + 1 for number in first_of_pair[ONE_OF_TWO:]]
    alone = [2 * PAIRS + 1 + number for number in range(ALONE)]
    grown = [make_isolate(number, "staphylococcus-epidermidis") for number in first_of_pair + second_of_pair + alone]
    return World(tuple(sets), tuple(grown))


WORLD = thousand_sets()


def total(months):
    return sum(month.numerator for month in months), sum(month.denominator for month in months)


@pytest.mark.parametrize(("key", "rate"), RATES.items())
def test_four_definitions_give_four_rates_inside_the_engine(key, rate):
    with open_session(threads=1) as session:
        fill_session(session, WORLD)
        assert total(count_months(session, published_charters()[key])) == rate


@pytest.mark.parametrize(("key", "rate"), RATES.items())
def test_four_definitions_give_four_rates_in_plain_python(key, rate):
    charter = published_charters()[key]
    assert total(count_plainly(WORLD.sets, WORLD.isolates, (), charter, scope=Scope())) == rate


def test_single_sets_by_set_and_by_episode():
    with open_session(threads=1) as session:
        fill_session(session, WORLD)
        (month,) = count_months(session, published_charters()["a_one_of_several_all_sets"])
    assert (month.solitary, month.sets, month.episodes) == (180, 1000, 590)
