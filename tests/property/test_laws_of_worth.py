"""Laws of the decision model over random tables, and a reader of tables that only ever says what is wrong."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.answers.hand_tables import text_rows
from cubital.answers.worth import build_worth_answer
from cubital.answers.worth_model import likely_values
from cubital.answers.worth_reading import read_worth
from cubital.answers.worth_refusal import refuse_worth
from cubital.answers.worth_table import HEADINGS, cost_rows, parse_costs
from cubital.domain.costs import CostInput, CostTable, InputKind, Origin, RangeShape
from cubital.domain.errors import FileProblem
from cubital.stats.decision_model import draw_inputs

DRAWS = 300
shapes = st.sampled_from([RangeShape.TRIANGULAR, RangeShape.PERT, RangeShape.UNIFORM, RangeShape.FIXED])


@st.composite
def inputs(draw, key, kind, least, most):
    low, likely, high = sorted(draw(st.floats(least, most)) for _end in range(3))
    money = {"currency": "USD", "year": 2025} if kind in (InputKind.COST, InputKind.PRICE) else {}
    return CostInput(key=key, low=low, likely=likely, high=high, kind=kind, origin=Origin.LOCAL, source="made",
                     given_by="made", shape=draw(shapes), **money)  # fmt: skip


tables = st.builds(
    lambda *parts: CostTable(inputs=parts),
    inputs("sets", InputKind.COUNT, 1, 1e5), inputs("rate", InputKind.SHARE, 0.001, 0.5),
    inputs("covered", InputKind.SHARE, 0.01, 1), inputs("relative_risk", InputKind.RATIO, 0, 0.99),
    inputs("cost_each", InputKind.COST, 1, 1e4), inputs("fixed_cost", InputKind.COST, 1, 1e6),
    inputs("price_per_set", InputKind.PRICE, 0, 50),
)  # fmt: skip


@settings(max_examples=30)
@given(tables)
def test_at_a_break_even_it_neither_gains_nor_loses(table):
    reading = read_worth(table, draws=DRAWS)
    one = reading.first
    likely = likely_values(table, reading.inputs)
    scale = max(one.cost, one.averted * one.each, 1.0)
    for key, value in (("relative_risk", one.even_risk), ("covered", one.even_covered), ("cost_each", one.even_each)):
        if value is not None:
            assert abs(one.model.net({**likely, key: value})) <= 1e-6 * max(scale, abs(value) * one.averted)


@settings(max_examples=30)
@given(tables)
def test_ends_and_shares_are_in_their_order(table):
    reading = read_worth(table, draws=DRAWS)
    one = reading.first
    net = [one.spread.percentile(percent) for percent in (5, 25, 50, 75, 95)]
    assert net == sorted(net)
    assert list(one.accepts) == sorted(one.accepts)
    shares = [share for _cost, share in one.accepts]
    assert shares == sorted(shares)  # the more one costs, the oftener it pays
    assert one.cost_ends[0] <= one.each <= one.cost_ends[1]
    assert one.net_low_cost <= one.net + 1e-6 * max(1, abs(one.net))
    assert sum(reading.best) == pytest.approx(1)


@settings(max_examples=30)
@given(tables)
def test_knowing_is_never_worth_less_than_nothing_and_swings_come_widest_first(table):
    reading = read_worth(table, draws=DRAWS)
    assert reading.knowing_all >= 0
    assert all(value >= 0 for _name, value in reading.knowing)
    widths = [swing.width for swing in reading.first.swings]
    assert widths == sorted(widths, reverse=True)


@settings(max_examples=30)
@given(tables, st.randoms())
def test_the_order_of_the_rows_changes_nothing(table, luck):
    mixed = list(table.inputs)
    luck.shuffle(mixed)
    first, second = (read_worth(one, draws=DRAWS).first for one in (table, CostTable(inputs=tuple(mixed))))
    assert first.spread == second.spread
    assert first.even_each == second.even_each


@settings(max_examples=30)
@given(tables)
def test_a_written_table_reads_back_and_its_answer_never_says_one_number_alone(table):
    assert parse_costs(cost_rows(table), where="again") == _as_read(table)
    refusal = refuse_worth(table, question="?", with_programme=True, receipt=None)
    if all(one.is_fixed for one in table.inputs):
        assert refusal is not None
        return
    assert refusal is None
    said = build_worth_answer(read_worth(table, draws=DRAWS)).sentence
    assert said.startswith("A model, not a measurement")
    assert " of 100 lie between " in said


def _as_read(table):
    """A fixed input has no range of its own once it is read back."""
    return CostTable(inputs=tuple(
        CostInput(**{**vars(one), "low": one.likely, "high": one.likely, "shape": RangeShape.FIXED})
        if one.is_fixed else one for one in table.inputs
    ))  # fmt: skip


cells = st.one_of(
    st.text(max_size=12),
    st.sampled_from([
        "sets a year", "relative risk", "price index", "1", "0.4", "-3", "55 %", "2,900", "USD", "2025", "cost",
        "local", "charge", "beta", "=1+1", "", "1e9", "nan", "∞",
    ]),
)  # fmt: skip


@given(st.lists(st.lists(cells, max_size=14), max_size=6))
def test_a_table_of_anything_is_read_or_refused_in_words(rows):
    with suppress(FileProblem):  # any other error fails the test
        table = parse_costs([list(HEADINGS), *rows], where="anything")
        found = refuse_worth(table, question="?", with_programme=True, receipt=None)
        assert found is not None
        assert found.sentence


@given(st.text(max_size=200))
def test_a_text_of_anything_is_read_or_refused_in_words(text):
    with suppress(FileProblem):
        assert parse_costs(text_rows(text, where="text", advice=""), where="text").inputs


@settings(max_examples=30)
@given(tables)
def test_draws_stay_within_the_ends(table):
    from cubital.answers.worth_model import distributions

    drawn = draw_inputs(distributions(table, table.inputs), draws=DRAWS, seed=1)
    for one in table.inputs:
        low, high = (one.likely, one.likely) if one.is_fixed else (one.low, one.high)
        slack = 1e-9 * max(1.0, abs(high))
        assert low - slack <= drawn[one.name].min() <= drawn[one.name].max() <= high + slack
