"""Clusters of odd organisms: what is called, what is not, and what is too thin to say.

The anchor (5 in nine days at 0.4 a week: 0.0002) is an exact Poisson tail: 1 - sum of e^-m m^k / k! for k < 5 with
m = 0.4 x 9/7 = 0.514, worked by hand to 0.00020.
"""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from cubital.answers.cluster import build_cluster_answer
from cubital.answers.cluster_reading import ClusterPolicy, Look, Zone, read_clusters
from cubital.answers.odd_growths import Event
from cubital.domain.answer import Verdict

LAST = date(2026, 3, 28)
FIRST = LAST - timedelta(days=27)
BEFORE = (FIRST - timedelta(days=364), FIRST - timedelta(days=1))
UNITS = (("Marrowby", "ed"), ("Marrowby", "icu"), ("Marrowby", "5w"), ("Orrin", "step"))
NAMES = {("Marrowby", "ed"): "ED", ("Marrowby", "icu"): "ICU", ("Marrowby", "5w"): "5W", ("Orrin", "step"): "Step-down"}
FIVE = [(1, "ed"), (3, "icu"), (5, "ed"), (8, "icu"), (9, "ed")]


def events(pairs, start=FIRST):
    return tuple(Event(day=start + timedelta(days=d - 1), facility="Marrowby", unit=unit) for d, unit in pairs)


def every(days, count, unit="ed"):
    return tuple(
        Event(day=BEFORE[0] + timedelta(days=round(i * days / count)), facility="Marrowby", unit=unit)
        for i in range(count)
    )


def look(**more):
    return Look(**{"first": FIRST, "last": LAST, "before": BEFORE, "units": UNITS} | more)


def scan(found, *, asked=False, **more):
    return read_clusters(found, look(**more), policy=ClusterPolicy(), asked=asked)


def test_five_in_nine_days_at_a_given_rate_is_two_in_ten_thousand():
    reading = scan({"bacillus": events(FIVE)}, before=None, per_week=0.4, asked=True)
    mean = 0.4 * 9 / 7
    tail = 1 - sum(math.exp(-mean) * mean**k / math.factorial(k) for k in range(5))
    assert reading.best.chance == pytest.approx(tail, rel=1e-9)
    assert round(reading.best.chance, 4) == 0.0002
    assert reading.is_signal


def test_five_in_nine_days_after_a_year_at_that_rate_is_called():
    reading = scan({"bacillus": every(364, 21) + events(FIVE)})
    assert reading.best.stretch.count == 5
    assert reading.best.zone is Zone.ALL
    assert reading.best.per_week == pytest.approx(21 / 52)
    assert reading.best.chance < reading.best.chance_anywhere <= 0.05


def test_looking_at_more_organisms_makes_the_same_cluster_less_odd():
    alone = {"bacillus": every(364, 21) + events(FIVE)}
    others = {f"genus-{n}": every(364, 5) for n in range(9)}
    assert scan(alone | others).best.chance_anywhere == pytest.approx(10 * scan(alone).best.chance_anywhere)


def test_a_cluster_of_one_unit_is_found_where_the_network_hides_it():
    quiet = every(364, 40, unit="5w")
    reading = scan({"bacillus": quiet + events([(2, "icu"), (3, "icu"), (4, "icu"), (6, "icu")])})
    assert reading.best.zone is Zone.UNIT
    assert reading.best.units == (("Marrowby", "icu"),)
    assert reading.is_signal


def test_a_common_organism_is_not_looked_at_unless_asked():
    common = {"staphylococcus": every(364, 200) + events(FIVE)}
    assert scan(common).best is None
    assert scan(common).common == ("staphylococcus",)
    assert scan(common, asked=True).best is not None


def test_two_of_a_kind_are_no_cluster():
    reading = scan({"bacillus": events(FIVE[:2])})
    answer = build_cluster_answer(reading, names=NAMES)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert "Nothing clusters" in answer.sentence


def test_no_growth_at_all_says_so():
    answer = build_cluster_answer(scan({}), names=NAMES)
    assert answer.sentence.startswith("No organism that is rare here grew")
    assert answer.picture == {}


def test_a_baseline_without_any_uses_an_upper_limit_and_not_zero():
    reading = scan({"bacillus": events(FIVE)})
    assert reading.best.at_most
    assert reading.best.per_week == pytest.approx(7 * -math.log(0.05) / 364)
    assert 0 < reading.best.chance < reading.best.chance_anywhere < 0.01


def test_a_short_baseline_is_too_few_and_says_how_much_more():
    reading = scan({"bacillus": events(FIVE)}, before=(FIRST - timedelta(days=30), FIRST - timedelta(days=1)))
    answer = build_cluster_answer(reading, names=NAMES)
    assert answer.verdict is Verdict.TOO_FEW
    assert "26 days more are needed" in answer.sentence
    assert "need not wait" in answer.sentence


def test_the_sentence_says_count_days_units_expected_chance_and_whose_decision():
    answer = build_cluster_answer(scan({"bacillus": every(364, 21) + events(FIVE)}), names=NAMES)
    assert answer.verdict is Verdict.SIGNAL
    for words in (
        "Five sets grew Bacillus within nine days (1 March 2026 to 9 March 2026)", "two units (ED 3, ICU 2)",
        "0.4 a week", "0.52 expected", "about 2 times in 10,000",
        "Tell infection prevention and the laboratory today; whether to quarantine anything is their decision",
    ):  # fmt: skip
        assert words in answer.sentence


def test_the_answer_is_never_a_diagnosis_of_a_patient():
    answer = build_cluster_answer(scan({"bacillus": events(FIVE)}), names=NAMES)
    assert any("never a diagnosis" in words for words in answer.cautions)
    assert not any(word in answer.sentence for word in ("contaminat", "infected", "patient", "outbreak"))


def test_the_table_and_the_picture_hold_every_set():
    answer = build_cluster_answer(scan({"bacillus": every(364, 21) + events(FIVE)}), names=NAMES)
    assert sum(row[-1] for row in answer.table.rows) == 5
    assert sum(row["sets"] for row in answer.picture["data"]["values"]) == 5


def test_more_sets_drawn_is_said_first():
    answer = build_cluster_answer(scan({"bacillus": events(FIVE)}), names=NAMES, drawn=(200.0, 100.0))
    assert [check.passed for check in answer.checks if check.key == "volume"] == [False]


def test_events_after_the_last_day_are_passed_over():
    late = tuple(Event(day=LAST + timedelta(days=n), facility="Marrowby", unit="ed") for n in (1, 2, 3))
    assert scan({"bacillus": late}).best is None
