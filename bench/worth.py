"""Money questions: 100,000 runs of the decision model, the answer around it, the business case, finance's workbook."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from bench.measure import Line, Task, measure
from cubital.answers.worth import build_worth_answer
from cubital.answers.worth_model import build_models, distributions, net_of_choices, used_inputs
from cubital.answers.worth_reading import DRAWS, SEED, WorthReading, read_worth
from cubital.answers.worth_table import parse_costs
from cubital.domain.costs import CostTable
from cubital.papers.business_case import BusinessCase, print_business_case
from cubital.papers.finance_workbook import FinancePaper, build_finance_workbook
from cubital.stats.decision_model import draw_inputs, spread_of

HEADINGS = (
    "option",
    "input",
    "low",
    "likely",
    "high",
    "kind",
    "from",
    "currency",
    "year",
    "source",
    "given by",
    "shape",
)
SHARED = (
    ("sets a year", 7000, 8400, 9000, "count", "uniform"), ("contaminated share", 0.038, 0.042, 0.046, "share", "beta"),
    ("repeat sets for each contaminated set", 0.5, 1, 2, "count", "pert"),
    ("cost of one repeat set", 20, 30, 45, "cost", "gamma"),
    ("laboratory work-up of one contaminated set", 40, 70, 120, "cost", "lognormal"),
    ("antibiotic days for each contaminated set", 0, 1.6, 3, "count", "pert"),
    ("cost of one antibiotic day", 25, 60, 140, "cost", "gamma"),
    ("extra bed-days for each contaminated set", 0, 1, 2.4, "count", "triangular"),
    ("share of bed-days that could really be released", 0.1, 0.4, 0.8, "share", "beta"),
    ("cost of one bed-day", 300, 450, 700, "cost", "lognormal"),
)  # fmt: skip
OPTION = (
    ("share of draws covered", 0.4, 0.55, 0.65, "share", "pert"), ("relative risk", 0.33, 0.41, 0.7, "ratio", "pert"),
    ("programme cost a year", 120_000, 160_000, 210_000, "cost", "gamma"),
    ("price per covered set", 4, 5, 7, "price", "triangular"),
)  # fmt: skip


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line each; every input is unsure, in seven shapes, and two options stand side by side."""
    del folder, small
    inputs = len(the_table().inputs)
    for name, words, most in (
        ("runs", f"{DRAWS:,} runs of the decision model, {inputs} unsure inputs, two options", 1.0),
        ("answer", "the whole answer: runs, swings, break-evens, value of knowing", 3.0),
        ("paper", "the business case as PDF", 3.0), ("workbook", "finance's workbook with 2,000 live draws", 5.0),
    ):  # fmt: skip
        done = measure(f"bench.worth:{name}", "")
        yield Line(
            what=words, seconds=done.seconds, busy_seconds=done.busy_seconds, peak_mb=done.peak_mb, ratio="",
            target=f"under {most:g} s", met=done.seconds < most,
        )  # fmt: skip


def the_table() -> CostTable:
    """Every input with a range, all shapes, two options."""
    rows: list[list[object]] = [list(HEADINGS)]
    for option, lines in (("", SHARED), ("the shift", OPTION), ("the kit", OPTION)):
        for name, low, likely, high, kind, shape in lines:
            money = ("USD", "2025") if kind in ("cost", "price") else ("", "")
            rows.append([option, name, low, likely, high, kind, "local", *money, "bench", "finance", shape])
    return parse_costs(rows, where="bench")


def runs(_folder: str) -> Task:
    """Draws of every input, both options' net benefit, their spread."""
    table = the_table()
    models = build_models(table)
    spreads = distributions(table, used_inputs(table, models))

    def work() -> None:
        results = net_of_choices(models, draw_inputs(spreads, draws=DRAWS, seed=SEED))
        for column in range(1, results.shape[1]):
            spread_of(results[:, column])

    return Task(work=work, report=lambda: None)


def answer(_folder: str) -> Task:
    """From the table to the answer."""
    table = the_table()

    def work() -> None:
        build_worth_answer(read_worth(table))

    return Task(work=work, report=lambda: None)


def paper(_folder: str) -> Task:
    """The paper alone, in a process that has not printed before."""
    case = BusinessCase(answer=build_worth_answer(_reading()), reading=_reading(), receipt="", made_on=date(2026, 4, 2))

    def work() -> None:
        print_business_case(case)

    return Task(work=work, report=lambda: None)


def workbook(_folder: str) -> Task:
    """The workbook alone."""
    made = FinancePaper(answer=build_worth_answer(_reading()), reading=_reading(), receipt="", made_on=date(2026, 4, 2))

    def work() -> None:
        build_finance_workbook(made)

    return Task(work=work, report=lambda: None)


def _reading() -> WorthReading:
    return read_worth(the_table(), draws=1_000)
