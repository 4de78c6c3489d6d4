"""What the table of inputs refuses, and which questions stay unanswered."""

from __future__ import annotations

import pytest

from collection_shift import HEADINGS, KIT, PARTS, SHARED, SHIFT, table_of
from cubital.answers.hand_tables import text_rows
from cubital.answers.worth_inputs import KNOWN, input_label
from cubital.answers.worth_reading import read_worth
from cubital.answers.worth_refusal import refuse_worth
from cubital.answers.worth_table import cost_rows, parse_costs
from cubital.answers.worth_tables import grid_table, inputs_table, options_table
from cubital.answers.worth_words import amount_words, count_words, runs_words
from cubital.domain.answer import Verdict
from cubital.domain.costs import CostInput, CostTable, InputKind, Origin, RangeShape
from cubital.domain.errors import FileProblem
from cubital.domain.words import choose_language


def _refused(*parts, with_programme=True):
    found = refuse_worth(table_of(*parts), question="?", with_programme=with_programme, receipt=None)
    assert found is not None
    assert found.verdict is Verdict.REFUSED
    return found.sentence


def test_a_whole_table_is_not_refused():
    for parts in ((SHARED, SHIFT), (SHARED, SHIFT, KIT), (PARTS, SHIFT)):
        assert refuse_worth(table_of(*parts), question="?", with_programme=True, receipt=None) is None


def test_a_charge_is_never_added_to_costs():
    said = _refused(SHARED.replace(",cost,local,", ",charge,local,"), SHIFT)
    assert "A charge is what is billed, not what it costs" in said
    assert "cost of one contaminated set" in said


def test_two_currencies_are_not_converted():
    assert "more than one currency (EUR, USD)" in _refused(SHARED, SHIFT.replace("USD", "EUR"))


def test_prices_of_two_years_need_an_index_and_with_it_are_brought_together():
    older = SHARED.replace("USD,2025", "USD,2019")
    assert "price index for 2019, 2025" in _refused(older, SHIFT)
    index = ",price index,,100,,,,,,2019,statistics office,\n,price index,,125,,,,,,2025,statistics office,\n"
    table = table_of(older, SHIFT, index)
    assert refuse_worth(table, question="?", with_programme=True, receipt=None) is None
    assert read_worth(table, draws=100).first.each == pytest.approx(2900 * 1.25)


@pytest.mark.parametrize("risk", ["1,1,1", "1.2,1.3,1.5", "0.9,1,1.1"])
def test_a_relative_risk_of_one_or_more_is_no_benefit(risk):
    said = _refused(SHARED, SHIFT.replace("0.33,0.41,0.70", risk))
    assert "no benefit" in said
    assert "other way round" in said


def test_no_cost_is_made_up():
    said = _refused(SHARED.replace(",cost of one contaminated set,700,2900,6400,,cost,local,USD,2025", "#")[:0]
                    + "\n".join(SHARED.splitlines()[:2]) + "\n", SHIFT)  # fmt: skip
    assert "cost of one contaminated set (or its parts) is missing" in said
    assert "No value is made up" in said


def test_half_a_product_is_asked_for_and_not_dropped():
    without = "".join(line + "\n" for line in SHIFT.splitlines() if "wage" not in line)
    said = _refused(
        SHARED, without + "the collection shift,programme cost a year,,1000,,,cost,local,USD,2025,x,finance\n"
    )
    assert "wage per hour" in said


def test_the_whole_and_its_parts_would_count_twice():
    both = PARTS + ",cost of one contaminated set,,2900,,,cost,local,USD,2025,x,finance\n"
    assert "counted twice" in _refused(both, SHIFT)


def test_nothing_to_avert_is_said():
    assert "share of draws covered is 0" in _refused(SHARED, SHIFT.replace("40 %,55 %,65 %", ",0,"))


def test_one_number_without_any_range_is_refused():
    known = SHIFT.replace("40 %,55 %,65 %", ",55 %,").replace("0.33,0.41,0.70", ",0.41,")
    said = _refused(SHARED.replace("700,2900,6400", ",2900,"), known)
    assert "No input has a range" in said
    assert "No input has a range" in _refused(SHARED.replace("700,2900,6400", ",2900,"), with_programme=False)


