"""The decision model: covered draws × baseline × (1 − relative risk) × marginal cost − programme cost, per option.

Every input counts in it as a straight line while the others stand still; what is said of break-evens and of the value
of knowing one input rests on that, and ``break_even`` checks it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cubital.answers.worth_inputs import COVERED, COVERED_RATE, RATE, RISK, SETS, Structure, build_structure
from cubital.domain.costs import RANGE_REACH, CostInput, CostTable, RangeShape
from cubital.stats import uncertain_values as uv

Values = Mapping[str, Any]


@dataclass(frozen=True, kw_only=True)
class OptionModel:
    """One option's arithmetic over values by input name; every method takes numbers or arrays of one length."""

    structure: Structure

    @property
    def _names(self) -> dict[str, str]:
        return dict(self.structure.names)

    def name(self, key: str) -> str:
        """The name of the input that holds for this option; ``KeyError`` where it has none."""
        return self._names[key]

    @property
    def baseline(self) -> str:
        """The name of the contaminated share that the covered draws have without the programme."""
        return self._names.get(COVERED_RATE, self._names[RATE])

    def contaminated_now(self, values: Values) -> Any:
        """Contaminated sets a year without the programme."""
        names = self._names
        return values[names[SETS]] * values[names[RATE]]

    def averted(self, values: Values) -> Any:
        """Contaminated sets a year that the programme averts; below 0 where it does harm."""
        names = self._names
        return values[names[SETS]] * values[names[COVERED]] * values[self.baseline] * (1 - values[names[RISK]])

    def cost_each(self, values: Values) -> Any:
        """What one contaminated set costs."""
        return self._sum(self.structure.each, values)

    def programme_cost(self, values: Values) -> Any:
        """What the programme costs a year."""
        return self._sum(self.structure.programme, values)

    def net(self, values: Values) -> Any:
        """Net benefit a year."""
        return self.averted(values) * self.cost_each(values) - self.programme_cost(values)

    def _sum(self, lines: tuple[tuple[str, ...], ...], values: Values) -> Any:
        names, total = self._names, 0.0
        for line in lines:
            product: Any = 1.0
            for key in line:
                product = product * values[names[key]]
            total = total + product
        return total


def build_models(table: CostTable) -> tuple[OptionModel, ...]:
    """A model per option, in their order. What is missing has been asked for before (``missing_inputs``)."""
    return tuple(OptionModel(structure=build_structure(table, option)) for option in table.options)


def net_of_choices(models: tuple[OptionModel, ...], values: Values) -> NDArray[np.float64]:
    """Net benefits of doing nothing (0, the first column) and of every option, (draws, 1 + options)."""
    columns = [np.asarray(model.net(values), dtype=np.float64) for model in models]
    return np.column_stack([np.zeros_like(columns[0]), *columns])


def used_inputs(table: CostTable, models: tuple[OptionModel, ...]) -> tuple[CostInput, ...]:
    """The inputs that any option counts with, in the order of the table."""
    used = {name for model in models for _key, name in model.structure.names}
    return tuple(one for one in table.inputs if one.name in used)


def likely_values(table: CostTable, inputs: tuple[CostInput, ...]) -> dict[str, float]:
    """The likely value of each input in the money of one year."""
    return {one.name: one.likely * table.price_factor(one) for one in inputs}


def ends(table: CostTable, one: CostInput) -> tuple[float, float]:
    """The low and high end of an input in the money of one year."""
    factor = table.price_factor(one)
    return one.low * factor, one.high * factor


def distributions(table: CostTable, inputs: tuple[CostInput, ...]) -> dict[str, uv.Uncertain]:
    """What each input may be, in the money of one year, by name."""
    return {one.name: _distribution(one, table.price_factor(one)) for one in inputs}


def _distribution(one: CostInput, factor: float) -> uv.Uncertain:
    low, likely, high = one.low * factor, one.likely * factor, one.high * factor
    if one.is_fixed:
        return uv.fixed(likely)
    sd = (high - low) / (2 * RANGE_REACH)
    return {
        RangeShape.UNIFORM: lambda: uv.uniform(low, high),
        RangeShape.TRIANGULAR: lambda: uv.triangular(low, likely, high),
        RangeShape.PERT: lambda: uv.pert(low, likely, high),
        RangeShape.BETA: lambda: uv.beta_of_moments(likely, sd),
        RangeShape.GAMMA: lambda: uv.gamma_of_moments(likely, sd),
        RangeShape.LOGNORMAL: lambda: uv.lognormal_of_moments(likely, sd),
    }[one.shape]()
