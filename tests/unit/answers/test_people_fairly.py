"""Five people to support, fairly: the worked example of fourteen collectors (invented)."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.answers.people import build_people_answer, reason_words
from cubital.answers.people_reading import PeoplePolicy, PersonCount, Standing, read_people
from cubital.domain.answer import Verdict
from cubital.stats.proportions import clopper_pearson_interval
from cubital.stats.shrinkage import BetaPrior

COLLECTORS = {
    "C01": (9, 2), "C02": (41, 1), "C03": (63, 5), "C04": (88, 1), "C05": (112, 6), "C06": (4, 1), "C07": (57, 0),
    "C08": (240, 14), "C09": (35, 0), "C10": (76, 2), "C11": (29, 3), "C12": (133, 2), "C13": (18, 0), "C14": (95, 7),
}  # fmt: skip
POLICY = PeoplePolicy()


def counts_of(people):
    return [PersonCount(key=key, draws=draws, contaminated=events) for key, (draws, events) in people.items()]


@pytest.fixture(scope="module")
def reading():
    return read_people(counts_of(COLLECTORS), policy=POLICY, unattributed=(8, 230))


def test_the_order_follows_what_support_could_prevent(reading):
    assert [one.count.key for one in reading.queue] == ["C08", "C14", "C05", "C03", "C11"]
    assert [round(one.preventable, 1) for one in reading.queue] == [6.0, 3.0, 2.2, 1.9, 0.9]


def test_a_high_percentage_of_few_draws_chooses_nobody(reading):
    chosen = {one.count.key for one in reading.queue}
    assert not chosen & {"C01", "C06"}  # 2 of 9 and 1 of 4 have the highest percentages
    assert {"C01", "C06"} <= {one.count.key for one in reading.considered}


def test_the_system_is_said_first(reading):
    answer = build_people_answer(reading)
    assert answer.verdict is Verdict.ESTIMATE
    assert answer.sentence.startswith("The system is above target: 44 of 1,000 attributed sets, 4.4 %")
    assert "five people are offered support" in answer.sentence


def test_below_thirty_draws_no_percentage_is_told(reading):
    table = build_people_answer(reading).table
    told = {row[1]: row[5] for row in table.rows}
    assert all(told[key] is None for key in ("C01", "C06", "C11", "C13"))
    assert (told["C14"], told["C03"], told["C08"], told["C05"]) == (6.1, 6.1, 5.5, 5.0)


def test_clean_draws_come_before_contaminated_ones(reading):
    table = build_people_answer(reading).table
    assert table.columns.index("Clean") < table.columns.index("Contaminated")
    assert next(row for row in table.rows if row[1] == "C08")[2:5] == (240, 226, 14)


def test_the_unattributed_belong_to_nobody(reading):
    figure = build_people_answer(reading).figure("unattributed")
    assert (figure.numerator, figure.denominator) == (230, 1230)
    assert sum(one.count.draws for one in reading.people) == 1000


def test_every_choice_has_its_reason(reading):
    assert reason_words(reading.person("C08"), reading).startswith("At target, about 6.0 of 240 draws")
    assert reason_words(reading.person("C10"), reading).startswith("Considered, not chosen")


def test_two_in_nine_and_none_in_thirty_say_little():
    """Worked anchors 10 and 11; the weight of the 2.6 % prior is not stated there, about 150 draws gives the 3.7 %."""
    assert 100 * BetaPrior(0.026 * 150, 0.974 * 150).after(2, 9).mean == pytest.approx(3.7, abs=0.05)
    raw = clopper_pearson_interval(2, 9)
    assert (round(raw.low, 2), round(raw.high, 2)) == (0.03, 0.60)
    assert 100 * clopper_pearson_interval(0, 30, level=0.90).high == pytest.approx(9.5, abs=0.05)


def test_people_alike_leave_nobody_in_the_queue():
    alike = read_people(counts_of({f"C{n:02d}": (100, 4 + n % 2) for n in range(10)}), policy=POLICY)
    assert (alike.standing, alike.queue) == (Standing.ALIKE, ())
    assert "support the system" in build_people_answer(alike).sentence


@pytest.mark.parametrize("people", [{}, {"C01": (5, 1)}])
def test_fewer_than_two_people_are_too_few(people):
    answer = build_people_answer(read_people(counts_of(people), policy=POLICY))
    assert answer.verdict is Verdict.TOO_FEW


@pytest.mark.parametrize("events", [0, 9])
def test_all_clean_and_all_contaminated_are_said_without_a_model(events):
    reading = read_people(counts_of({"C01": (9, events), "C02": (9, events)}), policy=POLICY)
    assert reading.standing is Standing.NO_EVENTS
    assert build_people_answer(reading).picture == {}


def test_nobody_stands_twice():
    with pytest.raises(ValueError, match="twice"):
        read_people([*counts_of({"C01": (9, 1)}), *counts_of({"C01": (4, 0)})], policy=POLICY)


@st.composite
def teams(draw):
    keys = draw(st.lists(st.text("abc", min_size=1), min_size=2, max_size=8, unique=True))
    sizes = [draw(st.integers(1, 60)) for _key in keys]
    return {key: (size, draw(st.integers(0, size))) for key, size in zip(keys, sizes, strict=True)}


@settings(max_examples=15)
@given(teams())
def test_an_estimate_lies_between_the_persons_own_share_and_what_is_usual(people):
    reading = read_people(counts_of(people), policy=POLICY)
    for one in reading.people:  # none where nobody, or everybody, was contaminated
        own = one.count.contaminated / one.count.draws
        low, high = sorted((own, reading.prior.mean))
        assert low - 1e-9 <= one.estimate <= high + 1e-9
        assert 0 <= one.interval.low <= one.interval.high <= 1
    assert len(reading.queue) <= POLICY.capacity
