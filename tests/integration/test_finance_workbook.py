"""Finance's workbook, recalculated by an independent program, says what the model says in Python."""

from __future__ import annotations

import io
import shutil
import subprocess
from datetime import date

import numpy as np
import openpyxl
import pytest

from collection_shift import HEADINGS, KIT, PARTS, SHARED, SHIFT, table_of
from cubital.answers.hand_tables import text_rows
from cubital.answers.worth import build_worth_answer
from cubital.answers.worth_model import distributions, likely_values, net_of_choices, used_inputs
from cubital.answers.worth_reading import read_worth
from cubital.answers.worth_table import parse_costs
from cubital.papers.finance_draws import DRAW_ROWS, FIRST_DRAW, PERCENTS, workbook_chances
from cubital.papers.finance_workbook import FinancePaper, build_finance_workbook

EXACT = 1e-9  # relative; both sides compute in double precision and only the order of sums differs
SHAPES = """\
,sets a year,7000,8400,9000,sets,count,local,,,laboratory count,,uniform
,contaminated share,3.8 %,4.2 %,4.6 %,,share,local,,,laboratory count,,beta
,cost of one contaminated set,700,2900,6400,,cost,local,USD,2019,marginal costs,finance,lognormal
the shift,share of draws covered,40 %,55 %,65 %,,share,local,,,hours,,pert
the shift,relative risk,0.33,0.41,0.70,,ratio,assumed,,,reports,,triangular
the shift,programme cost a year,120000,160000,210000,,cost,local,USD,2025,offer,finance,gamma
,price index,,104.5,,,,,,2019,statistics office,,
,price index,,131.2,,,,,,2025,statistics office,,
"""


@pytest.fixture(scope="session")
def recalculated(tmp_path_factory):
    """A function from a workbook's bytes to the same after LibreOffice computed every formula in it."""
    office = shutil.which("soffice")
    if office is None:
        pytest.skip("LibreOffice (soffice) is not on this machine: 'make office' finds or installs it")
    profile = tmp_path_factory.mktemp("office")

    def recalculate(content: bytes):
        folder = tmp_path_factory.mktemp("books")
        (folder / "book.xlsx").write_bytes(content)
        subprocess.run(
            [office, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "xlsx", "--outdir",
             str(folder / "out"), str(folder / "book.xlsx")],
            check=True, capture_output=True, timeout=180,
        )  # fmt: skip
        return openpyxl.load_workbook(folder / "out" / "book.xlsx", data_only=True)

    return recalculate


def _shapes_table():
    headings = HEADINGS.rstrip() + ",shape\n"
    return parse_costs(text_rows(headings + SHAPES, where="x", advice=""), where="x")


TABLES = {
    "shift": lambda: table_of(SHARED, SHIFT), "two options": lambda: table_of(SHARED, SHIFT, KIT),
    "parts": lambda: table_of(PARTS, SHIFT), "shapes and years": _shapes_table,
}  # fmt: skip


def _workbook(table):
    reading = read_worth(table, draws=2_000)
    paper = FinancePaper(answer=build_worth_answer(reading), reading=reading, receipt="R-1", made_on=date(2026, 4, 2))
    return reading, build_finance_workbook(paper)


def _value(book, name):
    where = book.defined_names[name].attr_text
    sheet, cell = where.rsplit("!", 1)
    return book[sheet.strip("'")][cell.replace("$", "")].value


def _check_whole_book(book, reading):
    for place, one in enumerate(reading.options, start=1):
        expected = {
            "now": one.now, "averted": one.averted, "rate_after": one.rate_after, "each": one.each, "cost": one.cost,
            "net": one.net, "even_cost": one.even_each, "even_averted": one.even_averted, "even_risk": one.even_risk,
            "even_covered": one.even_covered, "each_low": one.cost_ends[0], "each_high": one.cost_ends[1],
            "net_low": one.net_low_cost,
        }  # fmt: skip
        for key, value in expected.items():
            found = _value(book, f"{key}_{place}")  # what cannot be had is a dash there and none here
            assert found == ("-" if value is None else pytest.approx(value, rel=EXACT)), key
    _check_swings(book, reading)
    _check_grids(book, reading)
    _check_draws(book, reading)


def _check_swings(book, reading):
    rows = list(book["Tornado"].iter_rows(min_row=2, values_only=True))
    swings = [swing for one in reading.options for swing in one.swings]
    assert len(rows) == len(swings)
    for row, swing in zip(rows, swings, strict=True):
        assert row[3:6] == pytest.approx((swing.at_low, swing.at_high, swing.width), rel=EXACT)
    assert rows[0][6] == 1


def _check_grids(book, reading):
    sheet, row = book["Break-even"], 12
    for one in reading.options:
        costs = [sheet.cell(row=row, column=column).value for column in range(2, 7)]
        assert costs == pytest.approx(one.grid.costs, rel=EXACT)
        for down, (risk, nets) in enumerate(zip(one.grid.risks, one.grid.net, strict=True), start=row + 1):
            found = [sheet.cell(row=down, column=column).value for column in range(1, 7)]
            assert found == pytest.approx([risk, *nets], rel=EXACT)
        row += 7


