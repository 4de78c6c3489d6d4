"""The messy month of two laboratories, judged under the four definitions that hospitals argue about.

The expected numbers are the acceptance story's own, worked out by hand from its printed rows.
"""

from __future__ import annotations

import pytest

from cubital.domain.charter import Population, SetClass, with_population
from cubital.engine import open_session
from cubital.judge.api import Scope, count_months, count_process, count_rates, judged_sets
from cubital.judge.plain import judge_plainly
from cubital.reference.charters import published_charters
from judge_worlds import fill_session
from messy_month import messy_month, short_name

WORLD = messy_month()
RATES = {
    "a_one_of_several_all_sets": (4, 18),
    "b_one_of_several_eligible_sets": (4, 14),
    "c_with_solitary": (6, 18),
    "d_any_commensal": (9, 18),
}


def adults(key):
    return with_population(published_charters()[key], Population.ADULTS)


@pytest.fixture(scope="module")
def session():
    with open_session(threads=1) as opened:
        fill_session(opened, WORLD)
        yield opened


@pytest.mark.parametrize(("key", "rate"), RATES.items())
@pytest.mark.parametrize("count", [count_months, count_rates])
def test_the_four_rates_of_the_story(session, count, key, rate):
    months = count(session, adults(key))
    assert (sum(m.numerator for m in months), sum(m.denominator for m in months)) == rate


@pytest.mark.parametrize("key", RATES)
def test_the_plain_judge_gives_the_same_rates(key):
    verdicts = judge_plainly(WORLD.sets, WORLD.isolates, adults(key), current_units=WORLD.current_units())
    counted = [verdict for verdict in verdicts.values() if verdict.counted]
    hits = [verdict for verdict in counted if verdict.set_class is SetClass.CONTAMINATED]
    assert (len(hits), len(counted)) == RATES[key]


@pytest.mark.parametrize(
    ("set_class", "names"),
    [
        (SetClass.CONTAMINATED, ["M5001", "M5007", "T5002", "T5003"]),
        (SetClass.ADJUDICATE, ["M5003", "M5004", "M5009"]),
        (SetClass.SOLITARY_COMMENSAL, ["M5005", "T5007"]),
        (SetClass.PATHOGEN, ["M5008", "T5005"]),
        (SetClass.OUTSIDE, ["M5010"]),
        (SetClass.UNRESOLVED, []),
    ],
)
def test_which_sets_have_which_class(session, set_class, names):
    found = judged_sets(session, adults("a_one_of_several_all_sets"), classes=[set_class])
    assert sorted(short_name(one.facility, one.accession) for one in found) == names


def test_solitary_sets_by_set_and_by_episode(session):
    months = count_months(session, adults("a_one_of_several_all_sets"))
    assert sum(m.solitary for m in months) == 4
    assert sum(m.sets for m in months) == 18
    assert sum(m.episodes for m in months) == 11
    assert sum(m.unpairable for m in months) == 0


def test_bottles_times_and_collectors(session):
    months = count_process(session, adults("a_one_of_several_all_sets"), by="facility")
    marrowby = [m for m in months if m.facility == "Marrowby General"]
    thistlecombe = [m for m in months if m.facility == "Thistlecombe Community"]
    assert (sum(m.bottle_complete for m in marrowby), sum(m.bottle_measurable for m in marrowby)) == (9, 10)
    assert sum(m.bottle_measurable for m in thistlecombe) == 0
    assert sum(m.attributed for m in months) == 8
    assert sum(m.collector_sets for m in months) == 19
    assert sum(m.collector_measurable for m in thistlecombe) == 0
    assert sum(m.timed for m in months) == 18


def test_the_repeated_hour_gives_thirty_and_forty_three_minutes(session):
    found = judged_sets(session, adults("a_one_of_several_all_sets"))
    minutes = {short_name(one.facility, one.accession): one.minutes_to_receipt for one in found}
    assert (minutes["M5006"], minutes["M5007"]) == (30, 43)
    assert min(minutes.values()) > 0


def test_the_renamed_ward_is_one_unit(session):
    scope = Scope(from_month="2025-10", to_month="2025-10", facility="Marrowby General", unit="5w-med onc")
    (month,) = count_months(session, adults("a_one_of_several_all_sets"), scope=scope, by="unit")
    assert (month.sets, month.unit_name) == (3, "5W-MED ONC")


def test_companions_are_the_other_sets_of_the_series(session):
    (found,) = (
        one
        for one in judged_sets(session, adults("a_one_of_several_all_sets"), classes=[SetClass.ADJUDICATE])
        if one.accession == "5009"
    )
    (companion,) = found.companions
    assert (companion.accession, companion.set_class) == ("5008", SetClass.PATHOGEN)
    assert companion.organisms == ("escherichia-coli",)
    assert found.organisms == ("escherichia-coli", "staphylococcus-hominis")
