"""The decision model as spreadsheet formulas over named cells: the same sums and products as in Python."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from cubital.answers.worth_inputs import COVERED, COVERED_RATE, RATE, RISK, SETS, Structure
from cubital.domain.costs import RANGE_REACH, RangeShape

Cell = Callable[[str], str]  # from the key of an input to the reference or number that stands for it


def averted_formula(structure: Structure, cell: Cell) -> str:
    """Contaminated sets averted."""
    baseline = COVERED_RATE if COVERED_RATE in dict(structure.names) else RATE
    return f"{cell(SETS)}*{cell(COVERED)}*{cell(baseline)}*(1-{cell(RISK)})"


def now_formula(cell: Cell) -> str:
    """Contaminated sets now."""
    return f"{cell(SETS)}*{cell(RATE)}"


def sum_formula(lines: tuple[tuple[str, ...], ...], cell: Cell) -> str:
    """Products that are added up: the cost of one contaminated set, or that of the programme."""
    return "+".join("*".join(cell(key) for key in line) for line in lines)


def net_formula(structure: Structure, cell: Cell, *, each: str | None = None) -> str:
    """Net benefit; ``each`` stands for the cost of one contaminated set where it is given from elsewhere."""
    cost = each or sum_formula(structure.each, cell)
    return f"({averted_formula(structure, cell)})*({cost})-({sum_formula(structure.programme, cell)})"


def replaced(cell: Cell, values: Mapping[str, str]) -> Cell:
    """The same references with some of the inputs replaced."""
    return lambda key: values.get(key) or cell(key)


def even_formula(structure: Structure, cell: Cell, key: str) -> str:
    """Where a result that is a straight line in ``key`` crosses 0; a dash where not above 0 and up to 1."""
    at_zero = net_formula(structure, replaced(cell, {key: "0"}))
    at_one = net_formula(structure, replaced(cell, {key: "1"}))
    crosses = f"-({at_zero})/(({at_one})-({at_zero}))"
    return f'IFERROR(IF(AND({crosses}>0,{crosses}<=1),{crosses},"-"),"-")'


def draw_formula(shape: RangeShape, *, chance: str, low: str, likely: str, high: str) -> str:
    """The value below which ``chance`` of the distribution lies, as ``uncertain_values`` has it."""
    sd = f"(({high}-{low})/{2 * RANGE_REACH!r})"
    size = f"({likely}*(1-{likely})/{sd}^2-1)"
    width = f"({high}-{low})"
    log_variance = f"LN(1+({sd}/{likely})^2)"
    formulas = {
        RangeShape.FIXED: likely,
        RangeShape.UNIFORM: f"{low}+{width}*{chance}",
        RangeShape.TRIANGULAR: (
            f"IF({chance}<=({likely}-{low})/{width},{low}+SQRT({chance}*{width}*({likely}-{low})),"
            f"{high}-SQRT((1-{chance})*{width}*({high}-{likely})))"
        ),
        RangeShape.PERT: (f"BETAINV({chance},1+4*({likely}-{low})/{width},1+4*({high}-{likely})/{width},{low},{high})"),
        RangeShape.BETA: f"BETAINV({chance},{likely}*{size},(1-{likely})*{size})",
        RangeShape.GAMMA: f"GAMMAINV({chance},({likely}/{sd})^2,{sd}^2/{likely})",
        RangeShape.LOGNORMAL: f"LOGINV({chance},LN({likely})-{log_variance}/2,SQRT({log_variance}))",
    }
    return f"IF({high}={low},{likely},{formulas[shape]})"