def _check_draws(book, reading):
    nets = _python_draws(reading)
    rows = list(book["Draws"].iter_rows(min_row=FIRST_DRAW, max_row=FIRST_DRAW + DRAW_ROWS - 1, values_only=True))
    unsure = sum(not one.is_fixed for one in reading.inputs)
    for place in range(1, len(reading.options) + 1):
        found = np.array([row[2 * unsure + 3 * place - 1] for row in rows], dtype=float)
        scale = np.abs(nets[:, place]).max()
        assert np.abs(found - nets[:, place]).max() < EXACT * scale
        assert _value(book, f"pays_{place}") == pytest.approx((nets[:, place] > 0).mean(), rel=EXACT)
        assert _value(book, f"mean_{place}") == pytest.approx(nets[:, place].mean(), rel=EXACT)
        for percent, expected in zip(PERCENTS, np.percentile(nets[:, place], PERCENTS), strict=True):
            assert _value(book, f"p{percent}_{place}") == pytest.approx(expected, rel=EXACT)
    worth = nets.max(axis=1).mean() - nets.mean(axis=0).max()
    assert _value(book, "knowing_all") == pytest.approx(worth, rel=1e-6)  # a difference of two near numbers


def _python_draws(reading):
    table, chances = reading.table, workbook_chances(reading)
    unsure = [one for one in reading.inputs if not one.is_fixed]
    spreads = distributions(table, reading.inputs)
    values = {name: np.full(DRAW_ROWS, value) for name, value in likely_values(table, reading.inputs).items()}
    values |= {one.name: spreads[one.name].quantile(chances[:, place]) for place, one in enumerate(unsure)}
    return net_of_choices(tuple(one.model for one in reading.options), values)


@pytest.mark.slow
@pytest.mark.parametrize("name", TABLES)
def test_every_figure_is_the_same_after_recalculation(recalculated, name):
    reading, content = _workbook(TABLES[name]())
    _check_whole_book(recalculated(content), reading)


@pytest.mark.slow
def test_a_changed_input_changes_every_figure_as_in_python(recalculated):
    _reading, content = _workbook(table_of(SHARED, SHIFT))
    book = openpyxl.load_workbook(io.BytesIO(content))
    changes = {"cost_each": (600, 1900, 5000), "relative_risk_1": (0.35, 0.5, 0.8), "wage_1": (None, 40, None)}
    for row in book["Inputs"].iter_rows(min_row=2):
        for cell, value in zip(row[3:6], changes.get(row[0].value, ()), strict=False):
            if value is not None:
                cell.value = value
    changed = io.BytesIO()
    book.save(changed)
    lines = (
        SHARED.replace("700,2900,6400", "600,1900,5000"),
        SHIFT.replace("0.33,0.41,0.70", "0.35,0.5,0.8").replace(",,34,,", ",,40,,"),
    )
    again = recalculated(changed.getvalue())
    reading = read_worth(table_of(*lines), draws=2_000)
    assert reading.first.net != pytest.approx(read_worth(table_of(SHARED, SHIFT), draws=2_000).first.net)
    # The order of the tornado is that of the day it was made; its rank is live, its rows are found by name.
    _check_draws(again, reading)
    _check_grids(again, reading)
    assert _value(again, "net_1") == pytest.approx(reading.first.net, rel=EXACT)
    by_name = {row[2]: row for row in again["Tornado"].iter_rows(min_row=2, values_only=True)}
    codes = {"cost_each": "cost_each", "relative_risk@the collection shift": "relative_risk_1",
             "covered@the collection shift": "covered_1"}  # fmt: skip
    for rank, swing in enumerate(reading.first.swings, start=1):
        row = by_name[codes[swing.key]]
        assert row[3:7] == pytest.approx((swing.at_low, swing.at_high, swing.width, rank), rel=EXACT)


def test_what_somebody_typed_is_never_a_formula():
    evil = SHARED.replace("laboratory count by the charter", '"=HYPERLINK(""http://x"",""y"")"').replace(
        "marginal costs of last year", "+1+1"
    )
    _reading, content = _workbook(table_of(evil, SHIFT.replace("the collection shift", "=1+1")))
    book = openpyxl.load_workbook(io.BytesIO(content))
    texts = [cell for sheet in book for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]
    formulas = {cell.value for cell in texts if cell.data_type == "f"}
    assert not any("HYPERLINK" in words or words in {"=1+1", "=+1+1"} for words in formulas)
    assert any(cell.value.startswith("'=1+1") for cell in texts)


def test_every_name_points_at_a_filled_cell_and_the_sheets_are_the_promised_ones():
    reading, content = _workbook(table_of(SHARED, SHIFT, KIT))
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["Inputs", "Model", "Break-even", "Tornado", "Draws", "Chance", "Codebook"]
    for name in book.defined_names:
        assert _value(book, name) is not None, name
    assert len(used_inputs(reading.table, tuple(one.model for one in reading.options))) == len(reading.inputs)
    codebook = " ".join(str(cell.value) for row in book["Codebook"].iter_rows() for cell in row)
    assert "A model, not a measurement" in codebook
    assert "live" in codebook
