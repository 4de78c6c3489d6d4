"""How whole columns of dates are decided, and what becomes of times in UTC."""

from __future__ import annotations

import pytest

from cubital.domain.errors import QuestionsOpen
from cubital.domain.places import Facility
from intake_help import Options, read_text

MADRID = Facility(name="Thistlecombe Community", timezone="Europe/Madrid")


def table(*rows, header="Accession;Patient No;Collected;Received;Organism"):
    lines = [header, *(f"{number};7{number};{row};No growth" for number, row in enumerate(rows, start=1))]
    return "\n".join(lines) + "\n"


def collected(tmp_path, text, options=None):
    with read_text(tmp_path, text, options) as read:
        return [str(value) for value in read.column("collected_local")]


def test_a_day_above_twelve_settles_the_column(tmp_path):
    text = table("03/11/2025 10:00;03/11/2025 10:50", "25/11/2025 10:00;25/11/2025 10:50")
    assert collected(tmp_path, text) == ["2025-11-03 10:00:00", "2025-11-25 10:00:00"]


def test_a_second_number_above_twelve_means_month_first(tmp_path):
    text = table("03/11/2025 10:00;03/11/2025 10:50", "11/25/2025 10:00;11/25/2025 10:50")
    assert collected(tmp_path, text)[0] == "2025-03-11 10:00:00"


def test_an_open_column_is_asked_even_when_all_is_accepted(tmp_path):
    text = table("03/11/2025 10:00;03/11/2025 10:50")
    with pytest.raises(QuestionsOpen) as caught, read_text(tmp_path, text, Options(accept=True)):
        pass
    assert [question.key for question in caught.value.questions] == ["date_order.collected", "date_order.received"]
    assert caught.value.questions[0].choices == ("day-first", "month-first")


@pytest.mark.parametrize(("answer", "month"), [("day-first", "2025-11-03"), ("month-first", "2025-03-11")])
def test_an_answer_settles_an_open_column(tmp_path, answer, month):
    options = Options(answers={"date_order.collected": answer, "date_order.received": answer})
    text = table("03/11/2025 10:00;03/11/2025 10:50")
    assert collected(tmp_path, text, options) == [f"{month} 10:00:00"]


def test_one_answer_may_stand_for_all_columns(tmp_path):
    text = table("03/11/2025 10:00;03/11/2025 10:50")
    assert collected(tmp_path, text, Options(answers={"date_order": "day-first"})) == ["2025-11-03 10:00:00"]


def test_a_neighbour_settles_only_what_is_accepted(tmp_path):
    header = "Accession;Birth;Collected;Received;Organism"
    text = f"{header}\n1;14/02/1949;03/11/2025 10:00;03/11/2025 10:50;No growth\n"
    assert collected(tmp_path, text) == ["2025-11-03 10:00:00"]
    with pytest.raises(QuestionsOpen), read_text(tmp_path, text, Options(accept=False)):
        pass


def test_neighbours_that_disagree_settle_nothing(tmp_path):
    header = "Accession;Birth;Loaded;Collected;Organism"
    text = f"{header}\n1;14/02/1949;02/14/2025 10:00;03/11/2025 10:00;No growth\n"
    with pytest.raises(QuestionsOpen, match="Collected"), read_text(tmp_path, text):
        pass


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("2025-11-25 22:10", "2025-11-25 22:10:00"),
        ("2025-11-25T22:10:30", "2025-11-25 22:10:30"),
        ("2025/11/25 22:10", "2025-11-25 22:10:00"),
        ("25/11/2025 10:10 PM", "2025-11-25 22:10:00"),
        ("11/25/2025 12:05 a.m.", "2025-11-25 00:05:00"),
        ("25.11.2025 22:10", "2025-11-25 22:10:00"),
        ("25/11/25 22:10", "2025-11-25 22:10:00"),
        ("25-Nov-2025 22:10", "2025-11-25 22:10:00"),
        ("25 November 2025 22:10", "2025-11-25 22:10:00"),
        ("Nov 25, 2025 10:10 PM", "2025-11-25 22:10:00"),
        ("25-dic-2025 22:10", "2025-12-25 22:10:00"),
        ("25NOV2025:22:10:00", "2025-11-25 22:10:00"),
        ("20251125221000", "2025-11-25 22:10:00"),
        ("202511252210", "2025-11-25 22:10:00"),
        ("20251125 2210", "2025-11-25 22:10:00"),
        ("45986.9236111111", "2025-11-25 22:10:00"),
        ("1764133800", "2025-11-26 05:10:00"),
        ("2025-11-25 22:10:00.000", "2025-11-25 22:10:00"),
    ],
)
def test_every_common_way_of_writing_is_read(tmp_path, written, read):
    assert collected(tmp_path, table(f"{written};{written}")) == [read]


