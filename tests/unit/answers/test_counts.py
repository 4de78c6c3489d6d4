"""Counts by month: what is read, and what is refused with row, reason and remedy."""

from __future__ import annotations

import datetime

import pytest

from cubital.answers.counts import MonthCount, missing_months, parse_counts, parse_counts_text
from cubital.answers.month_text import month_before, next_month, parse_month
from cubital.domain.errors import FileProblem

HEADERS = ("month", "sets", "contaminated")
TWO = (MonthCount(month="2026-02", sets=476, contaminated=6), MonthCount(month="2026-03", sets=1498, contaminated=19))


def problem_of(rows):
    with pytest.raises(FileProblem) as caught:
        parse_counts([HEADERS, *rows], where="counts.csv")
    return caught.value.sentence()


@pytest.mark.parametrize(
    "text",
    [
        "month,sets,contaminated\n2026-02,476,6\n2026-03,1498,19\n",
        "Month;Sets;Contaminated\r\n2026-02;476;6\r\n2026-03;1498;19",
        "\ufeffmonth\tsets\tcontaminated\n02/2026\t476\t6\nMarch 2026\t1 498\t19\n\n",
        'month, sets, contaminated\n2026-02,476,6\n2026-03,"1,498",19\n',
        "contaminadas;mes;series\n6;febrero de 2026;476\n19;marzo 2026;1498.0\n",
        "month sets contaminated\n2026-02 476 6\n2026-03 1498 19",
    ],
)
def test_pasted_counts_are_read_whatever_separates_them(text):
    assert parse_counts_text(text, where="pasted") == TWO


def test_spreadsheet_cells_are_read_as_they_are():
    rows = [HEADERS, (datetime.date(2026, 2, 1), 476.0, 6), ("2026-03-01 00:00:00", "1498", 19.0), (None, None, None)]
    assert parse_counts(rows, where="book.xlsx") == TWO


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (("2026-13", "10", "1"), "row 2, column 'month': got '2026-13'"),
        (("Mar-26", "10", "1"), "row 2, column 'month': got 'Mar-26'"),
        (("2026-03-15", "10", "1"), "row 2, column 'month': got '2026-03-15'"),
        (("2026-03", "many", "1"), "row 2, column 'sets': got 'many'"),
        (("2026-03", "", "1"), "row 2, column 'sets': got ''"),
        (("2026-03", "1.498", "1"), "row 2, column 'sets': got '1.498'"),
        (("2026-03", "10", "-1"), "row 2, column 'contaminated': got '-1'"),
        (("2026-03", "10", "1.5"), "row 2, column 'contaminated': got '1.5'"),
        (("2026-03", "10"), "row 2, column 'contaminated': got ''"),
        (("2026-03", "10", "11"), "row 2: 11 contaminated of 10 sets is more than all"),
    ],
)
def test_a_cell_that_cannot_be_right_is_named_with_its_row(row, words):
    sentence = problem_of([row])
    assert sentence.startswith("counts.csv: ")
    assert words in sentence
    assert "oldest first" in sentence


def test_a_month_that_stands_twice_is_refused():
    sentence = problem_of([("2026-02", "10", "1"), ("2026-03", "10", "1"), ("2026-03", "12", "0")])
    assert "row 4: March 2026 stands already in row 3" in sentence


def test_months_out_of_order_are_refused_because_the_last_is_asked_about():
    sentence = problem_of([("2026-03", "10", "1"), ("2026-02", "10", "1")])
    assert "row 3: February 2026 comes after March 2026" in sentence


def test_every_problem_is_reported_at_once_and_a_flood_is_counted():
    sentence = problem_of([(f"month {row}", "x", "1") for row in range(10)])
    assert "row 2, column 'month'" in sentence
    assert "and 12 more problems" in sentence


@pytest.mark.parametrize("text", ["", "\n\n", "\ufeff"])
def test_an_empty_table_says_so(text):
    with pytest.raises(FileProblem, match="there is nothing in it"):
        parse_counts_text(text, where="pasted")


def test_headers_alone_are_not_counts():
    with pytest.raises(FileProblem, match="no month"):
        parse_counts_text("month,sets,contaminated\n", where="pasted")


def test_a_missing_or_doubled_column_is_named_with_what_was_seen():
    with pytest.raises(FileProblem, match=r"no column is called 'contaminated'\. The first row reads: month, sets"):
        parse_counts_text("month,sets\n2026-03,10\n", where="pasted")
    with pytest.raises(FileProblem, match="more than one column may be 'sets'"):
        parse_counts_text("month,sets,draws,contaminated\n2026-03,10,10,1\n", where="pasted")


def test_a_quote_that_never_closes_is_a_sentence():
    with pytest.raises(FileProblem, match="cannot be read"):
        parse_counts_text('month,sets,contaminated\n"2026-03,10,1\n', where="pasted")


def test_a_month_count_cannot_be_impossible():
    with pytest.raises(ValueError, match="impossible"):
        MonthCount(month="2026-03", sets=1, contaminated=2)
    with pytest.raises(ValueError, match="not a month"):
        MonthCount(month="March 2026", sets=1, contaminated=1)


def test_missing_months_are_those_between_first_and_last():
    counts = [MonthCount(month=month, sets=1, contaminated=0) for month in ("2025-11", "2025-12", "2026-03")]
    assert missing_months(counts) == ("2026-01", "2026-02")
    assert missing_months([]) == ()


def test_months_step_over_the_turn_of_the_year():
    assert next_month("2025-12") == "2026-01"
    assert month_before("2026-01") == "2025-12"
    assert month_before("2026-03", 24) == "2024-03"


@pytest.mark.parametrize("text", ["", "2026", "03-26", "Smarch 2026", "2026-00", "13/2026", "2026-03-01 10:30"])
def test_what_is_not_surely_a_month_is_not_read(text):
    assert parse_month(text) is None
