"""What the decision model says of each option: likely result, break-evens, spread over draws, value of knowing."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import bdtr, bdtrc

from cubital.answers.worth_inputs import COVERED, RATE, RISK, SETS
from cubital.answers.worth_model import (
    OptionModel,
    build_models,
    distributions,
    ends,
    likely_values,
    net_of_choices,
    used_inputs,
)
from cubital.domain.costs import CostInput, CostTable
from cubital.stats.decision_model import (
    Spread,
    Swing,
    acceptability,
    break_even,
    draw_inputs,
    one_way,
    shares_best,
    spread_of,
    two_way,
)
from cubital.stats.value_of_information import information_on_one, perfect_information

DRAWS, SEED = 100_000, 20_260_101
PILOT_SHARE = 0.5  # of a year
GRID = 5  # values of each input in the two-way table


@dataclass(frozen=True, kw_only=True)
class Pilot:
    """A half-year pilot's stop rule: stop where ``stop_at`` or more of the ``sets`` it covers are contaminated.

    ``stops_good`` is the chance that it stops a programme that works as is likely, ``goes_on_idle`` that it lets one
    go on that does nothing. Exact binomial.
    """

    sets: int
    expected: float
    stop_at: int
    stops_good: float
    goes_on_idle: float


@dataclass(frozen=True, kw_only=True)
class TwoWay:
    """Net benefit over relative risk (rows) and cost of one contaminated set (columns), the rest likely."""

    risks: tuple[float, ...]
    costs: tuple[float, ...]
    net: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, kw_only=True)
class OptionReading:
    """One option: ``likely`` are results at the likely values, money a year in the currency and year of the table.

    ``even_*`` are break-evens, none where there is none that could be had (no share above 1, no relative risk below
    0). ``net_low_cost`` is the net benefit where one contaminated set costs only the low end, ``cost_ends`` both ends
    of that cost. ``accepts`` pairs a cost of one contaminated set
    with the share of draws in which the programme pays at it. ``knowing`` pairs input names with what knowing that
    input exactly would be worth, the most valuable first.
    """

    option: str
    model: OptionModel
    now: float
    averted: float
    rate: float
    rate_after: float
    cost: float
    each: float
    net: float
    even_each: float | None
    even_averted: float | None
    even_risk: float | None
    even_covered: float | None
    cost_ends: tuple[float, float]
    net_low_cost: float
    spread: Spread
    averted_spread: Spread
    cost_spread: Spread
    swings: tuple[Swing, ...]
    accepts: tuple[tuple[float, float], ...]
    grid: TwoWay
    pilot: Pilot | None


@dataclass(frozen=True, kw_only=True)
class WorthReading:
    """All options of one table, beside doing nothing; ``best`` is the share of draws in which each is best, nothing
    first. ``knowing_all`` is what knowing everything exactly would be worth a year."""

    table: CostTable
    inputs: tuple[CostInput, ...]
    options: tuple[OptionReading, ...]
    best: tuple[float, ...]
    knowing_all: float
    knowing: tuple[tuple[str, float], ...]
    draws: int
    seed: int

    @property
    def first(self) -> OptionReading:
        """The option with the highest mean net benefit."""
        return max(self.options, key=lambda one: one.spread.mean)


def read_worth(table: CostTable, *, draws: int = DRAWS, seed: int = SEED) -> WorthReading:
    """Runs the model; the same table and seed give the same result.

    The table must be one that ``refuse_worth`` lets pass.
    """
    models = build_models(table)
    inputs = used_inputs(table, models)
    spreads = distributions(table, inputs)
    drawn = draw_inputs(spreads, draws=draws, seed=seed)
    results = net_of_choices(models, drawn)
    unsure = [one.name for one in inputs if not one.is_fixed]
    knowing = [
        (name, information_on_one(lambda values: net_of_choices(models, values), spreads, key=name)) for name in unsure
    ]
    return WorthReading(
        table=table, inputs=inputs,
        options=tuple(_read_option(table, inputs, model=model, drawn=drawn) for model in models),
        best=shares_best(results), knowing_all=perfect_information(results).value,
        knowing=tuple(sorted(knowing, key=lambda pair: -pair[1])), draws=draws, seed=seed,
    )  # fmt: skip


def _read_option(
    table: CostTable, inputs: tuple[CostInput, ...], *, model: OptionModel, drawn: dict[str, np.ndarray]
) -> OptionReading:
    likely = likely_values(table, inputs)
    names = dict(model.structure.names)
    own = [one for one in inputs if one.name in names.values() and not one.is_fixed]
    averted, cost, each = model.averted(likely), model.programme_cost(likely), model.cost_each(likely)
    low_each, high_each = _cost_ends(table, inputs, model=model)
    rate, averted_drawn = likely[names[RATE]], model.averted(drawn)
    cost_drawn = np.broadcast_to(np.asarray(model.programme_cost(drawn), dtype=np.float64), averted_drawn.shape)
    even_each = cost / averted if averted > 0 else None
    shown = sorted({low_each, each, high_each, *((even_each,) if even_each else ())})
    even_risk = _within(break_even(model.net, likely=likely, key=names[RISK]))
    return OptionReading(
        option=model.structure.option, model=model, now=model.contaminated_now(likely), averted=averted, rate=rate,
        rate_after=rate - averted / likely[names[SETS]] if likely[names[SETS]] else rate, cost=cost, each=each,
        net=averted * each - cost, even_each=even_each, even_averted=cost / each if each else None,
        even_risk=even_risk, even_covered=_within(break_even(model.net, likely=likely, key=names[COVERED])),
        cost_ends=(low_each, high_each), net_low_cost=averted * low_each - cost,
        spread=spread_of(model.net(drawn)), averted_spread=spread_of(averted_drawn), cost_spread=spread_of(cost_drawn),
        swings=one_way(model.net, likely=likely, ranges={one.name: ends(table, one) for one in own}),
        accepts=tuple(zip(shown, acceptability(averted_drawn, cost_drawn, worth=shown), strict=True)),
        grid=_grid(table, inputs, model=model, likely=likely), pilot=_pilot(model, likely, even_risk=even_risk),
    )  # fmt: skip


def _within(value: float | None) -> float | None:
    """A break-even that can be had: above 0, and 1 at most."""
    return value if value is not None and 0 < value <= 1 else None


def _cost_ends(table: CostTable, inputs: tuple[CostInput, ...], *, model: OptionModel) -> tuple[float, float]:
    """One contaminated set with all of its parts at their low, and at their high ends."""
    low, high = (
        {one.name: ends(table, one)[side] if not one.is_fixed else one.likely * table.price_factor(one)
         for one in inputs} for side in (0, 1)
    )  # fmt: skip
    return float(model.cost_each(low)), float(model.cost_each(high))


def _grid(table: CostTable, inputs: tuple[CostInput, ...], *, model: OptionModel, likely: dict[str, float]) -> TwoWay:
    risk = next(one for one in inputs if one.name == model.name(RISK))
    low, high = _cost_ends(table, inputs, model=model)
    risks = _steps(risk.low, risk.high, risk.likely)
    costs = _steps(low, high, float(model.cost_each(likely)))

    def net(values: dict[str, float]) -> float:
        return float(model.averted(values) * values["each"] - model.programme_cost(values))

    found = two_way(net, likely={**likely, "each": 0.0}, first=(model.name(RISK), risks), second=("each", costs))  # type: ignore[arg-type]
    return TwoWay(risks=risks, costs=costs, net=tuple(tuple(row) for row in found.tolist()))


def _steps(low: float, high: float, likely: float) -> tuple[float, ...]:
    """Both ends, the likely value, and the middles between them."""
    return tuple(sorted({low, (low + likely) / 2, likely, (likely + high) / 2, high}))


def _pilot(model: OptionModel, likely: dict[str, float], *, even_risk: float | None) -> Pilot | None:
    """None where no count could tell: the programme never pays, or covers next to nothing."""
    rate, risk = likely[model.baseline], likely[model.name(RISK)]
    sets = math.floor(likely[model.name(SETS)] * likely[model.name(COVERED)] * PILOT_SHARE)
    if even_risk is None or not risk < even_risk < 1 or sets < 1:
        return None
    stop_at = math.floor(sets * rate * even_risk) + 1
    return Pilot(
        sets=sets, expected=sets * rate * risk, stop_at=stop_at,
        stops_good=float(bdtrc(stop_at - 1, sets, rate * risk)),
        goes_on_idle=float(bdtr(stop_at - 1, sets, rate)),
    )  # fmt: skip