BAD_ROWS = {
    "negative cost": (",cost of one contaminated set,-1,5,9,,cost,local,USD,2025,x,finance", "a value below 0"),
    "low above high": (",relative risk,0.7,0.41,0.33,,ratio,local,,,x,", "must rise: 0.7, 0.41, 0.33"),
    "share above one": (",contaminated share,,42,,,share,local,,,x,", "between 0 and 1"),
    "no source": (",sets a year,,8400,,,count,local,,,,", "the source is missing"),
    "unknown input": (",sparkle factor,,1,,,ratio,local,,,x,", "'sparkle factor' is no input"),
    "no currency": (",programme cost a year,,100,,,cost,local,,2025,x,finance", "currency is missing"),
    "no year": (",programme cost a year,,100,,,cost,local,USD,,x,finance", "year of the prices is missing"),
    "nobody gave it": (",programme cost a year,,100,,,cost,local,USD,2025,x,", "who gave it"),
    "doubtful comma": ('the shift,sets a year,,"8,400",,,count,local,,,x,', "may be a thousand or a fraction"),
    "doubtful point": (",programme cost a year,,2.900,,,cost,local,USD,2025,x,finance", "write 2900 or 2.9000"),
    "no number": (",sets a year,,many,,,count,local,,,x,", "got 'many', expected a number"),
    "half a range": (",sets a year,1,2,,,count,local,,,x,", "low and high belong together"),
    "wrong kind": (",relative risk,,0.4,,,cost,local,USD,2025,x,finance", "It may be: ratio"),
    "no origin": (",sets a year,,8400,,,count,,,,x,", "say local, published or assumed"),
    "share with money": (",contaminated share,,0.04,,,share,local,USD,,x,", "only money has a currency"),
    "index without year": (",price index,,100,,,,,,,office,", "a price index needs a year"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD_ROWS)
def test_a_bad_row_is_named_with_what_is_wrong(name):
    row, words = BAD_ROWS[name]
    with pytest.raises(FileProblem) as caught:
        parse_costs(text_rows(f"{HEADINGS}{row}\n", where="costs.csv", advice=""), where="costs.csv")
    assert words in caught.value.sentence()
    assert "row 2" in caught.value.sentence()


def test_every_problem_is_said_at_once():
    rows = "".join(f"{row}\n" for row, _words in list(BAD_ROWS.values())[:4])
    with pytest.raises(FileProblem) as caught:
        parse_costs(text_rows(HEADINGS + rows, where="costs.csv", advice=""), where="costs.csv")
    assert all(f"row {number}" in caught.value.sentence() for number in (2, 3, 4, 5))


def test_an_input_twice_is_a_problem():
    with pytest.raises(FileProblem, match="given twice"):
        table_of(SHARED, SHARED)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("parts", [(SHARED, SHIFT, KIT), (PARTS, SHIFT)])
def test_a_written_table_reads_back_as_the_same(parts, language):
    table = table_of(*parts)
    choose_language(language)
    try:
        rows = cost_rows(table)
    finally:
        choose_language("en")
    assert parse_costs(rows, where="again") == table


def test_numbers_of_a_workbook_are_never_doubtful():
    rows = [
        HEADINGS.strip().split(","),
        ["", "wage per hour", None, 34.125, None, "", "wage", "local", "USD", 2025.0, "x", "hr"],
    ]
    assert parse_costs(rows, where="book").inputs[0].likely == 34.125


def test_every_input_has_a_label_of_its_own():
    assert len({input_label(key) for key in KNOWN}) == len(KNOWN)


def test_an_input_that_breaks_a_rule_cannot_be_made():
    good = {
        "key": "sets",
        "low": 1,
        "likely": 2,
        "high": 3,
        "kind": InputKind.COUNT,
        "origin": Origin.LOCAL,
        "source": "x",
    }
    assert CostInput(**good).name == "sets"
    for change in ({"low": 5}, {"source": " "}, {"likely": float("nan")}, {"currency": "USD"},
                   {"kind": InputKind.SHARE}, {"low": 0, "likely": 0, "shape": RangeShape.GAMMA}):  # fmt: skip
        with pytest.raises(ValueError, match=r"\w"):
            CostInput(**{**good, **change})
    with pytest.raises(ValueError, match="twice"):
        CostTable(inputs=(CostInput(**good), CostInput(**good)))


def test_amounts_and_runs_in_words():
    assert [amount_words(value) for value in (166_790.4, -86_651.88, 34.5, 0, -0.001, 12.0)] == [
        "166,790", "−86,652", "34.50", "0", "0", "12"
    ]  # fmt: skip
    assert [count_words(value) for value in (114.48, 57.51, 3, -2.4, -250.2)] == ["114", "57.5", "3", "−2.4", "−250"]
    assert [runs_words(share) for share in (0, 0.004, 0.9, 0.996, 1)] == [
        "0",
        "fewer than 1",
        "90",
        "more than 99",
        "100",
    ]


def test_tables_behind_the_answer():
    reading = read_worth(table_of(SHARED, SHIFT, KIT), draws=1000)
    assert len(inputs_table(reading.table).rows) == len(reading.table.inputs)
    grid = grid_table(reading, reading.options[0])
    # by hand: 8400 × 0.55 × 0.042 × 0.59 × 700 − 166,790.4
    assert dict(zip(grid.columns, grid.rows[2], strict=True))["700"] == -86_652
    assert [row[0] for row in options_table(reading).rows] == ["doing nothing", "the collection shift", "the kit"]


def test_rates_of_the_covered_draws_count_where_they_are_given():
    own = "the collection shift,contaminated share of covered draws,,6 %,,,share,local,,,count by hour,\n"
    one = read_worth(table_of(SHARED, SHIFT, own), draws=100).first
    assert one.averted == pytest.approx(8400 * 0.55 * 0.06 * 0.59)  # by hand
    assert one.now == pytest.approx(8400 * 0.042)
    assert one.rate_after == pytest.approx(0.042 - one.averted / 8400)


def test_an_unknown_input_is_answered_with_the_few_that_are_near():
    with pytest.raises(FileProblem) as raised:
        table_of(SHARED, SHIFT.replace("share of draws covered", "share covered"))
    said = raised.value.sentence()
    assert "'share covered' is no input that is known here; meant may be: share of draws covered" in said
    assert "wage per hour" not in said