def test_times_with_an_offset_are_instants(tmp_path):
    with read_text(tmp_path, table("2025-11-26T04:10:00Z;2025-11-25T22:41:00-06:00")) as read:
        one = read.set_of("1")
    assert str(one["collected_local"]) == "2025-11-25 22:10:00"
    assert (str(one["collected_at"]), str(one["received_at"])) == ("2025-11-26 04:10:00", "2025-11-26 04:41:00")


def test_date_and_hour_may_stand_in_two_columns(tmp_path):
    header = "Accession;Patient No;Collection Date;Collection Time;Organism"
    text = f"{header}\n1;71;25/11/2025;22:10;No growth\n2;72;26/11/2025;;No growth\n"
    with read_text(tmp_path, text) as read:
        assert [str(v) for v in read.column("collected_local")] == ["2025-11-25 22:10:00", "None"]
        assert read.column("time_quality") == ["exact", "date_only"]
        assert str(read.set_of("2")["day"]) == "2025-11-26"


def test_a_column_full_of_midnights_is_a_column_of_days(tmp_path):
    text = table(*[f"2025-11-{day:02d} 00:00;2025-11-{day:02d} 09:10" for day in range(1, 9)])
    with read_text(tmp_path, text) as read:
        assert set(read.column("time_quality")) == {"date_only"}
        assert read.column("collected_at") == [None] * 8


def test_one_midnight_among_many_hours_is_an_hour(tmp_path):
    rows = [f"2025-11-{day:02d} 0{hour}:15;2025-11-{day:02d} 11:00" for day in range(1, 10) for hour in range(1, 7)]
    with read_text(tmp_path, table("2025-11-20 00:00;2025-11-20 01:00", *rows)) as read:
        assert read.set_of("1")["time_quality"] == "exact"


def test_collected_after_received_is_said_and_its_time_kept(tmp_path):
    with read_text(tmp_path, table("2025-11-20 12:00;2025-11-20 09:00")) as read:
        assert read.set_of("1")["time_quality"] == "after_receipt"
        assert read.doubts == {"after_receipt": 1}


def test_hours_before_and_after_a_change_have_their_own_offset(tmp_path):
    # In Chicago clocks went back at 02:00 on 2 November 2025 (tz database): five hours from UTC before, six after.
    with read_text(tmp_path, table("2025-11-02 00:30;2025-11-02 00:50", "2025-11-02 02:10;2025-11-02 02:40")) as read:
        assert [str(value) for value in read.column("collected_at")] == ["2025-11-02 05:30:00", "2025-11-02 08:10:00"]
        assert read.column("time_quality") == ["exact", "exact"]


def test_a_skipped_hour_is_said(tmp_path):
    # In Chicago clocks went from 02:00 to 03:00 on 9 March 2025 (tz database).
    with read_text(tmp_path, table("2025-03-09 02:30;2025-03-09 03:40")) as read:
        assert read.rows_with_doubt("skipped_hour") == [2]
        assert str(read.set_of("1")["collected_at"]) == "2025-03-09 08:30:00"


def test_the_zone_of_the_facility_is_used(tmp_path):
    with read_text(tmp_path, table("2025-07-01 12:00;2025-07-01 12:30"), Options(facility=MADRID)) as read:
        assert str(read.set_of("1")["collected_at"]) == "2025-07-01 10:00:00"


def test_a_missing_collection_falls_back_to_the_day_of_receipt(tmp_path):
    with read_text(tmp_path, table(";2025-11-20 09:00")) as read:
        one = read.set_of("1")
    assert (one["time_quality"], str(one["day"]), one["month"]) == ("missing", "2025-11-20", "2025-11")
    assert read.doubts == {"no_collection_time": 1}


def test_an_unreadable_time_is_named_with_its_row(tmp_path):
    text = table("2025-11-20 08:00;2025-11-20 09:00", "yesterday;2025-11-20 09:00", "2025-11-31 08:00;2025-12-01 09:00")
    with read_text(tmp_path, text) as read:
        assert read.rows_with_doubt("time_unreadable") == [3, 4]
        assert read.sets == 3


def test_two_digit_years_are_named_row_by_row(tmp_path):
    header = "Accession;Birth;Collected;Organism"
    text = f"{header}\n1;14/02/49;25/11/2025 10:00;No growth\n2;14/02/1949;25/11/2025 10:00;No growth\n"
    with read_text(tmp_path, text) as read:
        assert read.rows_with_doubt("two_digit_year") == [2]
        assert read.column("age_group") == ["65_to_79", "65_to_79"]
