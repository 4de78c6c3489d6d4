"""Which twelve hours? An emergency department whose nights hold twice the share (invented, counted by hand)."""

from __future__ import annotations

import json

import numpy as np
import pytest

from cubital.answers.hours import build_hours_answer
from cubital.answers.hours_reading import HoursMaterial, HoursPolicy, read_hours
from cubital.answers.hours_table import parse_hours
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem

NIGHT = [*range(19, 24), *range(7)]


def week(value=0):
    return np.full((7, 24), value, dtype=np.int64)


def material(*, by_day=2, at_night=4, sets=100, **more):
    bad = week(by_day)
    bad[:, NIGHT] = at_night
    return HoursMaterial(contaminated=bad, sets=week(sets), **more)


@pytest.fixture(scope="module")
def reading():
    return read_hours(material(weeks=52))


def test_twelve_hours_at_night_cover_two_thirds(reading):
    """Nights 7 × 12 × 4 = 336, days 7 × 12 × 2 = 168: 336 of 504, in half of the sets."""
    answer = build_hours_answer(reading)
    assert answer.sentence.startswith(
        "19:00 to 07:00 every day: 336 of 504 contaminated sets fall there (67 %), in 8,400 of 16,800 sets (50 %)."
    )
    assert answer.sentence.endswith(
        "4.0 % of sets are contaminated there, 2.0 % elsewhere: it is more than the number drawn."
    )
    assert answer.verdict is Verdict.ESTIMATE


def test_the_choice_comes_with_its_doubt(reading):
    answer = build_hours_answer(reading)
    assert 0 < answer.figure("best").value < 1
    assert answer.figure("expected").value < 336
    assert sum(row[8] for row in answer.table.rows) == pytest.approx(100, abs=3)


def test_a_flat_week_says_that_other_hours_are_as_good():
    answer = build_hours_answer(read_hours(material(by_day=2, at_night=2)))
    assert "about as good" in answer.sentence
    assert "it holds most because most is drawn then" in answer.sentence


def test_weekdays_alone_leave_the_weekend_out():
    reading = read_hours(material(), days=(0, 1, 2, 3, 4))
    assert reading.inside == (5 * 12 * 4, 6_000)
    assert "07:00 Monday to Friday" in build_hours_answer(reading).sentence
    assert reading.inside_cell(5, 3)  # Friday's night goes on into Saturday
    assert not reading.inside_cell(5, 20)


def test_the_queue_is_named():
    """16,800 sets in 8 weeks are 12.5 an hour; one collector draws four."""
    answer = build_hours_answer(read_hours(material(weeks=8)))
    assert answer.figure("per_hour").value == 12.5
    assert any(
        "In the busiest hour 12.5 sets come and one collector draws about 4.0" in said for said in answer.cautions
    )
    assert any("not known" in said for said in build_hours_answer(read_hours(material())).cautions)


def test_too_few_contaminated_sets_choose_nothing():
    bad = week()
    bad[0, 3] = 7
    answer = build_hours_answer(read_hours(HoursMaterial(contaminated=bad, sets=week(10))))
    assert answer.verdict is Verdict.TOO_FEW
    assert "too few to choose hours by; 20 are wanted, 13 more" in answer.sentence


def test_nothing_at_all_is_no_trouble():
    answer = build_hours_answer(read_hours(HoursMaterial(contaminated=week(), sets=week())))
    assert (answer.verdict, answer.picture) == (Verdict.TOO_FEW, {})
    assert "NaN" not in json.dumps(answer.table.rows)


def test_cells_of_few_sets_show_a_dot_and_no_share():
    sets, bad = week(), week()
    sets[0, :12], bad[0, :12] = 200, 4
    sets[3, 20] = 2
    picture = build_hours_answer(read_hours(HoursMaterial(contaminated=bad, sets=sets))).picture
    words = {(row["day"], row["hour"]): row["words"] for row in picture["data"]["values"]}
    assert words["Monday", "05"] == "2.0"
    assert words["Thursday", "20"] == words["Sunday", "04"] == "·"
    json.dumps(picture, allow_nan=False)


def test_a_table_of_counts_is_read_and_sets_without_a_clock_are_named():
    found = parse_hours("weekday,hour,sets,contaminated\n1,7,10,1\n7,23,5,0\n2,,3,1\n", where="counts")
    assert (found.sets[0, 7], found.contaminated[0, 7], found.sets[6, 23], found.untimed) == (10, 1, 5, 3)
    assert build_hours_answer(read_hours(found)).checks[0].words.startswith("3 sets have no known hour")


@pytest.mark.parametrize("rows", ["", "hour,sets\n1,2", "weekday,hour,sets,contaminated\n8,1,2,1",
                                  "weekday,hour,sets,contaminated\n0,1,2,1", "weekday,hour,sets,contaminated\n1,24,2,1",
                                  "weekday,hour,sets,contaminated\n1,1,2,3"])  # fmt: skip
def test_counts_that_cannot_be_right_are_refused(rows):
    with pytest.raises(FileProblem):
        parse_hours(rows, where="counts")


def test_policy_says_how_many_are_enough():
    assert not read_hours(material(), policy=HoursPolicy(min_events=1_000)).enough
